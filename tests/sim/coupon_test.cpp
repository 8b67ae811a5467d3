// The test piece: planned from a job, previewed by the whole pipeline, written and read back.
#include "comb.hpp"
#include "sim/coupon.hpp"
#include "sim/foam_card.hpp"
#include "sim/program.hpp"

#include <filesystem>
#include <sstream>

using namespace snagmap;
namespace fs = std::filesystem;

namespace {

/// A short comb as the job, with a stub cutter in the drawer.
const Preview& job() {
  static const Preview found = [] {
    comb::Job job;
    job.widths_mm = {9, 20};
    job.voxel_mm = 1;
    Scene scene = comb::scene_of(job);
    CutterCard stub = scene.cutters.front();
    scene.cutters.front().name = "long", stub.name = "stub";
    stub.flute_length_mm = 6.35, stub.neck_diameter_mm = 3.8, stub.neck_length_mm = 34;
    scene.drawer = {stub};
    scene.program_file = "comb.nc", scene.program_text = comb::program_of(job);
    PreviewOptions options;
    options.verify = 0;
    auto preview_of = preview(scene, options);
    EXPECT_TRUE(preview_of);
    return std::move(*preview_of);
  }();
  return found;
}

const Coupon& coupon() {
  static const Coupon planned = [] {
    auto found = plan_coupon(job());
    EXPECT_TRUE(found) << to_text(found.faults().front());
    return *found;
  }();
  return planned;
}

std::vector<const CouponWall*> walls_of(int cutter) {
  std::vector<const CouponWall*> walls;
  for (const CouponWall& wall : coupon().walls)
    if (wall.piece.cutter == cutter)
      walls.push_back(&wall);
  return walls;
}

} // namespace

TEST(Coupon, PredictedEdgeLiesInsideTheWallsOfBothCutters) {
  ASSERT_EQ(coupon().scene.cutters.size(), 2u);
  for (const int cutter : {0, 1}) {
    const auto walls = walls_of(cutter);
    ASSERT_GE(walls.size(), 3u);
    EXPECT_GT(walls.front()->s, 1);
    EXPECT_LT(walls.back()->s, 1);
    for (std::size_t i = 0; i + 1 < walls.size(); ++i) { // S falls with thickness
      EXPECT_LT(walls[i]->piece.w_mm, walls[i + 1]->piece.w_mm);
      EXPECT_GT(walls[i]->s, walls[i + 1]->s);
    }
  }
}

TEST(Coupon, KeepsToItsSheetAndToTenMinutes) {
  const Coupon& c = coupon();
  EXPECT_LE(c.time_s, kCouponTime_s);
  const auto path = parse_program(c.scene.program_text, "coupon.nc", {{0, 0, 20}, 0.002, false, c.scene.tool_index});
  ASSERT_TRUE(path) << to_text(path.faults().front());
  for (const Move& move : path->moves) {
    if (move.kind != MoveKind::line && move.kind != MoveKind::arc)
      continue;
    const double r = 0.5 * c.scene.cutters[static_cast<std::size_t>(move.tool)].diameter_mm;
    for (const Vec3 p : {move.from, move.to}) {
      EXPECT_GE(p.x - r, 0);
      EXPECT_LE(p.x + r, kCouponWidth_mm);
      EXPECT_GE(p.y - r, 0);
      EXPECT_LE(p.y + r, kCouponLength_mm);
      EXPECT_GE(p.z, c.scene.sheet.low.z);
    }
  }
}

TEST(Coupon, NarrowsTheBandAndCutsTheJobsOwnWeb) {
  EXPECT_LT(coupon().narrowing, 0.8);
  EXPECT_GT(coupon().narrowing, 0);
  int own = 0;
  for (const CouponWall& wall : coupon().walls)
    if (wall.jobs_own) {
      ++own;
      EXPECT_NEAR(wall.piece.w_mm, job().spots.front().question.web.w_mm, 1e-9);
    }
  EXPECT_EQ(own, 1);
}

