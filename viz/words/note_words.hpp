// Notes, assumptions and the plan of a test piece in words.
#pragma once

#include "sim/text/assumed.hpp"
#include "sim/text/note.hpp"
#include "sim/trust/coupon.hpp"
#include "viz/words/shown.hpp"

#include <string>

namespace snagmap {

std::string words_of(const note::Remark& remark, const Shown& shown);
/// For the head of a written program.
inline SayRemark say_remarks(const Shown& shown) {
  return [shown](const note::Remark& remark) { return words_of(remark, shown); };
}
std::string words_of(const Note& note, const Shown& shown);
/// "[sheet] zero_on = "top" (not given)"
std::string words_of(const Assumed& assumed, const Shown& shown);
std::string words_of(const CouponNote& note, const Shown& shown);
std::string words_of(const CouponWorst& worst, const Shown& shown);

} // namespace snagmap
