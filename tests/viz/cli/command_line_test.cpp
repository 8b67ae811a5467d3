// The real program: its words, its exit statuses and its files.
#include "models/cards/cutter.hpp"
#include "models/cards/foam.hpp"
#include "models/cards/machine.hpp"
#include "sim/results/results.hpp"
#include "tests/viz/real_program.hpp"

#include <nlohmann/json.hpp>

#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstdlib>
#include <fcntl.h>
#include <filesystem>
#include <fstream>
#include <regex>
#include <sstream>
#include <sys/wait.h>
#include <thread>
#include <unistd.h>

using namespace snagmap;
using namespace snagmap::testing;

namespace {

class CommandLine : public RealProgram {
protected:
  /// Two slots with a web between them, in soft polyurethane with flutes as long as the slots are deep.
  static void put_job(double web_mm, const std::string& cutter = "flat-6.35-long") {
    put("part.nc", "G21 G90 G17\nS18000 M3\nG0 Z5\nG0 X0 Y0\nG1 Z-20 F600\nG1 X80 F3000\nG0 Z5\nG0 X0 Y" +
                       std::to_string(web_mm + 6.35) + "\nG1 Z-20 F600\nG1 X80 F3000\nG0 Z5\nM30\n");
    put("job.toml",
        "program = \"part.nc\"\nfoam = \"pu-22\"\ncutter = \"" + cutter + "\"\nvoxel = \"1 mm\"\n");
  }

  /// A job that takes far longer than it takes to notice that it has begun.
  static void put_long_job() {
    std::ofstream nc("long.nc");
    nc << "G21 G90 G17\nS18000 M3\nG0 Z5\nG0 X0 Y0\nG1 Z-5 F600\nF3000\n";
    for (int layer = 1; layer <= 40; ++layer)
      for (int i = 0; i < 2500; ++i)
        nc << "G1 X" << (i % 2 ? 500 : 0) << " Y" << 0.2 * i << " Z" << -0.5 * layer << "\n";
    nc << "M30\n";
    put("long.toml",
        "program = \"long.nc\"\nfoam = \"pu-22\"\ncutter = \"flat-6.35-long\"\nvoxel = \"0.1 mm\"\n");
  }

  /// Starts the long job into out/ and returns its process once it has begun to write beside out/.
  /// Whether a folder of an unfinished run lies here.
  static bool unfinished() {
    return std::any_of(fs::directory_iterator("."), fs::directory_iterator(),
                       [](const fs::directory_entry& entry) {
                         return entry.path().filename().string().rfind(".result.part-", 0) == 0;
                       });
  }
  pid_t begin_long_job() const {
    const pid_t child = fork();
    if (child == 0) {
      const int null = open("/dev/null", O_WRONLY);
      dup2(null, STDOUT_FILENO);
      dup2(open("err.txt", O_WRONLY | O_CREAT | O_TRUNC, 0600), STDERR_FILENO);
      execl(SNAGMAP_BINARY, "snagmap", "preview", "long.toml", "--out", "result", nullptr);
      _exit(127);
    }
    while (!unfinished() && waitpid(child, nullptr, WNOHANG) == 0)
      std::this_thread::sleep_for(std::chrono::milliseconds(5));
    return child;
  }
};

} // namespace

TEST_F(CommandLine, UsageErrorsExitWith2AndNameTheNearestWord) {
  Ran ran = run("");
  EXPECT_EQ(ran.status, 2);
  EXPECT_EQ(ran.err, "snagmap: name a command\n  `snagmap --help` shows examples and options\n");
  ran = run("previw job.toml");
  EXPECT_EQ(ran.status, 2);
  EXPECT_EQ(ran.err, "snagmap: unknown command \"previw\"; did you mean \"preview\"?\n"
                     "  `snagmap --help` shows examples and options\n");
  ran = run("preview job.toml --voxl 1");
  EXPECT_EQ(ran.status, 2);
  EXPECT_EQ(ran.err, "snagmap: unknown option \"--voxl\"; did you mean \"--voxel\"?\n"
                     "  `snagmap preview --help` shows examples and options\n");
  EXPECT_EQ(ran.out, "");
  for (const char* words : {"preview", "preview job.toml --alarm loud", "preview job.toml --verify some",
                            "preview job.toml --threads 0", "cards spoons", "scene"})
    EXPECT_EQ(run(words).status, 2) << words;
}

