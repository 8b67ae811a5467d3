// Ctrl-C at every stage of a preview: the shells' exit status, no partial file, the old result untouched. How
// soon is measured by tests/bench/removal.cpp.
#include "tests/viz/real_program.hpp"

#include <csignal>

using namespace snagmap::testing;

namespace {

/// A terminal of the test's own; what the program shows on it is read from the other end.
class Terminal {
public:
  Terminal() : master_(posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK)) {
    grantpt(master_);
    unlockpt(master_);
    keep_ = open(name().c_str(), O_RDWR | O_NOCTTY); // so that the end of the child is no error here
  }
  ~Terminal() {
    close(keep_);
    close(master_);
  }
  Terminal(const Terminal&) = delete;
  Terminal& operator=(const Terminal&) = delete;
  std::string name() const { return ptsname(master_); }
  const std::string& shown() {
    char buffer[4096];
    for (ssize_t got; (got = read(master_, buffer, sizeof buffer)) > 0;)
      text_.append(buffer, static_cast<std::size_t>(got));
    return text_;
  }

private:
  int master_, keep_;
  std::string text_;
};

class StopLine : public RealProgram, public ::testing::WithParamInterface<const char*> {
protected:
  void SetUp() override {
    RealProgram::SetUp();
    // Comb of 12 slots: every stage takes long enough to be met, none longer than seconds.
    std::ofstream nc("job.nc");
    nc << "G21 G90 G17\nS18000 M3\nG0 Z5\n";
    for (int slot = 0; slot < 12; ++slot)
      for (const int z : {8, 16, 24})
        nc << "G0 X0 Y" << 12 * slot << "\nG1 Z-" << z << " F600\nG1 X150 F3000\nG0 Z5\n";
    nc << "M30\n";
    put("job.toml",
        "program = \"job.nc\"\nfoam = \"pu-22\"\ncutter = \"flat-6.35-long\"\nvoxel = \"0.25 mm\"\n");
    fs::create_directory("result");
    put("result/result.json", "old");
    // An old result as the list of files knows it; the checksum is that of GNU coreutils' sha256sum.
    put("result/snagmap-files.json",
        "{\"written_by\": \"snagmap\", \"command\": \"preview\", \"files\": [{\"name\": \"result.json\", "
        "\"bytes\": 3, \"sha256\": \"cba06b5736faf67e54b07b561eae94395e774c517a7d910a54369e1263ccfbd4\"}]}");
  }
};

} // namespace

TEST_P(StopLine, LeavesTheOldResultAndNoPart) {
  Terminal terminal;
  const std::string stage = GetParam();
  std::vector<std::string> words{"preview", "job.toml", "--verify", stage == "verify" ? "all" : "none",
                                 "--out",   "result"};
  if (stage != "pictures")
    words.push_back("--no-pictures");
  const pid_t child = start(words, terminal.name());
  const bool met = wait_for(child, [&] { return terminal.shown().find(stage) != std::string::npos; });
  kill(child, SIGINT);
  EXPECT_EQ(status_of(child), 130) << "128 + SIGINT, the shells' convention";
  ASSERT_TRUE(met) << terminal.shown();
  EXPECT_EQ(slurp("result/result.json"), "old");
  std::size_t entries = 0;
  for (const auto& entry : fs::directory_iterator(root)) {
    ++entries;
    EXPECT_EQ(entry.path().filename().string().find(".part-"), std::string::npos) << entry.path();
  }
  EXPECT_EQ(entries, 4u) << "program, scene, old result, standard output";
  const std::string& shown = terminal.shown();
  EXPECT_NE(shown.find("snagmap: stopped; nothing was written"), std::string::npos) << shown;
}
INSTANTIATE_TEST_SUITE_P(AtEveryStage, StopLine,
                         ::testing::Values("cut", "watch", "verify", "pictures", "volume"),
                         [](const auto& stage) { return std::string(stage.param); });
