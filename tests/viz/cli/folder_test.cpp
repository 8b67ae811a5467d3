// What the commands do to the folders they are pointed at: nothing is lost that the program did not write.
#include "tests/viz/real_program.hpp"

#include <algorithm>
#include <random>

using namespace snagmap::testing;

namespace {

class UsersFolder : public RealProgram {
protected:
  void SetUp() override {
    RealProgram::SetUp();
    fs::create_directory("work");
    fs::current_path(root / "work");
    put("part.nc", "G21 G90 G17\nS18000 M3\nG0 Z5\nG0 X0 Y0\nG1 Z-8 F600\nG1 X60 F3000\nG0 Z5\n"
                   "G0 X0 Y11\nG1 Z-8 F600\nG1 X60 F3000\nG0 Z5\nM30\n");
    put("job.toml",
        "program = \"part.nc\"\nfoam = \"pu-22\"\ncutter = \"flat-6.35-long\"\nvoxel = \"1 mm\"\n");
    put("photo.jpg", "mine");
  }
  /// Names in a folder but for the test's own logs.
  static std::vector<std::string> names(const fs::path& folder = ".") {
    std::vector<std::string> all;
    for (const auto& entry : fs::directory_iterator(folder))
      if (const std::string name = entry.path().filename().string(); name != "out.txt" && name != "err.txt")
        all.push_back(name);
    std::sort(all.begin(), all.end());
    return all;
  }
};

using Names = std::vector<std::string>;
const Names kOwn{"job.toml", "part.nc", "photo.jpg"};

} // namespace

TEST_F(UsersFolder, OutputKeptUnderAResultsNameMakesNoResultOfTheProjectFolder) {
  run("preview job.toml --quick --json");
  fs::rename("out.txt", "result.json"); // as `> result.json` does
  for (const std::string& out : {std::string("."), "'" + fs::current_path().string() + "'"}) {
    const Ran ran = run("preview job.toml --quick --out " + out);
    EXPECT_EQ(ran.status, 2);
    EXPECT_NE(ran.err.find("is a folder that holds no result; it is left alone"), std::string::npos)
        << ran.err;
  }
  fs::remove("result.json");
  run("narrowest --foam pu-22 --flutes '22 mm' --csv");
  fs::rename("out.txt", "narrowest.csv");
  EXPECT_EQ(run("narrowest --foam pu-22 --flutes '22 mm' --out \"$PWD\"").status, 2);
  fs::remove("narrowest.csv");
  EXPECT_EQ(names(), kOwn);
}

TEST_F(UsersFolder, AFolderOfResultsIsNoResult) {
  const Ran preview = run("preview job.toml --no-pictures --verify none --out out/job");
  ASSERT_TRUE(preview.status == 0 || preview.status == 3) << preview.err;
  EXPECT_EQ(run("narrowest --foam pu-22 --flutes '22 mm' --out out").status, 2);
  EXPECT_EQ(run("narrowest --foam pu-22 --flutes '22 mm' --out out/job").status, 2);
  EXPECT_TRUE(fs::exists("out/job/result.json"));
}

TEST_F(UsersFolder, ANoteInAResultStaysAndAFullResultIsNotWipedByAQuickOne) {
  const std::string full = "preview job.toml --no-pictures --verify none --out result";
  ASSERT_NE(run(full).status, 2);
  put("result/note.txt", "mine");
  const std::string volume = slurp("result/record.vdb");
  const Ran quick = run("preview job.toml --quick --out result");
  EXPECT_EQ(quick.status, 2);
  EXPECT_NE(quick.err.find("which `snagmap preview --quick` does not replace"), std::string::npos)
      << quick.err;
  EXPECT_EQ(slurp("result/record.vdb"), volume);
  ASSERT_NE(run(full).status, 2);
  EXPECT_EQ(slurp("result/note.txt"), "mine");
  EXPECT_NE(slurp("result/report.html").find("None were asked for (--no-pictures)"), std::string::npos);
  put("result/spots.csv", "sorted by hand");
  const Ran changed = run(full);
  EXPECT_EQ(changed.status, 2);
  EXPECT_NE(changed.err.find("was changed since snagmap wrote it, and is left alone: spots.csv"),
            std::string::npos)
      << changed.err;
  EXPECT_EQ(slurp("result/spots.csv"), "sorted by hand");
}

TEST_F(UsersFolder, AQuickPreviewHasAFolderOfItsOwnByDefault) {
  ASSERT_NE(run("preview job.toml --quick").status, 2);
  EXPECT_EQ(names("out"), Names{"job-quick"});
}

