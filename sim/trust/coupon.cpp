#include "sim/trust/coupon.hpp"

#include "sim/checks/job_checks.hpp"
#include "sim/path/moves.hpp"
#include "sim/study/wall_spots.hpp"
#include "sim/trust/coupon_walls.hpp"
#include "sim/verify/verify.hpp"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace snagmap {
namespace {

constexpr double kBorder_mm = 10;                         // foam left round the piece, with kLeft_mm
constexpr double kBetween_mm = 12;                        // between two rows of walls
constexpr double kFinish_mm = 1;                          // left on each wall of a slot for the pass round it
constexpr double kFloorOpen_mm = 10, kFloorClosed_mm = 5; // foam under the walls, common practice
constexpr double kLeastWall_mm = 12; // of a row in length, so that a wall is longer than a cutter is wide
constexpr int kRows = 2;
constexpr double kVoxel_mm = 0.5; // or finer: stub walls are a few millimetres thick
constexpr double kDefaultFeed = 3000, kDefaultRpm = 18000;

Fault no_piece(std::string what, std::string way_out) {
  return Fault(std::move(what), std::move(way_out));
}

double reach_mm(const CutterCard& c) {
  if (c.neck_diameter_mm > 0)
    return std::min(c.flute_length_mm + c.neck_length_mm, c.stick_out_mm);
  return c.shank_diameter_mm < c.diameter_mm ? c.stick_out_mm : c.flute_length_mm;
}

bool straight(const CutterCard& c) {
  return c.own_profile.empty() && (c.tip == TipShape::flat || c.tip == TipShape::bull_nose);
}

/// The cutter of the worst spot, and one of another flute length if the job or its drawer has it.
std::vector<CutterCard> cutters_of(const Preview& job, const Spot& worst) {
  std::vector<CutterCard> chosen{job.scene.cutters[static_cast<std::size_t>(worst.cutter)]};
  for (const auto* more : {&job.scene.cutters, &job.scene.drawer})
    for (const CutterCard& c : *more)
      if (chosen.size() < 2 && straight(c) &&
          std::abs(c.flute_length_mm / chosen[0].flute_length_mm - 1) > 0.1)
        chosen.push_back(c);
  return chosen;
}

/// The sharpest turn between two cutting moves in the plane, degrees, and its line.
std::pair<double, int> sharpest_turn(const Path& path) {
  std::pair<double, int> sharpest{0, 0};
  for (std::size_t i = 0; i + 1 < path.moves.size(); ++i) {
    const Move &a = path.moves[i], &b = path.moves[i + 1];
    if (!is_feed(a) || !is_feed(b) || length_mm(a) < 1 || length_mm(b) < 1)
      continue;
    const Vec2 u = heading_at(a, 1), v = heading_at(b, 0);
    if (norm(u) < 0.5 || norm(v) < 0.5)
      continue;
    const double turn = std::abs(std::atan2(cross(u, v), dot(u, v))) * 180 / M_PI;
    if (turn < 150 && turn > sharpest.first) // a turn back on itself leaves no corner
      sharpest = {turn, b.line};
  }
  return sharpest;
}

/// Longest run and sharpest turn of the job, shortened to what the piece has room for.
CouponRun run_of(const Preview& job, const CutterCard& cutter, double depth_limit_mm) {
  CouponRun run;
  const double r = 0.5 * cutter.diameter_mm;
  const double y = kBorder_mm + r, x1 = kCouponWidth_mm - kBorder_mm - r;
  double wanted = 1e9;
  run.depth_mm = std::min(r, depth_limit_mm);
  if (job.checks && !job.checks->strands.longest.empty()) {
    const StrandRun& longest = job.checks->strands.runs[job.checks->strands.longest.front()];
    run.job_length_mm = wanted = longest.length_mm;
    run.job_line = longest.from_line;
    run.job_depth_mm = longest.depth_mm;
    run.depth_mm = std::clamp(std::round(100 * longest.depth_mm) / 100, 1.0, depth_limit_mm);
  }
  const auto [turn, line] = sharpest_turn(job.path);
  run.turn_deg = turn, run.job_turn_line = line;
  const double angle = turn * M_PI / 180, up = std::sin(angle), along = std::cos(angle);
  // The leg after the turn stays in the column kept free for it.
  double leg = turn > 1 ? kCouponLength_mm - 2 * kBorder_mm - cutter.diameter_mm : 0;
  if (up > 0.01)
    leg = std::min(leg, leg / up);
  double corner_x = x1;
  if (along > 0.01)
    leg = std::min(leg, kBorder_mm / along), corner_x = x1 - leg * along;
  if (along < -0.01)
    leg = std::min(leg, 0.5 * kBorder_mm / -along);
  leg = std::min(leg, 0.4 * wanted);
  const double straight_mm = std::min(corner_x - kLeft_mm, wanted - leg);
  const Vec2 corner{corner_x, y};
  run.points_mm = {{corner_x - straight_mm, y}, corner};
  if (leg > 1)
    run.points_mm.push_back(corner + Vec2{leg * along, leg * up});
  run.length_mm = straight_mm + (leg > 1 ? leg : 0);
  return run;
}

/// The first and the last graded wall of its row: enough to plan the others by.
bool ends_its_row(const Coupon& c, const CouponWall& wall) {
  const int number = wall.piece.number;
  return std::any_of(c.rows.begin(), c.rows.end(), [&](const CouponRow& row) {
    if (row.numbers.empty())
      return false;
    const bool own_first =
        row.numbers.size() > 2 && c.walls[static_cast<std::size_t>(row.numbers[0]) - 1].jobs_own;
    return number == row.numbers[own_first ? 1 : 0] || number == row.numbers.back();
  });
}

/// Previews the piece and takes S of its walls from their worst spots: all as `preview` finds them, or, to
/// plan by, by the formula but for the ends of the rows.
std::optional<std::vector<Fault>>
preview_walls(CouponPlan& plan, bool last, const std::function<bool(const std::string&, double)>& progress) {
  Coupon& c = plan.coupon;
  const FoamCard& foam = c.piece.foam;
  c.scene.program_text = coupon_program(c);
  PreviewOptions options;
  options.progress = progress;
  if (!last)
    options.verify = SolveChoice::none();
  const Outcome<Preview> found = preview(c.scene, options);
  if (!found)
    return found.faults();
  const auto changes = std::count_if(found->path.moves.begin(), found->path.moves.end(),
                                     [](const Move& m) { return m.kind == MoveKind::tool_change; });
  c.time_s = found->motion.total_s() - static_cast<double>(changes) * c.scene.machine.tool_change_s;
  for (CouponWall& wall : c.walls) {
    const Spot* worst = worst_of_wall(found->spots, wall.low_mm, wall.high_mm);
    wall.piece.gamma = 0;
    wall.piece.gamma = worst ? worst->answer.gamma : gamma_of(c.piece, wall.piece);
    wall.solid = worst && worst->solved();
    if (worst && !last && ends_its_row(c, wall))
      if (const SolidCheck solid = verify_spot(*found->record, c.scene, *worst); solid.verified)
        wall.piece.gamma = solid.answer.gamma, wall.solid = true;
    wall.s = foam.lambda.nominal * wall.piece.gamma;
    wall.s_low = foam.lambda.low * wall.piece.gamma, wall.s_high = foam.lambda.high * wall.piece.gamma;
  }
  return {};
}

/// How finite elements and formula compare in each row: a power of thickness through the walls solved.
void learn_shares(CouponPlan& plan) {
  const Coupon& c = plan.coupon;
  for (std::size_t r = 0; r < c.rows.size(); ++r) {
    std::vector<Vec2> points; // ln w, ln share
    for (const int number : c.rows[r].numbers) {
      const CouponWall& wall = c.walls[static_cast<std::size_t>(number) - 1];
      PieceWall bare = wall.piece;
      bare.gamma = 0;
      if (wall.solid)
        points.push_back({std::log(bare.w_mm), std::log(wall.piece.gamma / gamma_of(c.piece, bare))});
    }
    if (points.empty())
      continue;
    const Vec2 a = points.front(), b = points.back();
    SolidShare& share = plan.share[r];
    share.power = b.x - a.x > 0.1 ? (b.y - a.y) / (b.x - a.x) : 0;
    share.log_at_1_mm = a.y - share.power * a.x;
  }
}

bool edge_inside(const Coupon& c, int cutter) {
  bool under = false, over = false;
  for (const CouponWall& wall : c.walls)
    if (wall.piece.cutter == cutter)
      (wall.s < 1 ? under : over) = true;
  return under && over;
}

/// The sheet of the piece: the job's own foam and thickness, its machine and units, nothing else of its
/// scene.
Scene scene_of_piece(const Preview& job, const FoamCard& foam, std::vector<CutterCard> cutters) {
  Scene scene = job.scene;
  scene.cutters = std::move(cutters), scene.drawer.clear();
  scene.title = "Test piece: " + job.scene.title;
  scene.program_file = "coupon.nc", scene.file.clear();
  scene.tool_index.clear(), scene.tool_length_mm.clear();
  for (std::size_t i = 0; scene.cutters.size() > 1 && i < scene.cutters.size(); ++i)
    scene.tool_index[static_cast<int>(i) + 1] = static_cast<int>(i);
  scene.hold_down = {}, scene.sample_mm = 0, scene.zero_on_table = false;
  const double thickness = job.scene.sheet.high.z - job.scene.sheet.low.z;
  scene.sheet = {{0, 0, -thickness}, {kCouponWidth_mm, kCouponLength_mm, 0}};
  scene.stock.reset(), scene.stock_file.clear();
  scene.zero = {}, scene.sheet_given = scene.thickness_given = true, scene.rigid_floor = false;
  scene.layers = {{foam, thickness}};
  scene.start_mm = {0, 0, 20};
  scene.voxel_mm = std::min(scene.voxel_mm, kVoxel_mm);
  return scene;
}

/// Cut as the move of the worst spot is: feed, speed, sense, side.
void cut_like(Coupon& c, const Spot& worst, const Move& move) {
  c.feed_mm_min = move.feed_mm_min > 0 ? move.feed_mm_min : kDefaultFeed;
  c.plunge_mm_min = std::min(1500.0, c.feed_mm_min / 3);
  c.rpm = std::abs(move.spindle_rpm) > 0 ? std::abs(move.spindle_rpm) : kDefaultRpm;
  c.anticlockwise = move.spindle_rpm < 0;
  c.conventional = !worst.question.climb;
  c.worst = {
      worst.program_line, worst.question.web.w_mm, worst.question.web.h_mm, worst.question.web.length_mm(),
      worst.s(),          worst.answer.s_low,      worst.answer.s_high};
}

/// Two rows of slots as deep as the worst web is high: one cutter has both, two have one each.
std::optional<Fault> lay_rows(Coupon& c, const SnagQuestion& worst) {
  const std::vector<CutterCard>& cutters = c.scene.cutters;
  const double floor_mm = c.piece.foam.open_cell ? kFloorOpen_mm : kFloorClosed_mm;
  const double thickness_mm = -c.scene.sheet.low.z;
  const double y0 = 2 * kBorder_mm + cutters.front().diameter_mm;
  const double length = std::floor((kCouponLength_mm - y0 - kBorder_mm - kBetween_mm) / kRows);
  double widest = 0;
  for (int i = 0; i < kRows; ++i) {
    CouponRow row;
    row.cutter = std::min(i, static_cast<int>(cutters.size()) - 1);
    const CutterCard& cutter = cutters[static_cast<std::size_t>(row.cutter)];
    widest = std::max(widest, cutter.diameter_mm);
    row.y0_mm = y0 + i * (length + kBetween_mm), row.y1_mm = row.y0_mm + length;
    row.slot_mm = cutter.diameter_mm + 2 * kFinish_mm;
    row.depth_mm =
        std::round(20 * std::min({worst.web.h_mm, thickness_mm - floor_mm, reach_mm(cutter)})) / 20;
    row.pass_mm = std::min({std::max(worst.pass_depth_mm, 1.0), cutter.flute_length_mm, row.depth_mm});
    if (row.depth_mm < 3)
      return no_piece(
          fmt::format("no wall of 3 mm fits a sheet {:g} mm thick and a cutter that reaches {:g} mm",
                      thickness_mm, reach_mm(cutter)),
          "the test piece is cut from the job's own sheet");
    c.rows.push_back(row);
  }
  if (length < std::max(kLeastWall_mm, 2 * widest))
    return no_piece(fmt::format("with cutters of {:g} mm the walls would be {:g} mm long", widest, length),
                    "such a cutter needs a larger test piece than this program plans");
  return {};
}

/// The first plan guesses how far the formula is high for walls held at both ends; the second has asked.
std::optional<std::vector<Fault>>
plan_walls(CouponPlan& plan, double jobs_width_mm,
           const std::function<bool(const std::string&, double)>& progress) {
  const Coupon& c = plan.coupon;
  const FoamCard& foam = c.piece.foam;
  const double room = kCouponWidth_mm - kLeft_mm - 2 * kBorder_mm - c.scene.cutters.front().diameter_mm;
  plan.share.assign(c.rows.size(), SolidShare{});
  for (const bool last : {false, true}) {
    choose_walls(plan, room, jobs_width_mm);
    if (c.walls.empty())
      return std::vector<Fault>{
          no_piece(fmt::format("no wall between {:.1f} and {:g} mm lies near the edge of this foam's band",
                               kThinnest_cells * foam.cell_mm.nominal, kThickest_mm),
                   "the card's Lambda, the cutter or the depth makes every such wall hold, or none")};
    if (auto faults = preview_walls(plan, last, progress))
      return faults;
    if (!last)
      learn_shares(plan);
  }
  return {};
}

/// What the piece is expected to tell, and what a user should know of it.
void expect(Coupon& c) {
  std::vector<double> gammas;
  for (const CouponWall& wall : c.walls) {
    c.piece.walls.push_back(wall.piece);
    gammas.push_back(gamma_of(c.piece, wall.piece));
    if (!wall.solid)
      c.notes.push_back(NotSolvedIn3d{wall.piece.number});
  }
  c.narrowing = expected_narrowing(gammas, {c.piece.foam.lambda.low, c.piece.foam.lambda.high});
  for (std::size_t cutter = 0; cutter < c.scene.cutters.size(); ++cutter)
    if (!edge_inside(c, static_cast<int>(cutter)))
      c.notes.push_back(EdgeOutside{c.scene.cutters[cutter].name});
  if (c.time_s > kCouponTime_s)
    c.notes.push_back(TakesLong{c.time_s / 60});
}

} // namespace

