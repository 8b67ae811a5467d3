// Campaigns: shards and the whole give the same bytes, a killed shard resumes, nothing is lost or doubled.
#include "sim/study/sweep_run.hpp"
#include "sim/study/sweep_table.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <filesystem>
#include <fmt/format.h>
#include <fstream>
#include <gtest/gtest.h>
#include <sstream>
#include <unistd.h>

using namespace snagmap;
namespace fs = std::filesystem;

namespace {

const char* kPlan = "foams = [\"pu-22\", \"pe-32\"]\ncutters = [\"flat-6.35-long\", \"flat-6.35-stub\"]\n"
                    "depths = [\"6.35 mm\"]\nwidths = [\"4 mm\", \"8 mm\", \"20 mm\"]\nheights = [\"12.7 "
                    "mm\"]\nlength = \"40 mm\"\nvoxel = \"2 mm\"\n";

SweepPlan plan_of(const std::string& text) {
  const auto plan = parse_sweep_plan(text, "plan.toml");
  EXPECT_TRUE(plan) << to_text(plan.faults().front());
  return *plan;
}

class Sweep : public testing::Test {
protected:
  void SetUp() override {
    root =
        fs::path(testing::TempDir()) /
        fmt::format("sweep_{}_{}", getpid(), testing::UnitTest::GetInstance()->current_test_info()->name());
    fs::remove_all(root);
    fs::create_directories(root);
  }
  void TearDown() override { fs::remove_all(root); }
  std::string folder(const char* name) const { return (root / name).string(); }

  std::string table_in(const SweepPlan& plan, const std::string& place) {
    const auto table = merge_shards(plan, place);
    EXPECT_TRUE(table) << to_text(table.faults().front());
    return table ? *table : "";
  }
  fs::path root;
};

} // namespace

TEST_F(Sweep, ShardsMergedEqualTheWholeByteForByte) {
  const SweepPlan plan = plan_of(kPlan);
  ASSERT_EQ(case_count(plan), 12u);
  ASSERT_TRUE(run_shard(plan, {1, 1}, folder("whole")));
  for (const std::size_t i : {3, 1, 2})
    ASSERT_TRUE(run_shard(plan, {i, 3}, folder("parts")));
  const std::string whole = table_in(plan, folder("whole")), parts = table_in(plan, folder("parts"));
  EXPECT_EQ(whole, parts);
  EXPECT_EQ(std::count(whole.begin(), whole.end(), '\n'), 13);
  // Every row has as many cells as there are columns.
  std::istringstream lines(whole);
  for (std::string line; std::getline(lines, line);)
    EXPECT_EQ(std::count(line.begin(), line.end(), ','),
              std::count(sweep_columns(), sweep_columns() + std::strlen(sweep_columns()), ','))
        << line;
}

TEST_F(Sweep, KilledShardGoesOnWhereItWas) {
  const SweepPlan plan = plan_of(kPlan);
  ASSERT_TRUE(run_shard(plan, {1, 1}, folder("whole")));
  // Stopped after a few cases, and with half a line at its end, as a kill in the middle of a write leaves it.
  const auto stopped = run_shard(plan, {1, 1}, folder("killed"), [](std::size_t done) { return done < 4; });
  ASSERT_TRUE(stopped && stopped->stopped);
  std::ofstream(folder("killed") + "/shard-1-of-1.part", std::ios::app) << "11,half a li";
  EXPECT_FALSE(fs::exists(folder("killed") + "/shard-1-of-1.csv"));
  EXPECT_FALSE(merge_shards(plan, folder("killed"))); // missing cases are named
  const auto run = run_shard(plan, {1, 1}, folder("killed"));
  ASSERT_TRUE(run) << to_text(run.faults().front());
  EXPECT_EQ(run->done_before, stopped->ran);
  EXPECT_EQ(run->ran, 12 - stopped->ran);
  EXPECT_EQ(table_in(plan, folder("killed")), table_in(plan, folder("whole")));
  const auto again = run_shard(plan, {1, 1}, folder("killed"));
  ASSERT_TRUE(again);
  EXPECT_EQ(again->ran, 0u);
}

TEST_F(Sweep, TwoProcessesOnOneShardAreRefused) {
  const SweepPlan plan = plan_of(kPlan);
  bool refused = false;
  const auto run = run_shard(plan, {2, 6}, folder("one"), [&](std::size_t) {
    const auto second = run_shard(plan, {2, 6}, folder("one"));
    refused = !second && second.faults().front().what == "another process is working on shard 2/6";
    return false;
  });
  ASSERT_TRUE(run);
  EXPECT_TRUE(run->stopped);
  EXPECT_TRUE(refused);
}

TEST_F(Sweep, MissingDoubleAndForeignCasesAreNamed) {
  const SweepPlan plan = plan_of(kPlan);
  ASSERT_TRUE(run_shard(plan, {1, 6}, folder("mixed")));
  const auto missing = merge_shards(plan, folder("mixed"));
  ASSERT_FALSE(missing);
  EXPECT_EQ(missing.faults().front().what, "10 of 12 cases are missing, the first is case 1");
  ASSERT_TRUE(run_shard(plan, {1, 12}, folder("mixed")));
  const auto twice = merge_shards(plan, folder("mixed"));
  ASSERT_FALSE(twice);
  EXPECT_EQ(twice.faults().front().what, "case 0 stands in shard-1-of-12.csv too");
  const SweepPlan other = plan_of(std::string(kPlan) + "title = \"another\"\n");
  const auto foreign = run_shard(other, {1, 6}, folder("mixed"));
  ASSERT_FALSE(foreign);
  EXPECT_EQ(foreign.faults().front().what, "belongs to another plan or another version of it");
}

