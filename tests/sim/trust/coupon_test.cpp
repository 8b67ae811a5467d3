// The test piece: planned from a job, previewed by the whole pipeline, written and read back.
#include "sim/program/program.hpp"
#include "sim/scene/card_text.hpp"
#include "sim/scene/foam_card.hpp"
#include "sim/study/sweep.hpp"
#include "sim/trust/coupon.hpp"
#include "sim/verify/verify.hpp"
#include "tests/sim/program/rs274_witness.hpp"

#include <cmath>
#include <filesystem>
#include <fmt/format.h>
#include <fstream>
#include <gtest/gtest.h>
#include <sstream>
#include <unistd.h>

using namespace snagmap;
namespace fs = std::filesystem;

namespace {

/// A single wall as the job, with a stub cutter in the drawer.
const Preview& job() {
  static const Preview found = [] {
    const auto plan =
        parse_sweep_plan("foams = [\"pu-22\"]\ncutters = [{ name = \"long\", diameter = \"6.35 mm\", "
                         "flute_length = \"14 mm\" }]\n"
                         "depths = [\"6.35 mm\"]\nwidths = [\"6 mm\"]\nheights = [\"12.7 mm\"]\n",
                         "plan.toml");
    EXPECT_TRUE(plan) << to_text(plan.faults().front());
    Scene scene = scene_of_case(*plan, case_at(*plan, 0));
    CutterCard stub = scene.cutters.front();
    stub.name = "stub", stub.flute_length_mm = 5, stub.neck_diameter_mm = 4.5, stub.neck_length_mm = 15;
    scene.drawer = {stub};
    PreviewOptions options;
    options.verify = SolveChoice::none();
    auto preview_of = preview(scene, options);
    EXPECT_TRUE(preview_of);
    return std::move(*preview_of);
  }();
  return found;
}

ProgramOptions options_of(const Coupon& c) {
  ProgramOptions options;
  options.tool_index = c.scene.tool_index;
  return options;
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

void expect_predicted_edge_lies_inside_the_walls_of_both_cutters() {
  ASSERT_EQ(coupon().scene.cutters.size(), 2u);
  for (const int cutter : {0, 1}) {
    const auto walls = walls_of(cutter);
    ASSERT_GE(walls.size(), 3u);
    EXPECT_GT(walls.front()->s, 1);
    EXPECT_LT(walls.back()->s, 1);
    for (std::size_t i = 0; i + 1 < walls.size();
         ++i) { // S falls with thickness, finite elements being good to 1 %
      EXPECT_LT(walls[i]->piece.w_mm, walls[i + 1]->piece.w_mm);
      EXPECT_GT(walls[i]->s, 0.99 * walls[i + 1]->s);
    }
  }
}

void expect_keeps_to_its_sheet_and_to_ten_minutes() {
  const Coupon& c = coupon();
  EXPECT_LE(c.time_s, kCouponTime_s);
  const auto path = parse_program(c.scene.program_text, "coupon.nc", options_of(c));
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

void expect_narrows_the_band_and_cuts_the_jobs_own_web() {
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

void expect_program_is_plain() {
  std::istringstream lines(coupon().scene.program_text);
  bool cautions = false;
  for (std::string line; std::getline(lines, line);) {
    cautions = cautions || line.find("eye protection") != std::string::npos;
    if (line.empty() || line[0] == '(' || line[0] == '%')
      continue;
    std::istringstream words(line);
    for (std::string word; words >> word;)
      EXPECT_TRUE(word[0] != 'G' || word == "G0" || word == "G1" || word == "G2" || word == "G3" ||
                  word == "G17" || word == "G20" || word == "G21" || word == "G90")
          << line;
  }
  EXPECT_TRUE(cautions);
}

void expect_no_name_gets_out_of_its_comment() {
  Coupon named = coupon();
  std::string any;
  for (int byte = 0; byte < 256; ++byte)
    any += static_cast<char>(byte);
  for (CutterCard& cutter : named.scene.cutters)
    cutter.name = "stub\rG0 Z-200" + any;
  named.scene.layers.front().foam.name = any + "\nG0 Z-200\n";
  const std::string text = coupon_program(named);
  for (const char c : text)
    EXPECT_TRUE(c == '\n' || (c >= ' ' && c <= '~'));
  const auto path = parse_program(text, "a.nc", options_of(named)),
             plain = parse_program(coupon_program(coupon()), "b.nc", options_of(named));
  ASSERT_TRUE(path && plain);
  ASSERT_EQ(path->moves.size(), plain->moves.size());
  for (std::size_t i = 0; i < path->moves.size(); ++i)
    EXPECT_EQ(norm(path->moves[i].to - plain->moves[i].to), 0);
}

void expect_rs274_moves_as_we_read() {
  if (!snagmap::witness::has_rs274())
    return; // tests/sim/program/witness_test.cpp says so
  Coupon inch = coupon();
  inch.scene.show_inch = true;
  for (const std::string& text : {coupon_program(coupon()), coupon_program(inch)}) {
    ProgramOptions options = options_of(coupon());
    options.start_mm = {0, 0, 0};
    const auto path = parse_program(text, "coupon.nc", options);
    ASSERT_TRUE(path);
    EXPECT_EQ(snagmap::witness::unlike_rs274(*path, snagmap::witness::rs274(text)), "");
  }
}

void expect_written_scene_goes_through_the_whole_pipeline_and_says_the_same() {
  const Coupon& c = coupon();
  const fs::path folder = fs::path(testing::TempDir()) / fmt::format("coupon_{}", ::getpid());
  fs::create_directories(folder);
  std::ofstream(folder / "coupon.nc") << coupon_program(c);
  std::ofstream(folder / "foam.toml") << foam_card_text(c.piece.foam);
  std::ofstream(folder / "scene.toml") << coupon_scene(c);
  const auto scene = read_scene((folder / "scene.toml").string());
  ASSERT_TRUE(scene) << to_text(scene.faults().front());
  const auto found = preview(*scene, {});
  ASSERT_TRUE(found) << to_text(found.faults().front());
  EXPECT_NEAR(found->motion.total_s() - 2 * scene->machine.tool_change_s, c.time_s, 1e-3 * c.time_s);
  // What the drawing expects of a wall is what the preview of the piece says of its worst spot.
  for (const CouponWall& wall : c.walls) {
    double s = 0;
    for (const Spot& spot : found->spots)
      if (spot.place_mm.x > wall.low_mm.x - 0.3 && spot.place_mm.x < wall.high_mm.x + 0.3 &&
          spot.place_mm.y > wall.low_mm.y && spot.place_mm.y < wall.high_mm.y)
        s = std::max(s, spot.s());
    EXPECT_NEAR(s, wall.s, 0.02 * wall.s)
        << wall.piece.number << ", " << wall.piece.w_mm << " mm thick, at x " << wall.low_mm.x;
    EXPECT_TRUE(wall.solid) << wall.piece.number;
  }
  fs::remove_all(folder);
}

void expect_readings_of_its_own_walls_give_lambda_back() {
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

void expect_inch_job_gets_an_inch_program_of_the_same_moves() {
  Coupon inch = coupon();
  inch.scene.show_inch = true;
  const auto mm = parse_program(coupon().scene.program_text, "a.nc", options_of(coupon()));
  const auto in = parse_program(coupon_program(inch), "b.nc", options_of(coupon()));
  ASSERT_TRUE(mm && in);
  ASSERT_EQ(mm->moves.size(), in->moves.size());
  for (std::size_t i = 0; i < mm->moves.size(); ++i) // four decimals of an inch
    EXPECT_NEAR(norm(xy(mm->moves[i].to) - xy(in->moves[i].to)), 0, 0.0026);
}

} // namespace

TEST(Coupon, JobWithoutAWebHasNothingToTest) {
  Preview bare = job();
  bare.spots.clear();
  EXPECT_FALSE(plan_coupon(bare));
}

// One test for all of it: the piece takes seconds to plan, and each test is a process of its own.
TEST(Coupon, PieceHoldsItsEdgesKeepsItsLimitsAndReadsBack) {
  {
    SCOPED_TRACE("PredictedEdgeLiesInsideTheWallsOfBothCutters");
    expect_predicted_edge_lies_inside_the_walls_of_both_cutters();
  }
  {
    SCOPED_TRACE("KeepsToItsSheetAndToTenMinutes");
    expect_keeps_to_its_sheet_and_to_ten_minutes();
  }
  {
    SCOPED_TRACE("NarrowsTheBandAndCutsTheJobsOwnWeb");
    expect_narrows_the_band_and_cuts_the_jobs_own_web();
  }
  {
    SCOPED_TRACE("ProgramIsPlain");
    expect_program_is_plain();
    expect_no_name_gets_out_of_its_comment();
    expect_rs274_moves_as_we_read();
  }
  {
    SCOPED_TRACE("WrittenSceneGoesThroughTheWholePipelineAndSaysTheSame");
    expect_written_scene_goes_through_the_whole_pipeline_and_says_the_same();
  }
  {
    SCOPED_TRACE("ReadingsOfItsOwnWallsGiveLambdaBack");
    expect_readings_of_its_own_walls_give_lambda_back();
  }
  {
    SCOPED_TRACE("InchJobGetsAnInchProgramOfTheSameMoves");
    expect_inch_job_gets_an_inch_program_of_the_same_moves();
  }
}
