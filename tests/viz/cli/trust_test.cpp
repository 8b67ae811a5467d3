// The real program: test piece, fit, bench sheets and campaigns from the command line.
#include "tests/viz/real_program.hpp"

#include <algorithm>
#include <chrono>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <sys/wait.h>
#include <thread>
#include <unistd.h>

using namespace snagmap::testing;

namespace {

class TrustLine : public RealProgram {};

const char* kPlan = "foams = [\"pu-22\", \"pe-32\"]\ncutters = [\"flat-6.35-long\", "
                    "\"flat-6.35-stub\"]\ndepths = [\"6.35 mm\"]\n"
                    "widths = [\"4 mm\", \"6 mm\", \"8 mm\", \"12 mm\", \"20 mm\"]\nheights = [\"12.7 mm\", "
                    "\"25 mm\"]\nvoxel = \"1 mm\"\n";

} // namespace

TEST_F(TrustLine, CouponIsWrittenWholeOnceAndItsReadingsBecomeACard) {
  put("part.nc", "G21 G90 G17\nS18000 M3\nG0 Z5\nG0 X0 Y0\nG1 Z-10 F600\nG1 X80 F3000\nG0 Z5\nG0 X0 "
                 "Y14.35\nG1 Z-10 F600\nG1 X80 F3000\nG0 Z5\nM30\n");
  put("job.toml", "program = \"part.nc\"\nfoam = \"pu-22\"\ncutter = { diameter = \"6.35 mm\", flute_length "
                  "= \"12 mm\" }\n[sheet]\nthickness = \"25 mm\"\n");
  // Somebody makes the folder while the piece is planned: it is left alone, the piece goes beside it.
  const pid_t child = start({"coupon", "job.toml", "--out", "piece"});
  const bool begun = wait_for(child, [] {
    for (const auto& entry : fs::directory_iterator("."))
      if (entry.path().filename().string().rfind(".piece.part-", 0) == 0)
        return true;
    return false;
  });
  fs::create_directory("piece");
  put("piece/readings.csv", "an hour of measuring");
  EXPECT_EQ(status_of(child), 1) << slurp("err.txt");
  ASSERT_TRUE(begun) << slurp("err.txt");
  const Ran made{1, slurp("out.txt"), slurp("err.txt")};
  EXPECT_EQ(slurp("piece/readings.csv"), "an hour of measuring");
  EXPECT_EQ(std::distance(fs::directory_iterator("piece"), fs::directory_iterator()), 1);
  fs::remove_all("piece");
  ASSERT_TRUE(fs::exists("piece-2")) << made.err;
  fs::rename("piece-2", "piece");
  for (const char* name : {"coupon.nc", "scene.toml", "foam.toml", "walls.toml", "readings.csv",
                           "drawing.svg", "drawing.png", "sheet.html"})
    EXPECT_GT(fs::file_size(fs::path("piece") / name), 200u) << name;
  EXPECT_NE(made.out.find("the band of Lambda shrinks to"), std::string::npos);
  EXPECT_NE(made.out.find("eye"), std::string::npos); // cautions
  if (std::system("command -v chromium >/dev/null") ==
      0) { // one side of paper: the page tree of the PDF (ISO 32000-1, 7.7.3) counts its leaves
    ASSERT_EQ(
        std::system(("timeout 100 chromium --headless --no-sandbox --disable-gpu --no-first-run "
                     "--user-data-dir=browser --no-pdf-header-footer --print-to-pdf=sheet.pdf 'file://" +
                     fs::absolute("piece/sheet.html").string() + "' >/dev/null 2>&1")
                        .c_str()),
        0);
    const std::string pdf = slurp("sheet.pdf");
    const std::size_t count = pdf.find("/Count ");
    ASSERT_NE(count, std::string::npos);
    EXPECT_EQ(std::stoi(pdf.substr(count + 7)), 1);
  }
  const std::string before = slurp("piece/readings.csv");
  const Ran again = run("coupon job.toml --out piece");
  EXPECT_EQ(again.status, 2);
  EXPECT_NE(again.err.find("already exists and is not overwritten"), std::string::npos) << again.err;
  EXPECT_EQ(slurp("piece/readings.csv"), before);
  EXPECT_EQ(run("preview piece/scene.toml --quick --json").status & ~3, 0); // a scene like any other: 0 or 3

  const Ran empty = run("fit piece/readings.csv");
  EXPECT_EQ(empty.status, 2);
  EXPECT_NE(empty.err.find("no outcome is filled in"), std::string::npos) << empty.err;
  // Thin walls tear, thick ones hold.
  std::istringstream lines(slurp("piece/walls.toml"));
  std::string csv = "wall,outcome\n", number;
  for (std::string line; std::getline(lines, line);) {
    if (line.rfind("number = ", 0) == 0)
      number = line.substr(9);
    if (line.rfind("gamma = ", 0) == 0)
      csv += number + "," + (std::stod(line.substr(8)) > 3.3 ? "torn" : "held") + "\n";
  }
  put("piece/readings.csv", csv);
  const Ran fit = run("fit piece/readings.csv");
  ASSERT_EQ(fit.status, 0) << fit.err;
  EXPECT_NE(fit.out.find("band shrank to"), std::string::npos) << fit.out;
  const std::string card = slurp("piece/own-foam.toml");
  EXPECT_NE(card.find("history = ["), std::string::npos);
  const Ran refused = run("fit piece/readings.csv");
  EXPECT_EQ(refused.status, 2);
  EXPECT_NE(refused.err.find("--replace"), std::string::npos) << refused.err;
  EXPECT_EQ(slurp("piece/own-foam.toml"), card);
  EXPECT_EQ(run("fit piece/readings.csv --replace").status, 0);
  put("job.toml", "program = \"part.nc\"\nfoam = \"piece/own-foam.toml\"\ncutter = { diameter = \"6.35 mm\", "
                  "flute_length = \"12 mm\" }\n");
  const Ran preview = run("preview job.toml --quick --json");
  EXPECT_NE(preview.out.find("pu-22-own"), std::string::npos);
}

