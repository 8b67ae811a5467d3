// The record as the user meets it: what would not fit is refused beforehand, and a kept record is taken up
// again.
#include "sim/preview/preview.hpp"
#include "sim/probe/volumes.hpp"
#include "sim/record/file.hpp"
#include "sim/results/results.hpp"
#include "tests/viz/real_program.hpp"

#include <sys/resource.h>

using namespace snagmap::testing;

namespace {

class RecordLine : public RealProgram {
protected:
  void SetUp() override {
    RealProgram::SetUp();
    std::ofstream nc("job.nc");
    nc << "G21 G90 G17\nS18000 M3\nG0 Z5\n";
    for (int slot = 0; slot < 10; ++slot)
      nc << "G0 X0 Y" << 15 * slot << "\nG1 Z-20 F600\nG1 X200 F3000\nG0 Z5\n";
    nc << "M30\n";
    put("job.toml",
        "program = \"job.nc\"\nfoam = \"pe-32\"\ncutter = \"flat-6.35-long\"\nvoxel = \"1 mm\"\n");
  }
  /// Most memory a preview held, MB, as the kernel counts it.
  static double peak_MB(const std::string& voxel) {
    const pid_t child = start({"preview", "job.toml", "--verify", "none", "--json", "--voxel", voxel});
    int status = 0;
    struct rusage used {};
    EXPECT_EQ(wait4(child, &status, 0, &used), child);
    EXPECT_TRUE(WIFEXITED(status) && (WEXITSTATUS(status) & ~3) == 0) << slurp("err.txt");
    return static_cast<double>(used.ru_maxrss) * 1024e-6;
  }
};

} // namespace

TEST_F(RecordLine, PreviewThatWouldNotFitSaysSoWithTheVoxelThatWould) {
  const Ran refused = run("preview job.toml --voxel '0.05 mm' --memory '200 MB' --out result");
  EXPECT_EQ(refused.status, 2) << refused.err;
  EXPECT_FALSE(fs::exists("result"));
  double estimate_MB = 0, fits_mm = 0;
  ASSERT_EQ(
      std::sscanf(refused.err.c_str(),
                  "snagmap: at voxels of 0.05 mm the preview would take about %lf MB; 200 MB are allowed\n"
                  "  voxels of %lf mm would fit",
                  &estimate_MB, &fits_mm),
      2)
      << refused.err;
  EXPECT_GT(estimate_MB, 200);
  // Columns go with 1 / voxel^2: the two numbers say the same, but for rounding up and what is fixed.
  EXPECT_NEAR(fits_mm, 0.05 * std::sqrt(estimate_MB / 200), 0.02);
  const std::string fits = std::to_string(fits_mm) + " mm";
  const Ran ran = run("preview job.toml --verify none --json --memory '200 MB' --voxel '" + fits + "'");
  EXPECT_EQ(ran.status & ~3, 0) << ran.err;
  EXPECT_EQ(run("preview job.toml --memory some").status, 2);
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
  GTEST_SKIP() << "the kernel would count the sanitiser's memory, too";
#endif
  // Truly taken, as the kernel counts: over what the program takes for itself with next to no columns.
  const double taken = peak_MB(fits) - peak_MB("5 mm");
  EXPECT_LT(taken, 200 * 4 / 3.0);
  EXPECT_GT(taken, 200 * 2 / 3.0) << "an estimate far too high would refuse what fits";
}

TEST_F(RecordLine, KeptRecordIsTheRecordOfTheJob) {
  const Ran ran = run("preview job.toml --quick --keep-record --out result");
  ASSERT_EQ(ran.status & ~3, 0) << ran.err;
  const auto record = snagmap::load_record("result/record.cut");
  ASSERT_TRUE(record);
  double removed = 0;
  for (const double v : removed_mm3(*record))
    removed += v;
  const double r = 3.175, slots = 10 * (200 * 2 * r + M_PI * r * r) * 20; // slots with round ends
  EXPECT_NEAR(removed, slots, 0.5 * record->voxel_mm() * 10 * (2 * 200 + 2 * M_PI * r) * 20);
  run("preview job.toml --quick --out plain");
  EXPECT_FALSE(fs::exists("plain/record.cut"));
  EXPECT_EQ(slurp("plain/result.json"), slurp("result/result.json"));
}

TEST_F(RecordLine, LookReadsTheKeptRecordAndFindsWhatTheCutFinds) {
  const Ran ran = run("preview job.toml --quick --keep-record --out result");
  ASSERT_EQ(ran.status & ~3, 0) << ran.err;
  { // as if the cut had taken weeks: reading is the faster way on any machine
    std::fstream file("result/record.cut", std::ios::binary | std::ios::in | std::ios::out);
    const double cut_s = 1e6;
    file.seekp(5 * sizeof(std::uint64_t));
    file.write(reinterpret_cast<const char*>(&cut_s), sizeof cut_s);
  }
  const std::string words = "reading the saved record is faster than cutting";
  const Ran looked = run("look result", "env -u DISPLAY"); // reads, and only then misses the display
  EXPECT_EQ(looked.status, 1) << looked.err;
  EXPECT_NE(looked.err.find(words), std::string::npos) << looked.err;
  EXPECT_NE(looked.err.find("the cut took 1000000.00 s"), std::string::npos) << looked.err;
  EXPECT_NE(looked.err.find("no display"), std::string::npos) << looked.err;
  EXPECT_EQ(looked.err.find("changed since"), std::string::npos) << looked.err;

  const auto scene = snagmap::read_scene("job.toml");
  const auto result = snagmap::read_result("result");
  ASSERT_TRUE(scene && result);
  snagmap::PreviewOptions options;
  options.verify = snagmap::SolveChoice::none();
  options.voxel_mm = result->voxel_mm;
  const auto cut = snagmap::preview(*scene, options);
  options.record_file = "result/record.cut";
  const auto read = snagmap::preview(*scene, options);
  ASSERT_TRUE(cut && read);
  EXPECT_EQ(read->record_words.find(words), 0u) << read->record_words;
  EXPECT_FALSE(read->spots.empty());
  EXPECT_EQ(snagmap::result_json(*cut), snagmap::result_json(*read));
}
