// The commands that set jobs side by side: their words, statuses and files.
#include "tests/viz/real_program.hpp"

#include <algorithm>
#include <chrono>
#include <csignal>
#include <cstdlib>
#include <fcntl.h>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <regex>
#include <sstream>
#include <sys/wait.h>
#include <thread>
#include <unistd.h>

using namespace snagmap::testing;

namespace {

class SideBySide : public RealProgram {
protected:
  void SetUp() override {
    RealProgram::SetUp();
    // Two slots with an 8 mm web between them.
    const auto slots = [](const char* name, double depth) {
      std::ofstream nc(name);
      nc << "G21 G90 G17\nS18000 M3\nG0 Z5\n";
      for (const double y : {0.0, 14.35})
        for (double z = 5; z <= depth; z += 5)
          nc << "G0 X0 Y" << y << "\nG1 Z" << -z << " F600\nG1 X80 F3000\nG0 Z5\n";
      nc << "M30\n";
    };
    slots("deep.nc", 20);
    slots("shallow.nc", 10);
    std::ofstream("job.toml")
        << "program = \"deep.nc\"\nfoam = \"pu-22\"\ncutter = \"flat-6.35-long\"\nvoxel = \"1 mm\"\n"
           "drawer = [\"flat-6.35-stub\"]\n[hold_down]\nkind = \"tape\"\n";
  }
};

} // namespace

TEST_F(SideBySide, CompareWritesOneTableOnePictureAndBothFiles) {
  const Ran ran = run("compare job.toml --cutter flat-6.35-stub --foam pe-32 --pass '2.5 mm' --program "
                      "shallow.nc --out both");
  EXPECT_EQ(ran.status, 0) << ran.err;
  for (const char* name :
       {"deep", "cutter flat-6.35-stub", "foam pe-32", "passes of 2.5 mm at most", "program shallow.nc"})
    EXPECT_NE(slurp("both/compare.csv").find(name), std::string::npos) << name;
  for (const char* file : {"both/compare.csv", "both/compare-webs.csv", "both/compare.json",
                           "both/compare.png", "both/webs.png", "both/webs.svg"})
    EXPECT_TRUE(fs::exists(file)) << file;
  const auto json = nlohmann::json::parse(slurp("both/compare.json"));
  ASSERT_EQ(json.at("cases").size(), 5u);
  const auto& cases = json.at("cases");
  EXPECT_GT(cases[0].at("webs_snagging"), 0);
  EXPECT_EQ(cases[1].at("webs_snagging"), 0);
  EXPECT_EQ(cases[1].at("webs_cleared"), cases[0].at("webs_snagging"));
  EXPECT_LT(cases[1].at("s_over_first").at("most").get<double>(), 1);
  EXPECT_EQ(json.at("webs").front().at("cases").size(), 5u);
  EXPECT_GT(cases[3].at("time_s"), cases[0].at("time_s"));
  // A result is replaced, anything else is not.
  EXPECT_EQ(run("compare job.toml --foam pe-32 --no-pictures --out both").status, 0);
  EXPECT_FALSE(fs::exists("both/compare.png"));
}

// A column of a paper: 85 mm, type of 8 to 10 pt (common practice of journals, no source), and no line of the
// table over the terminal's 80 columns.
TEST_F(SideBySide, CompareDrawsAChartForAPaperAndATableForATerminal) {
  const Ran ran = run("compare job.toml --cutter flat-6.35-stub --quick --plain --out paper");
  EXPECT_EQ(ran.status, 0) << ran.err;
  std::istringstream lines(ran.out);
  for (std::string line; std::getline(lines, line);)
    EXPECT_LE(line.size(), 80u) << line;
  const std::string svg = slurp("paper/webs-plain.svg"), pdf = slurp("paper/webs-plain.pdf");
  EXPECT_NE(svg.find("width=\"85mm\""), std::string::npos);
  const std::regex size("font-size=\"([0-9.]+)\""), view("viewBox=\"0 0 ([0-9]+) ");
  std::smatch box;
  ASSERT_TRUE(std::regex_search(svg, box, view));
  const double point_px = std::stod(box[1]) / 85 * 25.4 / 72;
  int texts = 0;
  for (std::sregex_iterator at(svg.begin(), svg.end(), size), end; at != end; ++at, ++texts) {
    EXPECT_GE(std::stod((*at)[1]) / point_px, 8);
    EXPECT_LE(std::stod((*at)[1]) / point_px, 10);
  }
  EXPECT_GT(texts, 5);
  EXPECT_EQ(pdf.rfind("%PDF-1.", 0), 0u);
  EXPECT_EQ(svg.find("prediction"), std::string::npos); // neither footer nor title
  EXPECT_EQ(run("compare job.toml --cutter flat-6.35-stub --quick --plain --out again").status, 0);
  EXPECT_EQ(slurp("again/webs-plain.pdf"), pdf);
}

