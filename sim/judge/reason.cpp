#include "sim/judge/reason.hpp"

namespace snagmap {

const char* to_text(ReasonKind kind) {
  switch (kind) {
  case ReasonKind::slender:
    return "slender";
  case ReasonKind::flutes_past_pass:
    return "flutes-past-pass";
  case ReasonKind::free_end_near:
    return "free-end-near";
  case ReasonKind::island:
    return "island";
  case ReasonKind::needs_a_kick:
    return "needs-a-kick";
  case ReasonKind::leans_on_neck:
    return "leans-on-neck";
  case ReasonKind::outside_range:
    return "outside-range";
  case ReasonKind::not_solved:
    return "not-solved";
  case ReasonKind::laminate:
    return "laminate";
  case ReasonKind::open_band:
    return "open-band";
  }
  return "";
}

} // namespace snagmap