// Kills at random moments of a run that takes a fraction of a second.
TEST_F(UsersFolder, AKilledPreviewLeavesTheOldResultWholeOrTheNewOne) {
  ASSERT_NE(run("preview job.toml --quick --out result").status, 2);
  const std::string old = slurp("result/result.json");
  put("job.toml", slurp("job.toml") + "title = \"another\"\n");
  const auto begun = std::chrono::steady_clock::now();
  ASSERT_NE(run("preview job.toml --quick --out other").status, 2);
  const std::chrono::duration<double> takes = std::chrono::steady_clock::now() - begun;
  const std::string fresh = slurp("other/result.json");
  ASSERT_NE(old, fresh);
  put("result/note.txt", "mine");
  std::minstd_rand random(3);
  for (int n = 0; n < 20; ++n) {
    const pid_t child = start({"preview", "job.toml", "--quick", "--out", "result"});
    std::this_thread::sleep_for(takes * (static_cast<double>(random() % 1000) / 1000));
    kill(child, SIGKILL);
    waitpid(child, nullptr, 0);
    const std::string now = slurp("result/result.json");
    EXPECT_TRUE(now == old || now == fresh);
    EXPECT_EQ(slurp("result/note.txt"), "mine");
    EXPECT_EQ(slurp("result/report.html").find("another") != std::string::npos, now == fresh);
  }
  ASSERT_NE(run("preview job.toml --quick --out result").status, 2);
  EXPECT_EQ(slurp("result/result.json"), fresh);
  EXPECT_EQ(slurp("result/note.txt"), "mine");
  EXPECT_EQ(names(), (Names{"job.toml", "other", "part.nc", "photo.jpg", "result"})) << "no litter";
}

TEST_F(UsersFolder, OfTwoRunsAtOnceOneWinsWhole) {
  put("other.toml", slurp("job.toml") + "title = \"another\"\n");
  const pid_t one = start({"preview", "job.toml", "--quick", "--out", "result"});
  const pid_t two = start({"preview", "other.toml", "--quick", "--out", "result"});
  EXPECT_NE(status_of(one), 1);
  EXPECT_NE(status_of(two), 1);
  EXPECT_EQ(slurp("result/result.json").find("another") != std::string::npos,
            slurp("result/report.html").find("another") != std::string::npos);
  EXPECT_EQ(names(), (Names{"job.toml", "other.toml", "part.nc", "photo.jpg", "result"}));
}

// Closed and full streams: the result is not lost, and what could not be said is told by the status.
TEST_F(UsersFolder, StreamsThatCannotBeWrittenCostNoResult) {
  const auto shell = [](const std::string& words) {
    const int status = std::system(("exec 2>err.txt; '" SNAGMAP_BINARY "' " + words).c_str());
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  };
  const std::string job = "preview job.toml --quick --out ";
  const int plain = shell(job + "a >out.txt");
  EXPECT_TRUE(plain == 0 || plain == 3);
  EXPECT_EQ(shell(job + "b >/dev/null 2>&-"), plain);
  EXPECT_EQ(shell(job + "c >/dev/null 2>/dev/full"), plain);
  EXPECT_EQ(shell(job + "d >/dev/full"), 1);
  EXPECT_NE(slurp("err.txt").find("standard output cannot be written: No space left on device"),
            std::string::npos);
  EXPECT_EQ(shell(job + "e >&- <&-"), 1);
  EXPECT_NE(slurp("err.txt").find("standard output cannot be written: Bad file descriptor"),
            std::string::npos)
      << slurp("err.txt");
  EXPECT_EQ(shell(job + "f --json | true"), 0); // the shell tells the status of `true`
  for (const char* folder : {"a", "b", "c", "d", "e", "f"})
    EXPECT_TRUE(fs::exists(fs::path(folder) / "snagmap-files.json")) << folder;
  EXPECT_EQ(shell("narrowest --foam pu-22 --flutes '22 mm' --csv >/dev/full"), 1);
  EXPECT_EQ(shell("scene part.nc --out new.toml >/dev/full"), 1);
  EXPECT_EQ(shell("cards >/dev/full"), 1);
}

// A limit on the size of a file stands for a full disk.
TEST_F(UsersFolder, AFullDiskIsNoResultAndNoLitter) {
  ASSERT_NE(run("preview job.toml --no-pictures --verify none --out result").status, 2);
  const std::string old = slurp("result/result.json");
  put("job.toml", slurp("job.toml") + "title = \"another\"\n");
  const std::string full = "trap '' XFSZ; ulimit -f 8; "; // 4 to 8 kB
  EXPECT_EQ(run("preview job.toml --no-pictures --verify none --out result", full).status, 1);
  EXPECT_EQ(slurp("result/result.json"), old);
  EXPECT_TRUE(fs::exists("result/record.vdb"));
  // The table fits, the chart does not.
  EXPECT_EQ(run("narrowest --foam pu-22 --flutes '22 mm' --out widths", full).status, 1);
  EXPECT_EQ(run("preview job.toml --quick --out none", "trap '' XFSZ; ulimit -f 0; ").status, 2);
  EXPECT_EQ(run("scene part.nc --out new.toml", "trap '' XFSZ; ulimit -f 0; ").status, 2);
  EXPECT_EQ(names(), (Names{"job.toml", "part.nc", "photo.jpg", "result"}));
}