TEST_F(CommandLine, HelpGoesToStandardOutputWithExamplesBeforeOptions) {
  for (const char* words : {"--help", "preview --help", "scene --help", "cards --help"}) {
    const Ran ran = run(words);
    EXPECT_EQ(ran.status, 0) << words;
    EXPECT_EQ(ran.err, "") << words;
    EXPECT_LT(ran.out.find("Examples:"), ran.out.find("Options:")) << words;
  }
}

TEST_F(CommandLine, CardsListsEveryCard) {
  const Ran ran = run("cards");
  EXPECT_EQ(ran.status, 0);
  for (const FoamCard& card : foam_cards())
    EXPECT_NE(ran.out.find(card.name), std::string::npos) << card.name;
  for (const CutterCard& card : cutter_cards())
    EXPECT_NE(ran.out.find(card.name), std::string::npos) << card.name;
  for (const MachineCard& card : machine_cards())
    EXPECT_NE(ran.out.find(card.name), std::string::npos) << card.name;
}

TEST_F(CommandLine, FaultsOfASceneExitWith2AndGoToStandardError) {
  put("bad.toml", "program = \"none.nc\"\nfoam = \"pu-22\"\ncutter = \"flat-6.35-long\"\nvoxel = 1\n");
  const Ran ran = run("preview bad.toml");
  EXPECT_EQ(ran.status, 2);
  EXPECT_EQ(ran.out, "");
  EXPECT_EQ(ran.err,
            "bad.toml:1:11: program \"none.nc\": no such file\n  program = \"none.nc\"\n            ^\n"
            "  paths start at the scene's folder\n"
            "bad.toml:4:9: voxel = 1: a bare number has no unit\n  voxel = 1\n          ^\n"
            "  write it as text with its unit: \"1 mm\"\n");
  EXPECT_FALSE(fs::exists("out"));
}

TEST_F(CommandLine, OptionsOutOfRangeSayWhatIsAllowed) {
  put_job(10);
  Ran ran = run("preview job.toml --voxel 1");
  EXPECT_EQ(ran.status, 2);
  EXPECT_EQ(ran.err,
            "snagmap: --voxel: \"1\" has no unit\n  write a length as a number and a unit, such as \"12 mm\" "
            "(units: mm, cm, m, um, in, inch, ft)\n");
  ran = run("preview job.toml --voxel '9 mm'");
  EXPECT_EQ(ran.err, "snagmap: --voxel \"9 mm\" is out of range\n  allowed: 0.05 mm to 5 mm\n");
}

TEST_F(CommandLine, AProgramAloneNeedsFoamAndCutterByName) {
  put_job(10);
  Ran ran = run("preview part.nc");
  EXPECT_EQ(ran.status, 2);
  EXPECT_EQ(ran.err,
            "snagmap: a program without a scene needs --foam and --cutter\n"
            "  --foam takes \"soft grey sponge\" (pu-22), \"firm grey sponge\" (pu-32), \"black drawer "
            "foam\" (pe-32), \"firm white packing\" (pe-24), \"stiff camp mat\" (eva-96) or a card; "
            "--cutter takes diameter x flute length in mm, such as \"6.35 x 22\", or a card; `snagmap "
            "cards` lists both; `snagmap scene part.nc` writes a scene to correct\n");
  // Said in everyday words it is the same job.
  const Ran plain = run("preview part.nc --foam 'Soft grey sponge' --cutter '6.35 x 22' --quick --json");
  const Ran cards = run("preview part.nc --foam pu-22 --cutter flat-6.35-long --quick --json");
  EXPECT_EQ(plain.err, cards.err);
  EXPECT_EQ(nlohmann::json::parse(plain.out).at("spots"), nlohmann::json::parse(cards.out).at("spots"));
  const Ran near = run("preview part.nc --foam pu-22 --cutter '6 x 30'");
  EXPECT_EQ(near.status, 2);
  EXPECT_NE(near.err.find("--cutter: no card of 6 x 30 mm"), std::string::npos) << near.err;
  EXPECT_NE(near.err.find("flat-6-long (6 x 22)"), std::string::npos) << near.err;
  ran = run("preview part.nc --foam pu-222 --cutter flat-6.35-lng");
  EXPECT_EQ(
      ran.err,
      "snagmap: --foam: unknown foam \"pu-222\"\n  did you mean \"pu-22\"? `snagmap cards foams` lists them\n"
      "snagmap: --cutter: unknown cutter \"flat-6.35-lng\"\n"
      "  did you mean \"flat-6.35-long\"? `snagmap cards cutters` lists them\n");
  ran = run("preview job.toml --foam pu-22");
  EXPECT_EQ(ran.err, "snagmap: --foam stands beside a scene, which names its own\n  change the scene\n");
}