TEST_F(SideBySide, CompareNamesWhatItCannotTake) {
  EXPECT_EQ(run("compare job.toml").status, 2);
  EXPECT_NE(slurp("err.txt").find("one case alone cannot be compared"), std::string::npos);
  EXPECT_EQ(run("compare job.toml --foam soft --cutter hard --pass 3").status, 2);
  const std::string said = slurp("err.txt");
  for (const char* word : {"unknown foam \"soft\"", "unknown cutter \"hard\"", "--pass"})
    EXPECT_NE(said.find(word), std::string::npos) << said;
  EXPECT_EQ(run("compare job.toml --pass '9 mm' --out none").status, 2);
  EXPECT_NE(slurp("err.txt").find("no pass deeper than 9 mm"), std::string::npos);
  EXPECT_FALSE(fs::exists("none"));
}

TEST_F(SideBySide, OwnFoamCardsAndTheDrawersCuttersAreTakenByEveryCommand) {
  put("own.toml", "card = \"pu-22\"\nname = \"=soft, \\\"grey\\\"\\u001b[31m\"\nmodulus = \"40 kPa\"\n");
  const std::string name = "=soft, \"\"grey\"\"\\x1b[31m";
  Ran ran = run("compare job.toml --foam own.toml --cutter flat-6.35-stub --no-pictures --csv --out both");
  EXPECT_EQ(ran.status, 0) << ran.err;
  EXPECT_NE(ran.out.find("\r\n\"foam " + name + "\",\"'" + name + "\","), std::string::npos) << ran.out;
  ran = run("narrowest --foam own.toml --flutes '22 mm' --csv");
  EXPECT_EQ(ran.status, 0) << ran.err;
  EXPECT_NE(ran.out.find("\r\n\"'" + name + "\",22.000,"), std::string::npos) << ran.out;
  ran = run("preview deep.nc --foam own.toml --cutter flat-6.35-long --quick --json");
  EXPECT_EQ(ran.status, 3) << ran.err;
  EXPECT_NE(ran.out.find("\"nominal\":40.0"), std::string::npos);
  // The name in full is data in JSON; nothing of it acts on a terminal.
  EXPECT_NE(ran.out.find("\\u001b[31m"), std::string::npos);
  for (const char* words :
       {"compare job.toml --foam", "narrowest --foam", "preview deep.nc --cutter flat-6-long --foam"}) {
    ran = run(std::string(words) + " gone.toml");
    EXPECT_EQ(ran.status, 2);
    EXPECT_NE(ran.err.find("--foam: foam card \"gone.toml\": no such file"), std::string::npos) << ran.err;
    put("bad.toml", "card = \"pu-22\"\nmodulus = 30\n");
    ran = run(std::string(words) + " bad.toml");
    EXPECT_EQ(ran.status, 2);
    EXPECT_NE(ran.err.find("bad.toml:2:11: modulus = 30: a bare number has no unit"), std::string::npos)
        << ran.err;
  }
}

