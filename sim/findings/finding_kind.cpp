#include "sim/findings/finding_kind.hpp"

namespace snagmap {

const char* to_text(FindingKind kind) {
  switch (kind) {
  case FindingKind::holder_in_foam:
    return "holder-in-foam";
  case FindingKind::neck_rubs:
    return "neck-rubs";
  case FindingKind::nut_in_foam:
    return "nut-in-foam";
  case FindingKind::rapid_in_foam:
    return "rapid-in-foam";
  case FindingKind::shank_rubs:
    return "shank-rubs";
  case FindingKind::cut_into_table:
    return "cut-into-table";
  case FindingKind::thin_foam:
    return "thin-foam";
  case FindingKind::collet_unknown:
    return "collet-unknown";
  case FindingKind::collet_refused:
    return "collet-refused";
  case FindingKind::collet_closes:
    return "collet-closes";
  case FindingKind::collet_not_given:
    return "collet-not-given";
  case FindingKind::clamp_short:
    return "clamp-short";
  case FindingKind::reach_short:
    return "reach-short";
  case FindingKind::wall_above_flutes:
    return "wall-above-flutes";
  case FindingKind::shank_beside_wall:
    return "shank-beside-wall";
  case FindingKind::neck_rub:
    return "neck-rub";
  case FindingKind::whirl_refused:
    return "whirl-refused";
  case FindingKind::whirl_near:
    return "whirl-near";
  case FindingKind::hold_down_not_given:
    return "hold-down-not-given";
  case FindingKind::clamping_pressure:
    return "clamping-pressure";
  case FindingKind::seal_lost:
    return "seal-lost";
  case FindingKind::weak_hold:
    return "weak-hold";
  case FindingKind::hold_down:
    return "hold-down";
  case FindingKind::loose_piece:
    return "loose-piece";
  case FindingKind::piece_on_skin:
    return "piece-on-skin";
  case FindingKind::floor_cut_through:
    return "floor-cut-through";
  case FindingKind::skin_left:
    return "skin-left";
  case FindingKind::crumbs:
    return "crumbs";
  case FindingKind::strand:
    return "strand";
  case FindingKind::feed_over_axes:
    return "feed-over-axes";
  case FindingKind::feed_not_reached:
    return "feed-not-reached";
  case FindingKind::thin_chips:
    return "thin-chips";
  case FindingKind::spindle_range:
    return "spindle-range";
  case FindingKind::wall_unknown:
    return "wall-unknown";
  case FindingKind::wall_error:
    return "wall-error";
  case FindingKind::thickness_not_run:
    return "thickness-not-run";
  case FindingKind::thickness_spread:
    return "thickness-spread";
  case FindingKind::thin_sheet_cut_through:
    return "thin-sheet-cut-through";
  case FindingKind::near_seam:
    return "near-seam";
  case FindingKind::top_edge_rank:
    return "top-edge-rank";
  case FindingKind::zero_contradicts:
    return "zero-contradicts";
  case FindingKind::long_dwell:
    return "long-dwell";
  case FindingKind::large_sheet:
    return "large-sheet";
  }
  return "";
}

} // namespace snagmap