TEST_F(CommandLine, ThinSoftWebUnderLongFlutesExitsWith3AndAFirmThickOneWith0) {
  // The order is common practice, no source: long flutes take thin soft webs, firm thick ones hold. In
  // layers, so that the web stands free when the last one is cut.
  put_job(3);
  std::string layers = "G21 G90 G17\nS18000 M3\nG0 Z5\n";
  for (const char* slot : {"Y0", "Y9.35"})
    for (const char* depth : {"Z-7", "Z-14", "Z-20"})
      layers += std::string("G0 X0 ") + slot + "\nG1 " + depth + " F600\nG1 X80 F3000\nG0 Z5\n";
  put("part.nc", layers + "M30\n");
  const Ran thin = run("preview job.toml --quick --out thin");
  EXPECT_EQ(thin.status, 3) << thin.err;
  EXPECT_EQ(thin.out.rfind("1 of 1 web snags with flat-6.35-long", 0), 0u) << thin.out;
  put_job(30);
  put("job.toml", "program = \"part.nc\"\nfoam = \"pe-32\"\ncutter = \"flat-6.35-long\"\nvoxel = \"1 mm\"\n");
  const Ran thick = run("preview job.toml --quick --out thick");
  EXPECT_EQ(thick.status, 0) << thick.out << thick.err;
  EXPECT_EQ(thick.out.rfind("The one web is not predicted to snag with flat-6.35-long", 0), 0u) << thick.out;
}

TEST_F(CommandLine, PipedAPreviewPrintsAtMostTwentyFiveLinesOfEightyColumnsVerdictFirstAndLast) {
  put_job(3);
  const Ran ran = run("preview job.toml --quick --out page");
  std::vector<std::string> lines;
  std::istringstream in(ran.out + ran.err);
  for (std::string line; std::getline(in, line);)
    lines.push_back(line);
  EXPECT_LE(lines.size(), 25u) << ran.out << ran.err;
  for (const std::string& line : lines)
    EXPECT_LE(line.size(), 80u) << line;
  // Quiet, it says the verdict alone.
  const Ran quiet = run("preview job.toml --quick --quiet --out page");
  EXPECT_EQ(quiet.status, ran.status);
  EXPECT_EQ(quiet.err, "");
  const std::string verdict = quiet.out.substr(0, quiet.out.find('\n'));
  EXPECT_EQ(quiet.out, verdict + "\n");
  const std::string flat = std::regex_replace(ran.out, std::regex("\\s+"), " ");
  EXPECT_EQ(flat.rfind(verdict + " ", 0), 0u) << flat;
  EXPECT_EQ(flat.rfind(verdict + " "), flat.size() - verdict.size() - 1) << flat;
  EXPECT_EQ(run("preview job.toml --quick --quiet --full").status, 2);
  const Ran full = run("preview job.toml --quick --full --out page");
  EXPECT_NE(full.out.find("assumed: "), std::string::npos) << full.out;
}

TEST_F(CommandLine, ShortOptionsForHelpAndVersionAreAsEverywhere) {
  EXPECT_EQ(run("-V").out, run("--version").out);
  EXPECT_EQ(run("-V").status, 0);
  EXPECT_EQ(run("-h").out, run("--help").out);
  EXPECT_EQ(run("preview -h").out, run("preview --help").out);
}

