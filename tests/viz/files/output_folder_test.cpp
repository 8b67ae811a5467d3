// A result folder appears whole or not at all.
#include "viz/files/output_folder.hpp"

#include <csignal>
#include <fstream>
#include <gtest/gtest.h>
#include <sstream>
#include <sys/wait.h>
#include <unistd.h>

using namespace snagmap;
namespace fs = std::filesystem;

namespace {

class OutputFolderTest : public testing::Test {
protected:
  void SetUp() override {
    root = fs::path(testing::TempDir()) / ("output_folder_" + std::to_string(getpid()));
    fs::remove_all(root);
    fs::create_directories(root);
  }
  void TearDown() override { fs::remove_all(root); }
  void put(const std::string& name, const std::string& text) const {
    fs::create_directories((root / name).parent_path());
    std::ofstream(root / name) << text;
  }
  std::string get(const std::string& name) const {
    std::ifstream in(root / name);
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
  }
  std::size_t entries() const {
    return static_cast<std::size_t>(std::distance(fs::directory_iterator(root), fs::directory_iterator()));
  }
  fs::path root;
};

} // namespace

TEST_F(OutputFolderTest, NothingStandsInThePlaceBeforeCommitAndAllOfItAfter) {
  auto folder = OutputFolder::begin((root / "out").string());
  ASSERT_TRUE(folder);
  EXPECT_FALSE(folder->write("result.json", "new"));
  EXPECT_FALSE(fs::exists(root / "out"));
  EXPECT_FALSE(folder->commit());
  EXPECT_EQ(get("out/result.json"), "new");
  EXPECT_EQ(entries(), 1u);
}

TEST_F(OutputFolderTest, CommitReplacesAnOldResultWholeWithNoFileOfItLeft) {
  put("out/result.json", "old");
  put("out/pictures/old.png", "old");
  auto folder = OutputFolder::begin((root / "out/").string()); // a slash at the end is the same place
  ASSERT_TRUE(folder);
  EXPECT_FALSE(folder->write("result.json", "new"));
  EXPECT_FALSE(folder->commit());
  EXPECT_EQ(get("out/result.json"), "new");
  EXPECT_FALSE(fs::exists(root / "out/pictures"));
  EXPECT_EQ(entries(), 1u);
}

TEST_F(OutputFolderTest, WithoutCommitTheOldResultStays) {
  put("out/result.json", "old");
  {
    auto folder = OutputFolder::begin((root / "out").string());
    ASSERT_TRUE(folder);
    EXPECT_FALSE(folder->write("result.json", "new"));
  }
  EXPECT_EQ(get("out/result.json"), "old");
  EXPECT_EQ(entries(), 1u);
}

TEST_F(OutputFolderTest, AFolderThatHoldsNoResultIsLeftAlone) {
  put("photos/a.jpg", "mine");
  const std::string place = (root / "photos").string();
  const auto folder = OutputFolder::begin(place);
  ASSERT_FALSE(folder);
  EXPECT_EQ(to_text(folder.faults().front()),
            place + ": is a folder that holds no result; it is left alone\n  name another folder with --out");
  EXPECT_EQ(get("photos/a.jpg"), "mine");
}

TEST_F(OutputFolderTest, AFileIsLeftAlone) {
  put("out", "mine");
  const std::string place = (root / "out").string();
  const auto folder = OutputFolder::begin(place);
  ASSERT_FALSE(folder);
  EXPECT_EQ(to_text(folder.faults().front()),
            place + ": is a file; a result is a folder\n  name another folder with --out");
  EXPECT_EQ(get("out"), "mine");
}

TEST_F(OutputFolderTest, AKilledWriteLeavesTheOldResultAndTheNextOneClearsItsRemains) {
  put("out/result.json", "old");
  const pid_t child = fork();
  if (child == 0) {
    auto folder = OutputFolder::begin((root / "out").string());
    if (folder)
      folder->write("result.json", "new");
    raise(SIGKILL);
  }
  int status = 0;
  ASSERT_EQ(waitpid(child, &status, 0), child);
  ASSERT_TRUE(WIFSIGNALED(status));
  EXPECT_EQ(get("out/result.json"), "old");
  EXPECT_EQ(entries(), 2u); // the old result and the killed write's remains
  auto folder = OutputFolder::begin((root / "out").string());
  ASSERT_TRUE(folder);
  EXPECT_FALSE(folder->write("result.json", "newer"));
  EXPECT_FALSE(folder->commit());
  EXPECT_EQ(get("out/result.json"), "newer");
  EXPECT_EQ(entries(), 1u);
}

TEST_F(OutputFolderTest, DiscardRemovesAnUnfinishedWrite) {
  auto folder = OutputFolder::begin((root / "out").string());
  ASSERT_TRUE(folder);
  EXPECT_FALSE(folder->write("result.json", "new"));
  OutputFolder::discard_unfinished();
  EXPECT_EQ(entries(), 0u);
}
