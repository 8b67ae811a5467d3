// `look` on a program, and where there is no display.
#include "tests/viz/real_program.hpp"

using namespace snagmap::testing;

namespace {

class LookLine : public RealProgram {
protected:
  void SetUp() override {
    RealProgram::SetUp();
    put("part.nc", "G21 G90\nS18000 M3\nG0 Z5\nG0 X0 Y0\nG1 Z-12 F900\nX40 F3000\nG0 Z5\n"
                   "G0 X0 Y13.35\nG1 Z-12 F900\nX40 F3000\nG0 Z5\nM30\n");
  }
};

} // namespace

TEST_F(LookLine, WithoutADisplayAProgramIsSentToTheBrowserBeforeAnyWork) {
  const Ran ran = run("look part.nc --foam pu-22 --cutter flat-6.35-long", "env -u DISPLAY");
  EXPECT_EQ(ran.status, 1) << ran.err;
  EXPECT_NE(ran.err.find("no display for the window"), std::string::npos) << ran.err;
  EXPECT_NE(ran.err.find("`snagmap serve` does the same in a browser"), std::string::npos) << ran.err;
}

TEST_F(LookLine, WithoutADisplayAResultNamesItsOwnReport) {
  put("job.toml", "program = \"part.nc\"\nfoam = \"pu-22\"\ncutter = \"flat-6.35-long\"\n");
  const Ran made = run("preview job.toml --quick --out result");
  ASSERT_EQ(made.status & ~3, 0) << made.err;
  const Ran ran = run("look result", "env -u DISPLAY");
  EXPECT_EQ(ran.status, 1) << ran.err;
  EXPECT_NE(ran.err.find("result/report.html in a browser"), std::string::npos) << ran.err;
}

TEST_F(LookLine, AProgramNeedsFoamAndCutterAndASceneTakesNeither) {
  const Ran bare = run("look part.nc");
  EXPECT_EQ(bare.status, 2);
  EXPECT_NE(bare.err.find("a program without a scene needs --foam and --cutter"), std::string::npos)
      << bare.err;
  put("job.toml", "program = \"part.nc\"\nfoam = \"pu-22\"\ncutter = \"flat-6.35-long\"\n");
  const Ran both = run("look job.toml --foam pu-22");
  EXPECT_EQ(both.status, 2);
  EXPECT_NE(both.err.find("--foam stands beside a scene"), std::string::npos) << both.err;
}