TEST_F(CommandLine, OnePlanOfStopsStandsInTerminalReportDataAndProgramWithItsCaution) {
  put_job(19);
  const Ran ran =
      run("preview job.toml --quick --full --out result --write-stops --stop-strand \"60 mm\" --stop-within "
          "\"0 s\"");
  EXPECT_NE(ran.status, 2) << ran.err;
  const auto json = nlohmann::json::parse(slurp("result/result.json")).at("whole_job");
  const std::size_t stops = json.at("stops").size();
  ASSERT_GT(stops, 1u); // 80 mm of slot, of which 30 make a strand
  const auto count = [](const std::string& text, const std::string& words) {
    std::size_t n = 0;
    for (std::size_t at = text.find(words); at != std::string::npos; at = text.find(words, at + 1))
      ++n;
    return n;
  };
  const std::regex numbered_stop("\nstop [0-9]+, ");
  EXPECT_EQ(std::distance(std::sregex_iterator(ran.out.begin(), ran.out.end(), numbered_stop),
                          std::sregex_iterator()),
            static_cast<long>(stops))
      << ran.out;
  const std::string nc = std::regex_replace(slurp("result/with-stops.nc"), std::regex("\\)\\n\\("), " "),
                    report = slurp("result/report.html");
  EXPECT_EQ(count(nc, "\nM0\n"), stops) << nc;
  EXPECT_EQ(count(report, "data-h=\"Stop\""), stops) << report;
  const std::string caution = "Hands stay away until the spindle stands still";
  EXPECT_NE(ran.out.find(caution), std::string::npos);
  EXPECT_NE(report.find(caution), std::string::npos);
  EXPECT_NE(nc.find(caution), std::string::npos);
  for (const auto& stop : json.at("stops")) {
    EXPECT_EQ(stop.at("do").size(), 7u);
  }
  // Read again, the written program needs no further stop of its own.
  put("again.toml",
      "program = \"result/with-stops.nc\"\nfoam = \"pu-22\"\ncutter = \"flat-6.35-long\"\nvoxel = \"1 "
      "mm\"\n[stops]\nstrand = \"70 mm\"\nwithin = \"0 s\"\n");
  EXPECT_NE(run("preview again.toml --quick --out again").status, 2);
  for (const auto& stop : nlohmann::json::parse(slurp("again/result.json")).at("whole_job").at("stops"))
    EXPECT_TRUE(stop.at("of_the_program"));
  const Ran refused = run("preview job.toml --stop-within \"5 mm\"");
  EXPECT_EQ(refused.status, 2);
  EXPECT_NE(refused.err.find("--stop-within"), std::string::npos) << refused.err;
}

TEST_F(CommandLine, TwoRunsGiveTheSameBytesOnAnyNumberOfThreads) {
  put_job(6);
  run("preview job.toml --quick --out one --threads 1");
  run("preview job.toml --quick --out two --threads 2");
  ASSERT_TRUE(fs::exists("one/result.json"));
  EXPECT_EQ(slurp("one/result.json"), slurp("two/result.json"));
  EXPECT_EQ(slurp("one/spots.csv"), slurp("two/spots.csv"));
}

TEST_F(CommandLine, JsonOnStandardOutputIsTheResultFileAndNothingElse) {
  put_job(6);
  const Ran ran = run("preview job.toml --quick --json --out here");
  EXPECT_EQ(ran.out, slurp("here/result.json"));
  EXPECT_TRUE(parse_result(ran.out, "stdout"));
  fs::remove_all("here");
  run("preview job.toml --quick --json");
  EXPECT_FALSE(fs::exists("out")); // no folder unless asked for
}

TEST_F(CommandLine, ProgramAloneSaysWhatItAssumed) {
  put_job(6);
  const Ran ran = run("preview part.nc --foam polyurethane --cutter flat-6.35-long --quick --json");
  EXPECT_TRUE(ran.status == 0 || ran.status == 3) << ran.err;
  const auto result = parse_result(ran.out, "stdout");
  ASSERT_TRUE(result);
  EXPECT_EQ(result->sheet.low.z, -30); // deepest cut 20, floor 10
  EXPECT_FALSE(result->assumptions.empty());
}

TEST_F(CommandLine, StarterSceneIsWrittenOnceRunsAndIsNeverOverwritten) {
  put_job(6);
  fs::remove("job.toml");
  Ran ran = run("scene part.nc");
  EXPECT_EQ(ran.status, 0) << ran.err;
  EXPECT_EQ(ran.out, "part.toml\n");
  ran = run("preview part.toml --quick --json");
  EXPECT_TRUE(ran.status == 0 || ran.status == 3) << ran.err;
  put("part.toml", "mine");
  ran = run("scene part.nc");
  EXPECT_EQ(ran.status, 2);
  EXPECT_EQ(ran.err, "part.toml: already exists and is not overwritten\n  name another file with --out\n");
  EXPECT_EQ(slurp("part.toml"), "mine");
  fs::create_directory("sub");
  run("scene part.nc --out sub/job.toml");
  EXPECT_NE(slurp("sub/job.toml").find("program = \"../part.nc\""), std::string::npos);
}

