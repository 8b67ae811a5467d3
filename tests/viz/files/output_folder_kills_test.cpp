// A run that is killed or stopped leaves the old result or the new one, whole.
#include "tests/viz/files/output_folder_fixture.hpp"

#include <algorithm>
#include <chrono>
#include <csignal>
#include <random>
#include <sys/wait.h>
#include <thread>

using namespace snagmap;
using namespace snagmap::output_folder;

TEST_F(OutputFolderTest, AKilledWriteLeavesTheOldResultAndTheNextOneClearsItsRemains) {
  ASSERT_EQ(write("out", kOld), "");
  const pid_t child = fork();
  if (child == 0) {
    auto folder = OutputFolder::begin((root / "out").string(), kPreview);
    if (folder)
      folder->write("result.json", "new");
    raise(SIGKILL);
  }
  int status = 0;
  ASSERT_EQ(waitpid(child, &status, 0), child);
  ASSERT_TRUE(WIFSIGNALED(status));
  EXPECT_EQ(get("out/result.json"), "old");
  EXPECT_EQ(entries(), 2u);                // the old result and the killed write's remains
  put(".out.part-mine/notes.txt", "mine"); // a name alone proves nothing either
  ASSERT_EQ(write("out", kFresh), "");
  EXPECT_EQ(get("out/result.json"), "new");
  EXPECT_EQ(get(".out.part-mine/notes.txt"), "mine");
  EXPECT_EQ(entries(), 2u);
}

TEST_F(OutputFolderTest, ARunThatLivesIsNotCleared) {
  auto slow = OutputFolder::begin((root / "out").string(), kPreview);
  ASSERT_TRUE(slow);
  EXPECT_FALSE(slow->write("result.json", "slow"));
  const pid_t child = fork();
  if (child == 0)
    _exit(write("out", kOld).empty() ? 0 : 1);
  int status = 0;
  ASSERT_EQ(waitpid(child, &status, 0), child);
  EXPECT_EQ(WEXITSTATUS(status), 0);
  EXPECT_EQ(get("out/result.json"), "old");
  EXPECT_FALSE(slow->commit()); // the last one to end wins whole
  EXPECT_EQ(get("out/result.json"), "slow");
  EXPECT_FALSE(fs::exists(root / "out/gone.csv"));
  EXPECT_EQ(entries(), 1u);
}

// Runs that replace the folder as fast as they can, killed at random moments. After each kill every file is
// of one run, or (where the folder itself must stay) becomes so with the next run; nobody else's file is
// lost.
// Not met yet: a file too many lies in the folder after some kills.
TEST_F(OutputFolderTest, KilledAtRandomMomentsTheOldResultOrTheNewOneStandsWhole) {
  std::minstd_rand random(7);
  int whole = 0, between = 0;
  for (int kill_number = 0; kill_number < 60; ++kill_number) {
    const bool inside = kill_number % 3 == 2;
    if (kill_number < 3 && fs::exists(root / "out"))
      fs::remove_all(root / "out");
    ASSERT_EQ(write("out", {{"a", "start"}, {"pictures/b", "start"}, {"c", "start"}}), "");
    put("out/note.txt", "mine");
    put("out/mine/deep.txt", "mine");
    if (inside)
      fs::current_path(root / "out");
    const pid_t child = fork();
    if (child == 0) {
      for (int n = 0;; ++n) {
        const std::string text = std::to_string(n);
        write("out", {{"a", text}, {"pictures/b", text}, {"c", text}});
      }
    }
    std::this_thread::sleep_for(std::chrono::microseconds(2000 + random() % 20000));
    kill(child, SIGKILL);
    ASSERT_EQ(waitpid(child, nullptr, 0), child);
    const bool one = get("out/a") == get("out/pictures/b") && get("out/a") == get("out/c");
    (one ? whole : between) += 1;
    EXPECT_TRUE(one || inside) << get("out/a") << get("out/pictures/b") << get("out/c");
    EXPECT_EQ(get("out/note.txt"), "mine");
    EXPECT_EQ(get("out/mine/deep.txt"), "mine");
    ASSERT_EQ(write("out", {{"a", "next"}, {"pictures/b", "next"}, {"c", "next"}}), "");
    EXPECT_EQ(get("out/a") + get("out/pictures/b") + get("out/c"), "nextnextnext");
    EXPECT_EQ(get("out/note.txt") + get("out/mine/deep.txt"), "minemine");
    EXPECT_EQ(entries("out"), 6u) << "a, c, pictures, the list, a note, a folder";
    EXPECT_EQ(entries(), 1u);
    fs::current_path("/");
  }
  EXPECT_GT(whole, 40);
}

TEST_F(OutputFolderTest, DiscardRemovesAnUnfinishedWrite) {
  auto folder = OutputFolder::begin((root / "way/out").string(), kPreview);
  ASSERT_TRUE(folder);
  EXPECT_FALSE(folder->write("result.json", "new"));
  EXPECT_FALSE(OutputFolder::discard_unfinished());
  EXPECT_EQ(entries(), 0u);
}

TEST_F(OutputFolderTest, DiscardLeavesAResultThatStands) {
  ASSERT_EQ(write("out", kFresh), "");
  EXPECT_TRUE(OutputFolder::discard_unfinished());
  EXPECT_EQ(get("out/result.json"), "new");
}
