// What has no end, or is no file, is refused at once instead of waited for.
#include "tests/viz/real_program.hpp"

#include <sys/stat.h>

using namespace snagmap::testing;

namespace {

class Endless : public RealProgram {
protected:
  void SetUp() override {
    RealProgram::SetUp();
    ASSERT_EQ(mkfifo("pipe.toml", 0600), 0);
    ASSERT_EQ(mkfifo("pipe.nc", 0600), 0);
    ASSERT_EQ(mkfifo("result.json", 0600), 0);
    put("part.nc", "G21 G90\nS18000 M3\nG0 Z5\nG0 X0 Y0\nG1 Z-5 F900\nX40 F3000\nG0 Z5\nM30\n");
    put("piped.toml", "program = \"pipe.nc\"\nfoam = \"pu-22\"\ncutter = \"flat-6.35-long\"\n");
  }
};

} // namespace

// Nobody writes into these pipes (POSIX: to open one for reading then waits for ever).
TEST_F(Endless, PipesAndDevicesAreNoFiles) {
  const std::string cards = " --foam pu-22 --cutter flat-6.35-long";
  for (const std::string& words :
       {std::string("preview pipe.toml"), "preview pipe.nc" + cards, "preview /dev/zero" + cards,
        std::string("preview part.nc --foam pipe.toml --cutter flat-6.35-long"),
        std::string("preview piped.toml"), std::string("scene pipe.nc"), std::string("sweep pipe.toml"),
        std::string("fit pipe.toml"), std::string("compare pipe.toml"), std::string("look pipe.toml"),
        "look pipe.nc" + cards}) {
    const Ran ran = run(words, "timeout 20");
    EXPECT_EQ(ran.status, 2) << words << ran.err;
    EXPECT_NE(ran.err.find("is a pipe or a device, not a file"), std::string::npos) << words << ran.err;
  }
}

TEST_F(Endless, AHundredThousandUnknownTablesAreToldAsAHundredFaults) {
  std::string scene = "program = \"part.nc\"\nfoam = \"pu-22\"\ncutter = \"flat-6.35-long\"\n";
  for (int i = 0; i < 100000; ++i)
    scene += "[x" + std::to_string(i) + "]\n";
  put("many.toml", scene);
  const Ran ran = run("preview many.toml", "timeout 60");
  EXPECT_EQ(ran.status, 2);
  EXPECT_NE(ran.err.find("more than 100 faults: the others are not told"), std::string::npos);
}

TEST_F(Endless, MemoryLessThanNothingIsRefusedByItsName) {
  const Ran ran = run("preview part.nc --memory '-2 GB'");
  EXPECT_EQ(ran.status, 2);
  EXPECT_NE(ran.err.find("less than nothing: -2 GB"), std::string::npos) << ran.err;
}