TEST_F(CommandLine, ToolsAndWorkSystemsOfAProgramAreAskedForAndTakenFromTheScene) {
  put("part.nc",
      "T1 M6 S18000 M3 G0 X10 Y10 Z5\nG1 Z-5 F900\nX40 F3000\nG0 Z5\nT2 M6 S18000 M3\nG55 G0 X0 Y0 Z5\n"
      "G99 G83 X10 Y10 Z-8 R2 Q3 F800\nG80\nG28 Z30\nM30\n");
  Ran ran = run("scene part.nc");
  EXPECT_EQ(ran.status, 0) << ran.err;
  std::string scene = slurp("part.toml");
  EXPECT_NE(scene.find("[[tool]]\nnumber = 1"), std::string::npos) << scene;
  EXPECT_NE(scene.find("[[tool]]\nnumber = 2"), std::string::npos) << scene;
  ran = run("preview part.toml --quick --json");
  EXPECT_EQ(ran.status, 2);
  EXPECT_NE(ran.err.find("part.nc:6:1: work system 2 (G55): its origin is not known"), std::string::npos)
      << ran.err;
  EXPECT_NE(ran.err.find("([program] origins)"), std::string::npos) << ran.err;
  const std::string plain = "program = \"part.nc\"\n";
  scene.replace(
      scene.find(plain), plain.size(),
      "program = { file = \"part.nc\", home = [\"0 mm\", \"0 mm\", \"50 mm\"], origins = { G55 = [\"30 mm\", "
      "\"5 mm\", \"0 mm\"] } }\n");
  put("part.toml", scene);
  ran = run("preview part.toml --quick --json");
  EXPECT_TRUE(ran.status == 0 || ran.status == 3) << ran.err;
  EXPECT_EQ(ran.out.find("home is not given"), std::string::npos);
  EXPECT_NE(ran.out.find("\"changes_s\":240"), std::string::npos); // two changes by hand
}

TEST_F(CommandLine, KilledRunLeavesTheOldResult) {
  put_job(6);
  ASSERT_NE(run("preview job.toml --quick --out result").status, 2);
  const std::string old = slurp("result/result.json");
  ASSERT_FALSE(old.empty());
  put_long_job();
  const pid_t child = begin_long_job();
  kill(child, SIGKILL);
  int status = 0;
  ASSERT_EQ(waitpid(child, &status, 0), child) << slurp("err.txt");
  ASSERT_TRUE(WIFSIGNALED(status));
  EXPECT_EQ(slurp("result/result.json"), old);
}

TEST_F(CommandLine, StopSignalEndsTheRunWithoutPartialFiles) {
  put_job(6);
  ASSERT_NE(run("preview job.toml --quick --out result").status, 2);
  const std::string old = slurp("result/result.json");
  ASSERT_FALSE(old.empty());
  put_long_job();
  const pid_t child = begin_long_job();
  kill(child, SIGINT);
  int status = 0;
  ASSERT_EQ(waitpid(child, &status, 0), child) << slurp("err.txt");
  ASSERT_TRUE(WIFEXITED(status));
  EXPECT_EQ(WEXITSTATUS(status), 130); // 128 + SIGINT, the shells' convention
  EXPECT_EQ(slurp("result/result.json"), old);
  EXPECT_FALSE(unfinished());
  EXPECT_NE(slurp("err.txt").find("snagmap: stopped; nothing was written\n"), std::string::npos);
}

TEST_F(CommandLine, ColourOnATerminalOnlyAndNeverWithNoColor) { // no-color.org
  put_job(6);
  const auto on_terminal = [](bool no_colour) {
    const int master = posix_openpt(O_RDWR | O_NOCTTY);
    grantpt(master);
    unlockpt(master);
    const std::string name = ptsname(master);
    const pid_t child = fork();
    if (child == 0) {
      setenv("TERM", "xterm", 1);
      if (no_colour)
        setenv("NO_COLOR", "1", 1);
      else
        unsetenv("NO_COLOR");
      dup2(open(name.c_str(), O_RDWR), STDOUT_FILENO);
      dup2(open("/dev/null", O_WRONLY), STDERR_FILENO);
      execl(SNAGMAP_BINARY, "snagmap", "preview", "job.toml", "--quick", nullptr);
      _exit(127);
    }
    const int keep =
        open(name.c_str(), O_RDWR | O_NOCTTY); // so that the end shows as the child's end, not as an error
    std::string text;
    fcntl(master, F_SETFL, O_NONBLOCK);
    char buffer[4096];
    bool ended = false;
    while (true) {
      const ssize_t got = read(master, buffer, sizeof buffer);
      if (got > 0)
        text.append(buffer, static_cast<std::size_t>(got));
      else if (ended)
        break;
      else if (waitpid(child, nullptr, WNOHANG) == child)
        ended = true; // one more read for what is left
      else
        std::this_thread::sleep_for(std::chrono::milliseconds(10));
    }
    close(keep);
    close(master);
    return text;
  };
  const std::string coloured = on_terminal(false), plain = on_terminal(true);
  EXPECT_NE(coloured.find("\x1b["), std::string::npos);
  EXPECT_EQ(plain.find('\x1b'), std::string::npos);
  EXPECT_NE(plain.find("snag with"), std::string::npos);
}