TEST_F(TrustLine, BenchSheetsComeWithReadingsThatFitUnderstands) {
  ASSERT_EQ(run("bench --out bench").status, 0);
  for (const char* name : {"sag.html", "tear.html", "peel.html", "readings.toml"})
    EXPECT_TRUE(fs::exists(fs::path("bench") / name)) << name;
  EXPECT_EQ(run("bench --out bench").status, 2); // never overwritten
  const Ran untouched = run("fit bench/readings.toml");
  EXPECT_EQ(untouched.status, 2);
  EXPECT_NE(untouched.err.find("holds no readings"), std::string::npos) << untouched.err;
  // Every line of the template, taken out of its comment, is read.
  std::string text = slurp("bench/readings.toml");
  const std::size_t start = text.find("#name");
  for (std::size_t at = start; (at = text.find("\n#", at)) != std::string::npos;)
    text.erase(at + 1, 1);
  text.erase(start, 1);
  put("bench/readings.toml", text);
  const Ran fit = run("fit bench/readings.toml");
  EXPECT_EQ(fit.status, 0) << fit.err;
  for (const char* what : {"modulus:", "tear energy:", "tape peels at"})
    EXPECT_NE(fit.out.find(what), std::string::npos) << fit.out;
}

TEST_F(TrustLine, KilledShardResumesAndSecondProcessIsRefused) {
  put("plan.toml", kPlan);
  ASSERT_EQ(run("sweep plan.toml --out whole --no-pictures").status, 0);
  const pid_t child = fork();
  if (child == 0) {
    execl("/bin/sh", "sh", "-c",
          "exec '" SNAGMAP_BINARY "' sweep plan.toml --out killed --shard 1/2 --threads 1 >/dev/null 2>&1",
          nullptr);
    _exit(127);
  }
  const auto lines = [] {
    const std::string text = slurp("killed/shard-1-of-2.part");
    return std::count(text.begin(), text.end(), '\n');
  };
  while (lines() < 3 && waitpid(child, nullptr, WNOHANG) == 0)
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
  kill(child, SIGSTOP); // alive and holding its shard
  ASSERT_TRUE(fs::exists("killed/shard-1-of-2.part")) << "it finished before it could be stopped";
  const Ran second = run("sweep plan.toml --out killed --shard 1/2");
  EXPECT_EQ(second.status, 2);
  EXPECT_NE(second.err.find("another process is working on shard 1/2"), std::string::npos) << second.err;
  kill(child, SIGKILL);
  waitpid(child, nullptr, 0);
  ASSERT_FALSE(fs::exists("killed/shard-1-of-2.csv"));
  const Ran resumed = run("sweep plan.toml --out killed --shard 1/2");
  EXPECT_EQ(resumed.status, 0) << resumed.err;
  EXPECT_EQ(resumed.err.find(" 0 there before"), std::string::npos) << resumed.err;
  EXPECT_EQ(run("sweep plan.toml --out killed --merge").status, 2); // shard 2 is missing
  EXPECT_EQ(run("sweep plan.toml --out killed --shard 2/2 --threads 2").status, 0);
  EXPECT_EQ(run("sweep plan.toml --out killed --merge").status, 0);
  EXPECT_EQ(slurp("killed/table.csv"), slurp("whole/table.csv"));
  for (const char* chart : {"narrowest.svg", "ranking.svg", "narrowest.png", "ranking.png"})
    EXPECT_TRUE(fs::exists(fs::path("killed") / chart)) << chart;
}
