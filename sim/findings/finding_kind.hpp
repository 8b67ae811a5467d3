// The kinds of findings, and their names in files.
#pragma once

namespace snagmap {

/// Bodies in foam come first, in the order in which findings of one moment are told.
enum class FindingKind {
  holder_in_foam,
  neck_rubs,
  nut_in_foam,
  rapid_in_foam,
  shank_rubs,
  cut_into_table,
  thin_foam,
  collet_unknown,
  collet_refused,
  collet_closes,
  collet_not_given,
  clamp_short,
  reach_short,
  wall_above_flutes,
  shank_beside_wall,
  neck_rub,
  whirl_refused,
  whirl_near,
  hold_down_not_given,
  clamping_pressure,
  seal_lost,
  weak_hold,
  hold_down,
  loose_piece,
  piece_on_skin,
  floor_cut_through,
  skin_left,
  crumbs,
  strand,
  feed_over_axes,
  feed_not_reached,
  thin_chips,
  spindle_range,
  spindle_stands,
  wall_unknown,
  wall_error,
  thickness_not_run,
  thickness_spread,
  thin_sheet_cut_through,
  near_seam,
  top_edge_rank,
  zero_contradicts,
  long_dwell,
  large_sheet,
};
/// As files have it: "rapid-in-foam".
const char* to_text(FindingKind kind);

/// Only the kind is read of a file, so a text that is none is refused by the reader.
constexpr int kFindingKinds = static_cast<int>(FindingKind::large_sheet) + 1;

} // namespace snagmap
