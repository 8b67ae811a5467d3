// Foam no thicker than a bite is said once and judged at no voxel; what is thicker keeps its alarm at every
// voxel.
#include "tests/sim/slot_job.hpp"

#include <fmt/format.h>

#include <set>

using namespace snagmap;

namespace {

constexpr double kVoxels_mm[] = {0.5, 0.23, 0.1};

/// 70 x 54 x 20 mm, a corner off every round number, so that no wall falls on a column by itself.
Scene scene(double voxel_mm, double flutes_mm = 22) {
  Scene scene = slot::scene();
  scene.sheet = {{-15.13, -15.07, -20}, {54.87, 38.93, 0}};
  scene.cutters[0].flute_length_mm = flutes_mm;
  scene.voxel_mm = voxel_mm;
  return scene;
}

/// A zigzag of four lanes with a cutter of 6 mm, `apart` mm of foam between them, turned by `turn`.
std::string lanes(double apart_mm, double depth_mm, double turn = 0) {
  std::string nc;
  const auto at = [&](double x, double y) {
    return fmt::format("X{:.4f} Y{:.4f}", x * std::cos(turn) - y * std::sin(turn),
                       x * std::sin(turn) + y * std::cos(turn));
  };
  for (double z = std::min(depth_mm, 6.0);; z = std::min(z + 6, depth_mm)) {
    nc += fmt::format("G0 {}\nG1 Z{} F800\nF3000\n", at(0, 0), -z);
    for (int lane = 0; lane < 4; ++lane) {
      const double y = lane * (6 + apart_mm);
      nc += "G1 " + at(lane % 2 ? 0 : 35, y) + "\n";
      if (lane < 3)
        nc += "G1 " + at(lane % 2 ? 0 : 35, y + 6 + apart_mm) + "\n";
    }
    nc += "G0 Z5\n";
    if (z >= depth_mm)
      return nc;
  }
}

/// What stops the job: each spot that snags, by line, and where it stands to a hundredth of a millimetre.
std::set<std::string> alarms(const Preview& found) {
  std::set<std::string> all;
  for (const Spot& spot : found.spots)
    if (spot.level() >= Level::snags)
      all.insert(fmt::format("line {} at {:.2f} {:.2f}", spot.program_line, spot.place_mm.x + 0.0,
                             spot.place_mm.y + 0.0));
  for (const Finding& finding : found.findings)
    if (finding.stops_job)
      all.insert(to_text(finding.kind()));
  return all;
}

int said(const Preview& found) {
  return static_cast<int>(std::count_if(found.findings.begin(), found.findings.end(), [](const Finding& one) {
    return one.kind() == FindingKind::thin_foam;
  }));
}

} // namespace

TEST(ThinFoam, ASliverBetweenLanesIsSaidOnceAndStopsNoJobAtAnyVoxel) {
  for (const double apart_mm : {0.05, 0.3, 1.0})
    for (const double depth_mm : {3.0, 12.0})
      for (const double voxel_mm : kVoxels_mm) {
        const Preview found = slot::run(scene(voxel_mm), lanes(apart_mm, depth_mm));
        EXPECT_EQ(alarms(found), std::set<std::string>{}) << apart_mm << " " << depth_mm << " " << voxel_mm;
        ASSERT_EQ(said(found), 1) << apart_mm << " " << depth_mm << " " << voxel_mm;
        const Finding& finding = *slot::finding(found, FindingKind::thin_foam);
        EXPECT_FALSE(finding.stops_job);
        EXPECT_GE(finding.program_line, 3);
        EXPECT_NEAR(std::get<fact::ThinFoam>(finding.what).w_mm, apart_mm, 0.005);
      }
}

TEST(ThinFoam, SoIsOneThatSlantsAcrossTheColumns) {
  for (const double voxel_mm : kVoxels_mm) {
    Scene wide = scene(voxel_mm);
    wide.sheet.high.y += 20; // or the last lane leaves a wall of 7 mm along the sheet's edge, which does snag
    const Preview found = slot::run(wide, lanes(0.2, 12, 0.37));
    EXPECT_EQ(alarms(found), std::set<std::string>{}) << voxel_mm;
    EXPECT_EQ(said(found), 1) << voxel_mm;
  }
}

TEST(ThinFoam, AWallThickerThanABiteKeepsItsAlarmAtEveryVoxel) {
  std::set<std::string> first;
  for (const double voxel_mm : kVoxels_mm) {
    const Preview found = slot::run(scene(voxel_mm), lanes(1.4, 12));
    const std::set<std::string> now = alarms(found);
    EXPECT_FALSE(now.empty());
    if (first.empty())
      first = now;
    EXPECT_EQ(now, first) << voxel_mm;
  }
}

// Nested frames too far apart leave cusps at their corners; round pockets that overlap or miss each other by
// a hair.
TEST(ThinFoam, CuspsAndNecksAlarmAlikeAtEveryVoxel) {
  std::string frames, overlap, part;
  for (const int z : {-6, -12}) {
    for (int k = 0; k < 3; ++k) {
      const double a = 2 + 5.9 * k;
      frames += fmt::format("G0 X{0} Y{1}\nG1 Z{4} F800\nG1 X{2} F3000\nY{3}\nX{0}\nY{1}\nG0 Z5\n", 18 - a,
                            12 - a, 18 + a, 12 + a, z);
    }
    for (auto& [rounds, x] :
         {std::pair<std::string*, double>{&overlap, 4}, {&overlap, 27.93}, {&part, 4}, {&part, 28.1}})
      *rounds += fmt::format(
          "G0 X{} Y8\nG1 Z{} F800\nG3 I-9 J0 F3000\nG0 X{} Y8\nG1 Z{} F800\nG3 I-4 J0 F3000\nG0 Z5\n", x + 9,
          z, x + 4, z);
  }
  for (const std::string& program : {frames, overlap, part}) {
    std::set<std::string> first;
    for (const double voxel_mm : kVoxels_mm) {
      const Preview found = slot::run(scene(voxel_mm), program);
      const std::set<std::string> now = alarms(found);
      for (const Spot& spot : found.spots) // a crumb that no one would call a web has thousands
        EXPECT_LT(spot.s(), 500) << spot.question.web.w_mm << " x " << spot.question.web.length_mm();
      if (voxel_mm == kVoxels_mm[0])
        first = now;
      EXPECT_EQ(now, first) << voxel_mm << "\n" << program.substr(0, 60);
    }
  }
}

TEST(ThinFoam, LanesThatOverlapLeaveNone) {
  EXPECT_EQ(said(slot::run(scene(0.5), lanes(-1, 12))), 0);
}
