// Stop means stop: a stage that was told to stop ends the job, and nothing that looks complete comes out.
#include "sim/advice/advice.hpp"
#include "sim/study/narrowest.hpp"
#include "sim/study/sweep.hpp"
#include "sim/trust/coupon.hpp"
#include "sim/verify/verify.hpp"
#include "tests/sim/slot_job.hpp"

#include <functional>
#include <memory>
#include <set>

using namespace snagmap;

namespace {

/// A web of 6 mm between two slots.
Scene two_slots() {
  Scene scene = slot::scene();
  scene.voxel_mm = 0.5;
  scene.program_file = "slots.nc";
  scene.program_text = "G21 G90 G61.1 T1 M6\nS18000 M3 G0 X0 Y0 Z5\nG1 Z-10 F600\nX60 F3000\nG0 Z5\n"
                       "G0 X0 Y12\nG1 Z-10 F600\nX60 F3000\nG0 Z5\nM30\n";
  return scene;
}

/// Stops at the n-th question of a stage, for good.
struct StopAt {
  std::string stage;
  int left = 1;
  std::set<std::string> asked = {};
  bool stopped = false;
  bool operator()(const std::string& name, double) {
    EXPECT_TRUE(!stopped || name == stage) << name << " began after the stop"; // threads may ask once more
    asked.insert(name);
    stopped = stopped || (name == stage && --left == 0);
    return !stopped;
  }
};

} // namespace

TEST(StopMeansStop, EveryStageEndsThePreview) {
  PreviewOptions options;
  options.verify = SolveChoice::none();
  const auto all = std::make_shared<StopAt>();
  options.progress = [all](const std::string& name, double share) { return (*all)(name, share); };
  ASSERT_TRUE(preview(two_slots(), options));
  ASSERT_EQ(all->asked, (std::set<std::string>{"read the program", "plan the motion", "cut", "watch", "judge",
                                               "verify", "check the job"}));
  for (const std::string& stage : all->asked)
    for (const int question : {1, 2}) {
      options.verify = SolveChoice::worst(stage == "verify"); // both questions come before anything is solved
      const auto stop = std::make_shared<StopAt>(StopAt{stage, question});
      options.progress = [stop](const std::string& name, double share) { return (*stop)(name, share); };
      const auto found = preview(two_slots(), options);
      if (!stop->stopped)
        continue; // it asks once only
      ASSERT_FALSE(found) << stage << " " << question;
      EXPECT_NE(found.faults().front().what.find("stopped"), std::string::npos)
          << found.faults().front().what;
    }
}

TEST(StopMeansStop, ChecksAndFiniteElementsSayThatTheyWereStopped) {
  PreviewOptions options;
  options.verify = SolveChoice::none();
  auto found = preview(two_slots(), options);
  ASSERT_TRUE(found);
  ASSERT_FALSE(found->spots.empty());
  EXPECT_FALSE(verify_spots(*found, SolveChoice::all(), {}, [](double) { return false; }));
  EXPECT_FALSE(check_job(*found, found->findings).stopped);
  for (int question = 1; question <= 4; ++question) {
    int left = question;
    EXPECT_TRUE(check_job(*found, found->findings, [&](double) { return --left > 0; }).stopped) << question;
    EXPECT_EQ(left, 0) << "asked again after the stop";
  }
  AdviceOptions advising;
  advising.progress = [](const std::string&, double) { return false; };
  const AdviceList list = advise(*found, advising);
  EXPECT_TRUE(list.clean || list.stopped);
}

TEST(StopMeansStop, TheTableOfNarrowestWebsSaysThatItWasStopped) {
  NarrowestSpec spec;
  spec.foams = {*find_foam("pu-22")};
  spec.flute_lengths_mm = {10, 22};
  spec.depths_mm = {25};
  EXPECT_TRUE(narrowest_table(spec, [] { return false; }).stopped);
  EXPECT_FALSE(narrowest_table(spec, [] { return true; }).stopped);
}

TEST(StopMeansStop, ATestPieceIsNotPlannedByHalf) {
  PreviewOptions options;
  options.verify = SolveChoice::none();
  const auto job = preview(two_slots(), options);
  ASSERT_TRUE(job);
  for (const char* stage : {"cut", "verify"}) {
    StopAt stop{stage};
    const auto coupon = plan_coupon(*job, std::ref(stop));
    ASSERT_TRUE(stop.stopped) << stage;
    EXPECT_FALSE(coupon);
  }
}
