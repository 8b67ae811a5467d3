// One web, one number: what is said of a web in one place is what is said of it in another.
#include "sim/preview/preview.hpp"
#include "sim/study/compare.hpp"
#include "sim/study/sweep.hpp"
#include "sim/study/wall_spots.hpp"
#include "tests/sim/comb.hpp"

#include <sstream>

using namespace snagmap;

namespace {

std::vector<std::string> cells_of(const std::string& row) {
  std::vector<std::string> cells;
  std::istringstream in(row);
  for (std::string cell; std::getline(in, cell, ',');)
    cells.push_back(cell);
  return cells;
}

} // namespace

// The map, the timeline and the zones are painted from samples, the table from spots: where a spot was found
// both say the same, be it solved by elements or left to the formula.
TEST(OneNumber, EachSpotIsTheSampleItWasFoundAt) {
  comb::Job job;
  job.widths_mm = {7, 11, 16};
  Scene scene = comb::scene_of(job);
  scene.program_file = "comb.nc", scene.program_text = comb::program_of(job);
  PreviewOptions options;
  options.verify = SolveChoice::worst(5);
  const Outcome<Preview> found = preview(scene, options);
  ASSERT_TRUE(found) << to_text(found.faults().front());
  int solved = 0, by_formula = 0;
  for (const Spot& spot : found->spots)
    for (const PathSample& sample : found->samples) {
      // A sample tells of the worst of the walls beside it, which is this one's web where they agree.
      if (sample.move != spot.move || sample.share != static_cast<float>(spot.move_share) ||
          sample.web != spot.web || std::abs(sample.w_mm - spot.question.web.w_mm) > 1e-3 ||
          std::abs(sample.wall_x_mm - spot.place_mm.x) > 1e-3)
        continue;
      EXPECT_NEAR(sample.s, spot.s(), 1e-5 * spot.s()) << spot.id << ", line " << spot.program_line;
      ++(spot.solved() ? solved : by_formula);
    }
  EXPECT_EQ(solved, 5);
  EXPECT_GE(by_formula, 10);
}

// Solved or not, a row of a campaign says of its wall what the table of the preview says.
TEST(OneNumber, ACampaignsRowIsThePreviewsWorstSpotOfTheWall) {
  SweepPlan plan;
  plan.foams = {*find_foam("pe-32")};
  plan.cutters = {cutter_cards().front()};
  plan.passes_mm = {5}, plan.widths_mm = {6}, plan.heights_mm = {15}, plan.length_mm = 50;
  for (const int verify : {0, 3}) {
    plan.verify = verify;
    const SweepCase which = case_at(plan, 0);
    PreviewOptions options;
    options.verify = SolveChoice::worst(static_cast<std::size_t>(verify));
    const Outcome<Preview> found = preview(scene_of_case(plan, which), options);
    ASSERT_TRUE(found) << to_text(found.faults().front());
    const std::vector<std::string> cells = cells_of(run_case(plan, which));
    ASSERT_GT(cells.size(), 13u);
    // The wall is the only thin web of its sheet, so the job's worst spot is the wall's.
    EXPECT_NEAR(std::stod(cells[10]), found->spots.front().s(), 1e-5 * found->spots.front().s()) << verify;
    EXPECT_NEAR(std::stod(cells[12]), found->spots.front().answer.s_high,
                1e-5 * found->spots.front().answer.s_high);
    EXPECT_EQ(cells[13], "watch");
    EXPECT_EQ(found->spots.front().solved(), verify > 0);
  }
}

TEST(OneNumber, AComparisonsCaseIsItsOwnPreview) {
  comb::Job job;
  job.widths_mm = {7, 11};
  Scene scene = comb::scene_of(job);
  scene.program_file = "comb.nc", scene.program_text = comb::program_of(job);
  const Outcome<Preview> found = preview(scene, {});
  ASSERT_TRUE(found) << to_text(found.faults().front());
  const Comparison both = compare({"one", "again"}, {&*found, &*found});
  ASSERT_FALSE(both.webs.empty());
  const auto worst =
      std::max_element(found->spots.begin(), found->spots.end(), [](const Spot& a, const Spot& b) {
        return (a.question.web.w_mm < 8 ? a.s() : 0) < (b.question.web.w_mm < 8 ? b.s() : 0);
      });
  EXPECT_TRUE(worst->solved());
  EXPECT_EQ(both.webs[0].cases[0].s, worst->s());
  EXPECT_EQ(both.cases[0].numbers.worst_s, found->spots.front().s());
  EXPECT_EQ(both.webs[0].cases[1].to_first.nominal, 1);
  EXPECT_EQ(both.cases[1].over_first, 1);
}
