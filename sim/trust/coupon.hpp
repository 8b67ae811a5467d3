// A test piece cut from the job's own worst features: ten minutes of cutting that narrow the band of Lambda.
#pragma once

#include "sim/preview/preview.hpp"
#include "sim/trust/readings.hpp"

#include <functional>
#include <string>
#include <variant>
#include <vector>

namespace snagmap {

constexpr double kCouponWidth_mm = 150, kCouponLength_mm = 100; ///< of sheet, at most
constexpr double kCouponTime_s = 600;

/// Walls side by side, cut by one cutter. Slots from `slot_low_mm[i]` in x, all `slot_mm` wide; wall i stands
/// between slots i and i + 1.
struct CouponRow {
  int cutter = 0;
  double y0_mm = 0, y1_mm = 0; ///< of the slots
  double slot_mm = 0, depth_mm = 0, pass_mm = 0;
  std::vector<double> slot_low_mm, widths_mm;
  std::vector<int> numbers; ///< of the walls, as on the drawing
};

struct CouponWall {
  PieceWall piece;
  Vec2 low_mm, high_mm;                ///< in plan
  bool jobs_own = false;               ///< as thick as the job's worst web
  double s = 0, s_low = 0, s_high = 0; ///< as previewed
  bool solid = false;                  ///< by finite elements
};

/// The job's longest unbroken run, as far as it fits (1 mm deep at least, no deeper than the piece allows),
/// with the job's sharpest turn at its end. The sheet shows both.
struct CouponRun {
  std::vector<Vec2> points_mm; ///< centre line: start, turn, end
  double depth_mm = 0, length_mm = 0;
  double turn_deg = 0;
  double job_length_mm = 0, job_depth_mm = 0;
  int job_line = 0, job_turn_line = 0;
  int cutter = 0;
};

/// The job's worst web.
struct CouponWorst {
  std::int32_t program_line = 0;
  double w_mm = 0, h_mm = 0, length_mm = 0;
  double s = 0, s_low = 0, s_high = 0;
};

/// What a user should know of the plan. Sentences are made in viz/words.
struct NotSolvedIn3d {
  int wall;
};
struct EdgeOutside { ///< the predicted edge lies outside the cutter's walls
  std::string cutter;
};
struct TakesLong {
  double minutes;
};
using CouponNote = std::variant<NotSolvedIn3d, EdgeOutside, TakesLong>;

struct Coupon {
  Scene scene; ///< of the test piece; its program is scene.program_text
  std::vector<CouponRow> rows;
  std::vector<CouponWall> walls;
  CouponRun run;
  TestPiece piece;
  double feed_mm_min = 0, plunge_mm_min = 0, rpm = 0;
  double time_s = 0;          ///< planned, tool changes apart
  double narrowing = 1;       ///< expected width of the band after over before, as logarithms
  bool anticlockwise = false; ///< the job's spindle runs backward (M4)
  bool conventional = true;   ///< walls are cut on the side that drew the job's worst web
  CouponWorst worst;
  std::vector<CouponNote> notes;
};

/// Plans the piece, previews it, has its walls solved by finite elements, and where the formula and they
/// differ plans it once more. Faults: a job without a web, a cutter without straight flutes, a sheet too thin
/// or too small; stopped by `progress` (as in PreviewOptions).
Outcome<Coupon> plan_coupon(const Preview& job,
                            const std::function<bool(const std::string&, double)>& progress = {});

/// NC program of the piece: G0 and G1 in the scene's units, with cautions.
std::string coupon_program(const Coupon& coupon);
/// Scene of the piece; its program is coupon.nc, its foam foam.toml, both beside it.
std::string coupon_scene(const Coupon& coupon);
/// Table to fill in: readings.csv.
std::string coupon_readings(const Coupon& coupon);

} // namespace snagmap