Outcome<Coupon> plan_coupon(const Preview& job,
                            const std::function<bool(const std::string&, double)>& progress) {
  if (job.spots.empty())
    return no_piece("the job has no web beside the cutter: there is no worst feature to test", "");
  const Spot& worst = job.spots.front();
  CouponPlan plan;
  Coupon& c = plan.coupon;
  c.piece.foam = job.scene.foam_between(worst.place_mm.z, worst.place_mm.z + worst.question.web.h_mm);
  c.scene = scene_of_piece(job, c.piece.foam, cutters_of(job, worst));
  for (const CutterCard& cutter : c.scene.cutters) {
    if (!straight(cutter))
      return no_piece(fmt::format("the cutter {} has no straight flutes, so its walls have no one thickness",
                                  cutter.name),
                      "a test piece needs a flat or bull-nose cutter");
    c.piece.cutters.push_back({cutter.name, cutter.diameter_mm, cutter.flute_length_mm});
  }
  cut_like(c, worst, job.path.moves[worst.move]);
  if (std::optional<Fault> fault = lay_rows(c, worst.question))
    return *fault;
  c.run = run_of(job, c.scene.cutters.front(),
                 std::min(c.rows.front().depth_mm, c.scene.cutters.front().flute_length_mm));
  if (auto faults = plan_walls(plan, worst.question.web.w_mm, progress))
    return *faults;
  expect(c);
  return c;
}

} // namespace snagmap