TEST_F(SideBySide, NarrowestPrintsATableAndWritesCsvAndChart) {
  Ran ran = run("narrowest job.toml --depth '20 mm' --depth '30 mm' --out widths");
  EXPECT_EQ(ran.status, 0) << ran.err;
  EXPECT_NE(ran.out.find("pu-22"), std::string::npos);
  for (const char* file : {"widths/narrowest.csv", "widths/narrowest.svg", "widths/narrowest.png"})
    EXPECT_TRUE(fs::exists(file)) << file;
  const std::string csv = slurp("widths/narrowest.csv");
  EXPECT_EQ(std::count(csv.begin(), csv.end(), '\n'), 1 + 4 * 2 * 6);
  ran = run("narrowest --foam pu-22 --flutes '22 mm' --csv");
  EXPECT_EQ(ran.status, 0);
  EXPECT_EQ(std::count(ran.out.begin(), ran.out.end(), '\n'), 2);
  EXPECT_EQ(run("narrowest --foam soft --flutes 22 --depth '0 mm'").status, 2);
  const std::string said = slurp("err.txt");
  for (const char* word : {"--foam: unknown foam \"soft\"", "--flutes", "--depth \"0 mm\" is out of range"})
    EXPECT_NE(said.find(word), std::string::npos) << said;
}

TEST_F(SideBySide, AdviceStandsInTableReportAndResult) {
  const Ran ran = run("preview job.toml --advise --full --verify none --no-pictures --out result");
  EXPECT_EQ(ran.status, 3) << ran.err;
  EXPECT_NE(ran.out.find("1. use the cutter flat-6.35-stub from the drawer"), std::string::npos) << ran.out;
  EXPECT_NE(ran.out.find("not answered by this model (S): a slower feed"), std::string::npos) << ran.out;
  EXPECT_NE(slurp("result/report.html").find("What would help"), std::string::npos);
  const auto json = nlohmann::json::parse(slurp("result/result.json"));
  EXPECT_EQ(json.at("advice").at("ranked").at(0).at("lever"), "cutter");
  EXPECT_EQ(json.at("advice").at("ranked").at(0).at("webs_snagging_after"), 0);
  // Not asked for: nothing is said, and nothing else changes.
  EXPECT_EQ(run("preview job.toml --verify none --no-pictures --out plain").status, 3);
  EXPECT_TRUE(nlohmann::json::parse(slurp("plain/result.json")).at("advice").is_null());
  EXPECT_EQ(slurp("plain/report.html").find("What would help"), std::string::npos);
}

// The levers of the tool case take seconds each; a stop after the first must tell it and leave no file.
TEST_F(SideBySide, AStopWhileAdvisingTellsWhatIsRankedSoFar) {
  const pid_t child = fork();
  if (child == 0) {
    dup2(open("out.txt", O_WRONLY | O_CREAT | O_TRUNC, 0600), STDOUT_FILENO);
    dup2(open("err.txt", O_WRONLY | O_CREAT | O_TRUNC, 0600), STDERR_FILENO);
    execl(SNAGMAP_BINARY, "snagmap", "preview", SNAGMAP_ROOT "/scenes/bicycle-case/scene.toml", "--quick",
          "--advise", "--full", "--out", "result", nullptr);
    _exit(127);
  }
  int status = 0;
  bool ended = false;
  while (slurp("err.txt").find("advice: 1 tried") == std::string::npos && !ended) {
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
    ended = waitpid(child, &status, WNOHANG) != 0;
  }
  ASSERT_FALSE(ended) << slurp("err.txt");
  kill(child, SIGINT);
  waitpid(child, &status, 0);
  EXPECT_TRUE(WIFEXITED(status));
  EXPECT_EQ(WEXITSTATUS(status), 130);
  const std::string out = slurp("out.txt");
  EXPECT_NE(out.find("1. use the cutter flat-6.35-stub from the drawer"), std::string::npos) << out;
  EXPECT_NE(out.find("stopped before all levers were tried"), std::string::npos) << out;
  EXPECT_EQ(out.find("What would help"), out.rfind("What would help")) << "told twice";
  EXPECT_FALSE(fs::exists("result"));
}
