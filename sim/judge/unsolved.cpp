#include "sim/judge/unsolved.hpp"

namespace snagmap {

const char* to_text(UnsolvedKind kind) {
  switch (kind) {
  case UnsolvedKind::no_contact:
    return "no-contact";
  case UnsolvedKind::web_gone:
    return "web-gone";
  case UnsolvedKind::no_web:
    return "no-web";
  case UnsolvedKind::under_a_voxel:
    return "under-a-voxel";
  case UnsolvedKind::no_modulus:
    return "no-modulus";
  case UnsolvedKind::face_elsewhere:
    return "face-elsewhere";
  case UnsolvedKind::too_large:
    return "too-large";
  case UnsolvedKind::left_out:
    return "left-out";
  case UnsolvedKind::loose:
    return "loose";
  case UnsolvedKind::not_settled:
    return "not-settled";
  case UnsolvedKind::no_modes:
    return "no-modes";
  case UnsolvedKind::spindle_stands:
    return "spindle-stands";
  }
  return "";
}

} // namespace snagmap
