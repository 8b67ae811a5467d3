// `snagmap tooth`: its words, statuses and files.
#include "tests/viz/real_program.hpp"

#include <filesystem>
#include <fstream>

using namespace snagmap::testing;

namespace {

class Tooth : public RealProgram {
protected:
  void SetUp() override {
    RealProgram::SetUp();
    // Two slots with an 8 mm web between them; each cuts it from one side.
    std::ofstream nc("job.nc");
    nc << "G21 G90 G17\nS18000 M3\nG0 Z5\n";
    for (const double y : {0.0, 14.35})
      nc << "G0 X0 Y" << y << "\nG1 Z-15 F600\nG1 X80 F3000\nG0 Z5\n";
    nc << "M30\n";
    std::ofstream("job.toml")
        << "program = \"job.nc\"\nfoam = \"pu-22\"\ncutter = \"flat-6.35-long\"\nvoxel = \"1 mm\"\n"
           "[hold_down]\nkind = \"tape\"\n";
  }
};

} // namespace

TEST_F(Tooth, TableIsTheSameOnAnyNumberOfThreads) {
  const Ran one = run("tooth job.toml --quick --csv --threads 1"),
            two = run("tooth job.toml --quick --csv --threads 2");
  EXPECT_EQ(one.status, 0) << one.err;
  EXPECT_EQ(one.out, two.out);
  EXPECT_EQ(one.out.rfind("web,program_line,side,w_mm", 0), 0u);
  EXPECT_GT(std::count(one.out.begin(), one.out.end(), '\n'), 1);
}

TEST_F(Tooth, OneWebIsToldInWordsAndDrawn) {
  const Ran table = run("tooth job.toml --quick --csv");
  const std::string number = table.out.substr(
      table.out.find('\n') + 1, table.out.find(',', table.out.find('\n')) - table.out.find('\n') - 1);
  const Ran ran = run("tooth job.toml --quick --out one --web " + number);
  EXPECT_EQ(ran.status, 0) << ran.err;
  for (const char* words : {"In time", "T ", "S and T", "Neither has a cut test on foam behind it"})
    EXPECT_NE(ran.out.find(words), std::string::npos) << words << "\n" << ran.out;
  EXPECT_EQ(ran.out.find("safe"), std::string::npos);
  EXPECT_TRUE(fs::exists("one/tooth.csv"));
  int charts = 0;
  for (const auto& file : fs::directory_iterator("one"))
    charts += file.path().extension() == ".svg";
  EXPECT_GE(charts, 2);
}

TEST_F(Tooth, WebThatIsNotThereIsRefused) {
  const Ran ran = run("tooth job.toml --quick --web 4711 --out none");
  EXPECT_EQ(ran.status, 2);
  EXPECT_NE(ran.err.find("4711"), std::string::npos) << ran.err;
  EXPECT_FALSE(fs::exists("none"));
}