TEST(Coupon, ProgramIsPlain) {
  std::istringstream lines(coupon().scene.program_text);
  bool cautions = false;
  for (std::string line; std::getline(lines, line);) {
    cautions = cautions || line.find("eye protection") != std::string::npos;
    if (line.empty() || line[0] == '(' || line[0] == '%')
      continue;
    std::istringstream words(line);
    for (std::string word; words >> word;)
      if (word[0] == 'G')
        EXPECT_TRUE(word == "G0" || word == "G1" || word == "G2" || word == "G3" || word == "G17" || word == "G20" || word == "G21" || word == "G90") << line;
  }
  EXPECT_TRUE(cautions);
}

TEST(Coupon, WrittenSceneGoesThroughTheWholePipelineAndSaysTheSame) {
  const Coupon& c = coupon();
  const fs::path folder = fs::path(testing::TempDir()) / fmt::format("coupon_{}", ::getpid());
  fs::create_directories(folder);
  std::ofstream(folder / "coupon.nc") << coupon_program(c);
  std::ofstream(folder / "foam.toml") << foam_card_text(c.piece.foam);
  std::ofstream(folder / "scene.toml") << coupon_scene(c);
  const auto scene = read_scene((folder / "scene.toml").string());
  ASSERT_TRUE(scene) << to_text(scene.faults().front());
  PreviewOptions options;
  options.verify = 0;
  const auto found = preview(*scene, options);
  ASSERT_TRUE(found) << to_text(found.faults().front());
  EXPECT_NEAR(found->motion.total_s() - c.time_s, 0, 1e-6 * c.time_s);
  // Every wall that is predicted to go is found beside the cutter.
  for (const CouponWall& wall : c.walls) {
    if (wall.s < 1)
      continue;
    bool seen = false;
    for (const Spot& spot : found->spots)
      seen = seen || (spot.answer.s > 1 && spot.place_mm.x > wall.low_mm.x - 0.3 && spot.place_mm.x < wall.high_mm.x + 0.3 && spot.place_mm.y > wall.low_mm.y &&
                      spot.place_mm.y < wall.high_mm.y);
    EXPECT_TRUE(seen) << wall.piece.number;
  }
  fs::remove_all(folder);
}

TEST(Coupon, ReadingsOfItsOwnWallsGiveLambdaBack) {
  // Cut by a foam that does exactly what the card's upper end says: the fit finds it, and the band shrinks.
  const Coupon& c = coupon();
  std::string csv = "wall,outcome\n";
  const double planted = c.piece.foam.lambda.high;
  for (const PieceWall& wall : c.piece.walls) {
    const double s = planted * gamma_of(c.piece, wall);
    csv += fmt::format("{},{}\n", wall.number, s < 1 ? "held" : s < 1.6 ? "marked" : "torn");
  }
  const std::string file = testing::TempDir() + fmt::format("walls_{}.toml", ::getpid());
  std::ofstream(file) << piece_text(c.piece);
  const auto readings = parse_readings(csv, "r.csv", {file, ""});
  ASSERT_TRUE(readings) << to_text(readings.faults().front());
  std::vector<WallReading> fitted;
  for (const WallRead& read : readings->walls)
    fitted.push_back({gamma_of(readings->piece, readings->piece.walls[read.wall]), read.outcome});
  const LambdaFit fit = fit_lambda(fitted, wide_prior(readings->piece.foam));
  EXPECT_LE(fit.low, planted);
  EXPECT_GE(fit.high, planted);
  fs::remove(file);
}

TEST(Coupon, JobWithoutAWebHasNothingToTest) {
  Preview bare = job();
  bare.spots.clear();
  EXPECT_FALSE(plan_coupon(bare));
}

TEST(Coupon, InchJobGetsAnInchProgramOfTheSameMoves) {
  Coupon inch = coupon();
  inch.scene.show_inch = true;
  const auto mm = parse_program(coupon().scene.program_text, "a.nc", {{0, 0, 20}, 0.002, false, coupon().scene.tool_index});
  const auto in = parse_program(coupon_program(inch), "b.nc", {{0, 0, 20}, 0.002, false, coupon().scene.tool_index});
  ASSERT_TRUE(mm && in);
  ASSERT_EQ(mm->moves.size(), in->moves.size());
  for (std::size_t i = 0; i < mm->moves.size(); ++i) // four decimals of an inch
    EXPECT_NEAR(norm(xy(mm->moves[i].to) - xy(in->moves[i].to)), 0, 0.0026);
}
