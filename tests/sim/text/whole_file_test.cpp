// Files are written whole or not at all.
#include "sim/text/whole_file.hpp"

#include <filesystem>
#include <fstream>
#include <gtest/gtest.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

using namespace snagmap;
namespace fs = std::filesystem;

namespace {

class WholeFile : public testing::Test {
protected:
  void SetUp() override {
    root = fs::path(testing::TempDir()) / ("whole_file_" + std::to_string(getpid()));
    fs::remove_all(root);
    fs::create_directories(root);
  }
  void TearDown() override { fs::remove_all(root); }
  std::string at(const char* name) const { return (root / name).string(); }
  std::string get(const char* name) const {
    const auto text = read_whole_file(at(name));
    return text ? *text : "(" + text.faults().front().what + ")";
  }
  std::size_t entries() const {
    return static_cast<std::size_t>(std::distance(fs::directory_iterator(root), fs::directory_iterator()));
  }
  fs::path root;
};

} // namespace

TEST_F(WholeFile, EveryByteComesBack) {
  std::string bytes;
  for (int i = 0; i < 100000; ++i)
    bytes += static_cast<char>(i * 7);
  EXPECT_FALSE(write_whole_file(at("a"), bytes));
  EXPECT_EQ(get("a"), bytes);
  EXPECT_EQ(entries(), 1u);
  EXPECT_EQ(get("none"), "(no such file)");
  EXPECT_EQ(get("."), "(is a folder)");
}

TEST_F(WholeFile, AnExistingFileIsKeptWhenAskedFor) {
  EXPECT_FALSE(write_whole_file(at("a"), "mine", Existing::kept));
  const auto fault = write_whole_file(at("a"), "yours", Existing::kept);
  ASSERT_TRUE(fault);
  EXPECT_EQ(fault->what, "already exists and is not overwritten");
  fs::create_symlink(root / "nowhere", root / "link");
  EXPECT_TRUE(write_whole_file(at("link"), "yours", Existing::kept));
  EXPECT_FALSE(fs::exists(root / "nowhere"));
  EXPECT_EQ(get("a"), "mine");
  EXPECT_EQ(entries(), 2u);
}

TEST_F(WholeFile, PermissionsAndLinksOfAReplacedFileStay) {
  EXPECT_FALSE(write_whole_file(at("a"), "old"));
  ASSERT_EQ(chmod(at("a").c_str(), 0640), 0);
  fs::create_symlink("a", root / "link");
  EXPECT_FALSE(write_whole_file(at("link"), "new"));
  EXPECT_TRUE(fs::is_symlink(root / "link"));
  EXPECT_EQ(get("a"), "new");
  struct stat about = {};
  ASSERT_EQ(stat(at("a").c_str(), &about), 0);
  EXPECT_EQ(about.st_mode & 07777, 0640u);
  const mode_t before = umask(027);
  EXPECT_FALSE(write_whole_file(at("b"), "new"));
  umask(before);
  ASSERT_EQ(stat(at("b").c_str(), &about), 0);
  EXPECT_EQ(about.st_mode & 07777, 0640u) << "0666 less the umask 027 (POSIX)";
}

// A limit on the size of a file stands for a full disk: the write fails in the middle.
TEST_F(WholeFile, AWriteThatFailsLeavesTheOldFileAndNothingBeside) {
  EXPECT_FALSE(write_whole_file(at("a"), "old"));
  const pid_t child = fork();
  if (child == 0) {
    signal(SIGXFSZ, SIG_IGN);
    const rlimit small{1000, 1000};
    setrlimit(RLIMIT_FSIZE, &small);
    _exit(write_whole_file(at("a"), std::string(5000, 'x')) ? 7 : 0);
  }
  int status = 0;
  ASSERT_EQ(waitpid(child, &status, 0), child);
  EXPECT_EQ(WEXITSTATUS(status), 7);
  EXPECT_EQ(get("a"), "old");
  EXPECT_EQ(entries(), 1u);
}
