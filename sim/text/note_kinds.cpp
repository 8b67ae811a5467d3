// Kinds of notes and assumptions as files have them.
#include "sim/text/assumed.hpp"
#include "sim/text/note.hpp"

namespace snagmap {

const char* to_text(NoteKind kind) {
  switch (kind) {
  case NoteKind::remark:
    return "remark";
  case NoteKind::sheet_larger:
    return "sheet-larger";
  case NoteKind::program_larger:
    return "program-larger";
  case NoteKind::border_assumed:
    return "border-assumed";
  case NoteKind::foam_interpolated:
    return "foam-interpolated";
  case NoteKind::spots_left_out:
    return "spots-left-out";
  case NoteKind::none_solved:
    return "none-solved";
  }
  return "";
}

const char* to_text(WhyKind kind) {
  switch (kind) {
  case WhyKind::source:
    return "source";
  case WhyKind::touched_off:
    return "touched-off";
  case WhyKind::deepest_cut_and_floor:
    return "deepest-cut-and-floor";
  case WhyKind::extents_and_border:
    return "extents-and-border";
  case WhyKind::flutes_neck_and_shank:
    return "flutes-neck-and-shank";
  }
  return "";
}

} // namespace snagmap