TEST_F(Sweep, NarrowestWallAndRankingComeFromTheTable) {
  // A table with S = (10/w)^2 for the long and (4/w)^2 for the stub: 10 mm and 4 mm, ratio 2.5; with Lambda
  // 21 % up or down both move alike, so the ratio keeps no band.
  std::string table = std::string(sweep_columns()) + "\n";
  int number = 0;
  for (const auto& [cutter, flutes, edge] : {std::tuple{"long", 22.0, 10.0}, {"stub", 6.0, 4.0}})
    for (const double w : {2.0, 3.0, 6.0, 8.0, 16.0}) {
      const double s = std::pow(edge / w, 2);
      table += fmt::format("{},wall,soft,{},6,{},6,{},25,100,{},{},{},watch,,,,,0,0,1,\n", number++, cutter,
                           flutes, w, s, s / 1.21, s * 1.21);
    }
  const auto walls = narrowest_walls(table, "table.csv");
  ASSERT_TRUE(walls) << to_text(walls.faults().front());
  ASSERT_EQ(walls->size(), 2u);
  EXPECT_NEAR((*walls)[0].width_mm, 4, 1e-9);
  EXPECT_NEAR((*walls)[1].width_mm, 10, 1e-9);
  EXPECT_NEAR((*walls)[1].low_mm, 10 / 1.1, 1e-9);
  EXPECT_NEAR((*walls)[1].high_mm, 11, 1e-9);
  const auto ranking = cutter_rankings(*walls);
  ASSERT_EQ(ranking.size(), 1u);
  EXPECT_NEAR(ranking[0].ratio, 2.5, 1e-9);
  EXPECT_NEAR(ranking[0].high - ranking[0].low, 0, 1e-9);
  EXPECT_FALSE(narrowest_walls("a,b\n1,2\n", "t.csv"));
}

TEST_F(Sweep, StubFlutesHoldNarrowerWallsThroughTheWholePipeline) {
  const SweepPlan plan = plan_of(
      "foams = [\"pu-22\"]\ncutters = [\"flat-6.35-long\", \"flat-6.35-stub\"]\ndepths = [\"6.35 mm\"]\n"
      "widths = [\"3 mm\", \"6 mm\", \"12 mm\", \"24 mm\", \"48 mm\"]\nheights = [\"25 mm\"]\nvoxel = \"1 "
      "mm\"\n");
  ASSERT_TRUE(run_shard(plan, {1, 1}, folder("walls")));
  const auto walls = narrowest_walls(table_in(plan, folder("walls")), "table.csv");
  ASSERT_TRUE(walls);
  const auto ranking = cutter_rankings(*walls);
  ASSERT_EQ(ranking.size(), 1u); // common practice, no source: stub flutes hold far narrower webs
  EXPECT_GT(ranking[0].low, 2);
}

struct BadPlan {
  const char *name, *text, *fault;
};
class WrongPlan : public testing::TestWithParam<BadPlan> {};
TEST_P(WrongPlan, IsRefusedByPlace) {
  const auto plan = parse_sweep_plan(GetParam().text, "p.toml");
  ASSERT_FALSE(plan);
  const Fault& f = plan.faults().front();
  EXPECT_EQ(fmt::format("{}:{}:{}: {}", f.file, f.line, f.column, f.what), GetParam().fault);
}
INSTANTIATE_TEST_SUITE_P(
    List, WrongPlan,
    testing::Values(
        BadPlan{"Empty", "", "p.toml:0:0: foams is missing"},
        BadPlan{"NoUnit",
                "foams = [\"pu-22\"]\ncutters = [\"flat-6.35-long\"]\ndepths = [6]\nwidths = [\"4 "
                "mm\"]\nheights = [\"20 mm\"]\n",
                "p.toml:3:11: depths, item 1 = 6: a bare number has no unit"},
        BadPlan{"UnknownFoam", "foams = [\"pu-23\"]\ncutters = [\"flat-6.35-long\"]\nprograms = [\"x.nc\"]\n",
                "p.toml:1:10: unknown foam \"pu-23\""},
        BadPlan{"NoProgram",
                "foams = [\"pu-22\"]\ncutters = [\"flat-6.35-long\"]\nprograms = [\"gone.nc\"]\n",
                "p.toml:3:13: program \"gone.nc\": no such file"},
        BadPlan{
            "HeightsLeftOut",
            "foams = [\"pu-22\"]\ncutters = [\"flat-6.35-long\"]\ndepths = [\"6 mm\"]\nwidths = [\"4 mm\"]\n",
            "p.toml:0:0: heights is missing"},
        BadPlan{"NothingVaried", "foams = [\"pu-22\"]\ncutters = [\"flat-6.35-long\"]\n",
                "p.toml:0:0: widths is missing"}),
    [](const auto& bad) { return std::string(bad.param.name); });

TEST(Shards, AreWrittenAsIndexOfCount) {
  const auto shard = parse_shard("3/8");
  ASSERT_TRUE(shard);
  EXPECT_EQ(shard->index, 3u);
  EXPECT_EQ(shard->count, 8u);
  for (const char* wrong : {"", "3", "0/8", "9/8", "a/8", "3/8x", "-1/8", "1/0"})
    EXPECT_FALSE(parse_shard(wrong)) << wrong;
}
