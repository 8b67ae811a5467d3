// A drawing that fails costs the pictures only: numbers and data are whole, and the report says what is
// missing.
#include "tests/viz/real_program.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

using namespace snagmap::testing;

namespace {

class PicturesFail : public RealProgram {
protected:
  void SetUp() override {
    RealProgram::SetUp();
    put("job.nc", "G21 G90 G17\nS18000 M3\nG0 Z5\nG0 X0 Y0\nG1 Z-8 F600\nG1 X60 F3000\nG0 Z5\nM30\n");
    put("job.toml",
        "program = \"job.nc\"\nfoam = \"pu-22\"\ncutter = \"flat-6.35-long\"\nvoxel = \"1 mm\"\n");
  }
  static void expect_numbers(const std::string& folder) {
    for (const char* name : {"result.json", "spots.csv", "stock.vtp", "zones.vtp", "map.vti", "sheet.glb",
                             "record.vdb", "report.html", "timing.json", "snagmap-files.json"})
      EXPECT_TRUE(fs::exists(fs::path(folder) / name)) << name;
    EXPECT_TRUE(nlohmann::json::accept(slurp(folder + "/result.json")));
  }
  static std::size_t pictures(const std::string& folder) {
    std::size_t count = 0;
    if (fs::exists(folder + "/pictures"))
      for (const auto& entry : fs::directory_iterator(folder + "/pictures"))
        count += entry.path().extension() == ".png";
    return count;
  }
};

} // namespace

TEST_F(PicturesFail, WithoutADisplayServer) {
  const Ran ran = run("preview job.toml --verify none --out result", "PATH=/nonexistent");
  EXPECT_TRUE(ran.status == 0 || ran.status == 3) << ran.err;
  EXPECT_NE(ran.err.find("no pictures: the program Xvfb was not found"), std::string::npos) << ran.err;
  expect_numbers("result");
  EXPECT_NE(
      slurp("result/report.html").find("No pictures stand here.</strong> The program Xvfb was not found"),
      std::string::npos);
}

TEST_F(PicturesFail, WithADisplayServerThatIsNone) {
  fs::create_directory("bin");
  put("bin/Xvfb", "#!/bin/sh\necho 77 >&$2\nexec sleep 60\n"); // a number where nobody listens
  fs::permissions("bin/Xvfb", fs::perms::owner_all);
  const Ran ran = run("preview job.toml --verify none --out result", "PATH=$PWD/bin:$PATH");
  EXPECT_TRUE(ran.status == 0 || ran.status == 3) << ran.err;
  EXPECT_NE(ran.err.find("no pictures: "), std::string::npos) << ran.err;
  expect_numbers("result");
  EXPECT_EQ(pictures("result"), 0u);
  EXPECT_EQ(run("compare job.toml --cutter flat-6.35-stub --out both", "PATH=$PWD/bin:$PATH").status, 0);
  EXPECT_TRUE(fs::exists("both/compare.csv"));
  EXPECT_EQ(run("narrowest --foam pu-22 --flutes '22 mm' --out widths", "PATH=$PWD/bin:$PATH").status, 0);
  EXPECT_TRUE(fs::exists("widths/narrowest.csv") && fs::exists("widths/narrowest.svg"));
  EXPECT_FALSE(fs::exists("widths/narrowest.png"));
}

TEST_F(PicturesFail, WithoutADriver) {
  const Ran ran = run("preview job.toml --verify none --out result",
                      "LIBGL_DRIVERS_PATH=/nonexistent GALLIUM_DRIVER=none DISPLAY=:4242");
  EXPECT_TRUE(ran.status == 0 || ran.status == 3) << ran.err;
  expect_numbers("result");
  if (pictures("result") == 0) {
    EXPECT_NE(ran.err.find("no pictures: "), std::string::npos) << ran.err;
  }
}

// The display server is killed as soon as the first picture is there.
TEST_F(PicturesFail, WithADisplayServerThatDies) {
  const auto hidden = [&]() -> std::string {
    for (const auto& entry : fs::directory_iterator(root))
      if (entry.path().filename().string().rfind(".result.part-", 0) == 0)
        return entry.path().string() + "/new";
    return "";
  };
  // The server says its own process id to the test.
  fs::create_directory("bin");
  put("bin/Xvfb", "#!/bin/sh\necho $$ >server.pid\nPATH=${PATH#*:}\nexec Xvfb \"$@\"\n");
  fs::permissions("bin/Xvfb", fs::perms::owner_all);
  const std::string path = std::getenv("PATH");
  setenv("PATH", ((root / "bin").string() + ":" + path).c_str(), 1);
  const pid_t child = start({"preview", "job.toml", "--verify", "none", "--out", "result"});
  setenv("PATH", path.c_str(), 1);
  const bool met = wait_for(child, [&] {
    const std::string folder = hidden();
    return !folder.empty() && pictures(folder) > 0;
  });
  if (met)
    kill(static_cast<pid_t>(std::stol(slurp("server.pid"))), SIGKILL);
  const int status = status_of(child);
  ASSERT_TRUE(met) << slurp("err.txt");
  EXPECT_TRUE(status == 0 || status == 3) << slurp("err.txt");
  expect_numbers("result");
  const std::size_t stand = pictures("result");
  EXPECT_GE(stand, 1u);
  EXPECT_LT(stand, 10u);
  EXPECT_NE(slurp("err.txt").find("no pictures: the drawing process ended"), std::string::npos)
      << slurp("err.txt");
  EXPECT_NE(slurp("result/report.html").find("pictures stand here, the others are missing."),
            std::string::npos);
}
