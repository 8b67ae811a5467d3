// Numbers that look like another unit, and the moment and place of every finding.
#include "sim/findings/unit_slips.hpp"
#include "sim/results/results.hpp"
#include "tests/sim/comb.hpp"
#include "tests/sim/slot_job.hpp"

#include <set>

namespace snagmap {
namespace {

const std::string kSlot = "G1 Z-5 F900\nX100 F3000\nG0 Z5\n";

TEST(UnitSlips, ADwellOverAMinuteAsksForMilliseconds) {
  const Preview job = slot::run(slot::scene(), kSlot + "G4 P500\nG4 P60\nG4 P90");
  const Finding* said = slot::finding(job, FindingKind::long_dwell);
  ASSERT_TRUE(said);
  EXPECT_EQ(said->program_line, 6);
  EXPECT_EQ(std::get<fact::LongDwell>(said->what).dwell_s, 500);
  EXPECT_EQ(std::get<fact::LongDwell>(said->what).more, 1u);
  EXPECT_FALSE(slot::finding(slot::run(slot::scene(), kSlot + "G4 P60"), FindingKind::long_dwell));
}

TEST(UnitSlips, ASheetOrAProgramOverTwoMetresAsksForTheUnit) {
  Scene scene = slot::scene();
  const auto said = [&](const Path& path) -> std::optional<fact::LargeSheet> {
    const std::vector<Finding> found = unit_slips(scene, path, {});
    return found.empty() ? std::nullopt : std::optional(std::get<fact::LargeSheet>(found.front().what));
  };
  Path path;
  path.moves.resize(1);
  path.moves[0].from = {0, 0, -5}, path.moves[0].to = {2001, 0, -5};
  EXPECT_FALSE(said(path)); // the sheet is given, and small
  scene.sheet.high.x = scene.sheet.low.x + 300 * 25.4;
  ASSERT_TRUE(said(path));
  EXPECT_NEAR(said(path)->x_mm, 7620, 1e-9);
  EXPECT_NEAR(said(path)->y_mm, 60, 1e-9);
  EXPECT_TRUE(said(path)->sheet_given);
  scene.sheet_given = false;
  ASSERT_TRUE(said(path));
  EXPECT_NEAR(said(path)->x_mm, 2001, 1e-9);
  EXPECT_FALSE(said(path)->sheet_given || said(path)->inch);
  path.inch = true;
  EXPECT_TRUE(said(path)->inch);
  path.moves[0].to.x = 2000;
  EXPECT_FALSE(said(path));
}

/// Findings that belong to the whole job, by what they say.
const std::set<FindingKind> kWholeJob = {FindingKind::hold_down_not_given,
                                         FindingKind::clamping_pressure,
                                         FindingKind::collet_not_given,
                                         FindingKind::collet_unknown,
                                         FindingKind::collet_refused,
                                         FindingKind::collet_closes,
                                         FindingKind::clamp_short,
                                         FindingKind::top_edge_rank,
                                         FindingKind::thickness_spread,
                                         FindingKind::thickness_not_run,
                                         FindingKind::thin_sheet_cut_through,
                                         FindingKind::crumbs,
                                         FindingKind::zero_contradicts,
                                         FindingKind::large_sheet};

TEST(Findings, HaveTheirMomentAndPlaceOrBelongToTheWholeJob) {
  Scene rich = slot::scene();
  rich.cutters[0].stick_out_mm = 14, rich.cutters[0].flute_length_mm = 6; // shank and nut in foam
  rich.collet = {true, "ER20", 8, 7, 20, 31.5};
  rich.hold_down.kind = HoldDownKind::vacuum, rich.hold_down.vacuum_kPa = 20;
  rich.thickness_spread_mm = 1;
  rich.layers = {{*find_foam("pe-32"), 5}, {*find_foam("pe-32"), 15}}; // seam at -15
  std::vector<Preview> jobs;
  jobs.push_back(slot::run(rich,
                           "G0 Z-4\nG1 Z-15.4 F900\nX100 F30000\nG4 P90\nX90\nZ-20.5\nX60\nG0 Z5\nX100 Y8\n"
                           "G1 Z-19.5 F900\nX10\nG0 Z5"));
  comb::Job comb;
  comb.widths_mm = {6};
  jobs.push_back(comb::run(comb));
  std::set<FindingKind> seen;
  for (const Preview& job : jobs)
    for (const Finding& one : job.findings) {
      seen.insert(one.kind());
      EXPECT_EQ(one.time_s.has_value(), one.program_line > 0) << to_text(one.kind());
      EXPECT_EQ(one.place_mm.has_value(), one.time_s.has_value()) << to_text(one.kind());
      EXPECT_EQ(one.time_s.has_value(), kWholeJob.count(one.kind()) == 0) << to_text(one.kind());
      if (!one.time_s)
        continue;
      EXPECT_GE(*one.time_s, 0);
      EXPECT_LE(*one.time_s, job.motion.total_s());
      const Box3& sheet = job.scene.sheet;
      EXPECT_GE(one.place_mm->x, sheet.low.x - 10) << to_text(one.kind());
      EXPECT_LE(one.place_mm->x, sheet.high.x + 10) << to_text(one.kind());
      // Not before the program has come to the finding's line.
      for (std::size_t m = 0; m < job.path.moves.size(); ++m)
        if (job.path.moves[m].line == one.program_line) {
          EXPECT_GE(*one.time_s, job.motion.start_s[m] - 1e-3) << to_text(one.kind());
          break;
        }
    }
  for (const FindingKind kind :
       {FindingKind::rapid_in_foam, FindingKind::cut_into_table, FindingKind::floor_cut_through,
        FindingKind::seal_lost, FindingKind::near_seam, FindingKind::reach_short, FindingKind::long_dwell,
        FindingKind::wall_unknown})
    EXPECT_TRUE(seen.count(kind)) << to_text(kind);
}

TEST(Findings, OfTheWholeJobHaveNullForMomentAndPlaceInTheResult) {
  Preview job;
  job.scene = slot::scene();
  Finding whole, here;
  whole.what = fact::Crumbs{3, 100, 150};
  here.what = fact::SealLost{3}, here.program_line = 3, here.time_s = 0, here.place_mm = Vec3{};
  job.findings = {whole, here};
  const std::string text = result_json(job);
  EXPECT_NE(text.find("\"program_line\":null,\"time_s\":null,\"place_mm\":null"), std::string::npos) << text;
  const auto read = parse_result(text, "t");
  ASSERT_TRUE(read);
  EXPECT_FALSE(read->findings[0].time_s || read->findings[0].place_mm);
  EXPECT_TRUE(read->findings[1].time_s &&
              read->findings[1].place_mm); // moment 0 and place 0 are a moment and a place
}

} // namespace
} // namespace snagmap
