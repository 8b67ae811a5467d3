// What the judge finds: webs, and the spots where each is cut, with S and its evidence.
#pragma once

#include "models/base/vec.hpp"
#include "models/mechanics/snag.hpp"
#include "sim/judge/reason.hpp"
#include "sim/judge/unsolved.hpp"

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace snagmap {

/// A web the watch met: its mid-line in the finished sheet, and its numbers where and when it is worst.
struct WebFound {
  int id = 0;
  std::vector<Vec2> midline_mm;
  double w_mm = 0, h_mm = 0, length_mm = 0, d1_mm = 0, d2_mm = 0;
  double root_z_mm = 0, top_z_mm = 0;
  WebEnd end1 = WebEnd::free, end2 = WebEnd::free;
  bool island = false, ring = false, junction = false;
};

/// Middle of the box round the mid-line, in plan.
Vec2 middle_of(const WebFound& web);
/// Indexes by the middle's X to the millimetre, then Y: an order of the sheet, not of the path, so that a web
/// keeps its number under another cutter, order or depth of pass.
std::vector<std::size_t> from_left_to_right(const std::vector<WebFound>& webs);

/// The finite-element check of a spot.
struct SolidCheck {
  bool verified = false;
  std::optional<Unsolved> why_not; ///< when not verified
  SnagAnswer answer;               ///< the whole judgement on the solved compliance: lean, level, mode
  int bricks = 0, unknowns = 0, right_hand_sides = 0, iterations = 0;
  double brick_mm[3] = {0, 0, 0};
  double residual = 0;
  double mesh_share = 0;             ///< of Gamma that the extrapolation from two meshes added
  double seconds = 0;                ///< clock time: for report and timing.json, never result.json
  std::vector<Vec3> shape_points_mm; ///< wall points, and their displacement in the snag mode, largest 1
  std::vector<Vec3> shape_displacement;
};

/// A place and a moment on the path, the worst of its web and pass.
struct Spot {
  int id = 0, web = 0, pass = 0;
  Vec3 place_mm; ///< on the wall, at the root
  Vec3 tip_mm;   ///< the cutter's tip then
  Vec2 normal;   ///< unit, from the wall toward the cutter
  std::int32_t program_line = 0;
  std::uint32_t move = 0;
  double move_share = 0, time_s = 0;
  int cutter = 0;
  SnagQuestion question; ///< the inputs of the judgement
  SnagAnswer answer;     ///< what every view shows: by finite elements where solved, else the formula's
  SnagAnswer screened;   ///< the formula's, where the answer is not
  double a_mm = 0;       ///< flutes in reach over the root
  double feed_mm_min = 0, chip_mm = 0; ///< real ones
  int samples = 0;                     ///< merged into this spot
  std::vector<Reason> reasons;         ///< what makes it worse
  std::optional<SolidCheck> fe;
  bool solved() const { return fe && fe->verified; }
  const SnagAnswer& by_formula() const { return solved() ? screened : answer; }
  double s() const { return answer.s; }
  Level level() const { return answer.level; }
  /// Is it open whether the web holds?
  bool open() const { return answer.open; }
};

/// Spots of each level, in the order of Level.
std::array<int, 4> spots_by_level(const std::vector<Spot>& spots);

/// One sample of the path: S and lean along time, for plots and maps (0 where no web is beside the cutter).
struct PathSample {
  std::uint32_t move = 0;
  float share = 0, time_s = 0;
  float x_mm = 0, y_mm = 0, z_mm = 0;
  float s = 0, lean_mm = 0, w_mm = 0;
  float wall_x_mm = 0, wall_y_mm = 0, root_z_mm = 0, top_z_mm = 0; ///< where the worst wall stands
  std::int32_t web = -1;
  float feed_mm_min = 0, chip_mm = 0;
};

} // namespace snagmap
