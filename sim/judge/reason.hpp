// What makes a spot worse, as data. Sentences are made of it in viz/words.
#pragma once

#include "sim/text/members.hpp"

#include <array>
#include <variant>

namespace snagmap {

enum class ReasonKind {
  slender,
  flutes_past_pass,
  free_end_near,
  island,
  needs_a_kick,
  leans_on_neck,
  outside_range,
  not_solved,
  laminate,
  open_band,
};
/// As files have it: "flutes-past-pass".
const char* to_text(ReasonKind kind);

namespace reason {

struct Slender {
  double height_over_thickness;
  static constexpr auto kind = ReasonKind::slender;
  static constexpr std::array keys{"height_over_thickness"};
};
struct FlutesPastPass {
  double up_mm, past_mm, s_without; ///< the last: with flutes no longer than the pass
  static constexpr auto kind = ReasonKind::flutes_past_pass;
  static constexpr std::array keys{"up_mm", "past_mm", "s_without"};
};
struct FreeEndNear {
  double away_mm;
  static constexpr auto kind = ReasonKind::free_end_near;
  static constexpr std::array keys{"away_mm"};
};
struct Island {
  static constexpr auto kind = ReasonKind::island;
};
struct NeedsAKick {
  static constexpr auto kind = ReasonKind::needs_a_kick;
};
struct LeansOnNeck {
  static constexpr auto kind = ReasonKind::leans_on_neck;
};
struct OutsideRange {
  static constexpr auto kind = ReasonKind::outside_range;
};
struct NotSolved {
  double left_of_s, left_of_lean_mm;
  static constexpr auto kind = ReasonKind::not_solved;
  static constexpr std::array keys{"left_of_s", "left_of_lean_mm"};
};
/// More than one foam in the web or close under it: the formula knows one.
struct Laminate {
  static constexpr auto kind = ReasonKind::laminate;
};
struct OpenBand {
  static constexpr auto kind = ReasonKind::open_band;
};

} // namespace reason
using Reason = std::variant<reason::Slender, reason::FlutesPastPass, reason::FreeEndNear, reason::Island,
                            reason::NeedsAKick, reason::LeansOnNeck, reason::OutsideRange, reason::NotSolved,
                            reason::Laminate, reason::OpenBand>;

} // namespace snagmap
