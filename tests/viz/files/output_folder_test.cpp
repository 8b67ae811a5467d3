// A result folder appears whole or not at all, and what stands in its place is kept as it was.
#include "tests/viz/files/output_folder_fixture.hpp"
#include "viz/files/manifest.hpp"

#include <sys/mount.h>

using namespace snagmap;
using namespace snagmap::output_folder;

TEST_F(OutputFolderTest, NothingStandsInThePlaceBeforeCommitAndAllOfItAfter) {
  {
    auto folder = OutputFolder::begin((root / "out").string(), kPreview);
    ASSERT_TRUE(folder);
    EXPECT_FALSE(folder->write("result.json", "new"));
    EXPECT_FALSE(fs::exists(root / "out"));
    EXPECT_FALSE(folder->commit());
  }
  EXPECT_EQ(get("out/result.json"), "new");
  EXPECT_EQ(entries(), 1u);
  EXPECT_EQ(entries("out"), 2u) << "the file and the list of files";
}

TEST_F(OutputFolderTest, TheListNamesEveryFileWithItsSizeAndChecksum) {
  ASSERT_EQ(write("out", {{"a.txt", "abc"}, {"pictures/b.png", std::string(300000, 'b')}}), "");
  const auto list = read_manifest(root / "out");
  ASSERT_TRUE(list);
  EXPECT_EQ(list->command, "preview");
  ASSERT_EQ(list->files.size(), 2u);
  EXPECT_EQ(list->files.at("a.txt").bytes, 3u);
  // FIPS 180-4's own example for "abc", from memory, and GNU coreutils' sha256sum for both.
  EXPECT_EQ(list->files.at("a.txt").sha256,
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  for (const auto& [name, file] : list->files)
    EXPECT_EQ(file.sha256, sum_by_coreutils(root / "out" / name)) << name;
}

TEST_F(OutputFolderTest, AnOldResultIsReplacedWholeAndWhatIsNotOursStays) {
  ASSERT_EQ(write("out", kOld), "");
  put("out/note.txt", "mine");
  put("out/photos/a/b.jpg", "mine");
  put("out/pictures/mine.png", "mine");
  fs::create_directory(root / "out/empty");
  fs::create_symlink("note.txt", root / "out/link");
  fs::create_hard_link(root / "out/note.txt", root / "elsewhere");
  const ino_t note = inode(root / "out/note.txt");
  ASSERT_EQ(write("out/", kFresh), ""); // a slash at the end is the same place
  EXPECT_EQ(get("out/result.json"), "new");
  EXPECT_EQ(get("out/pictures/sheet.png"), "new");
  EXPECT_EQ(get("out/more.csv"), "new");
  EXPECT_FALSE(fs::exists(root / "out/gone.csv"));
  EXPECT_EQ(get("out/note.txt"), "mine");
  EXPECT_EQ(inode(root / "out/note.txt"), note);
  EXPECT_EQ(get("out/photos/a/b.jpg"), "mine");
  EXPECT_EQ(get("out/pictures/mine.png"), "mine");
  EXPECT_TRUE(fs::is_directory(root / "out/empty"));
  EXPECT_TRUE(fs::is_symlink(root / "out/link"));
  EXPECT_EQ(entries(), 2u) << "the result and the hard link";
}

// A shell that stands in the folder, or a mount on it, must not find itself in a folder that is gone.
TEST_F(OutputFolderTest, TheCurrentFolderStaysTheSameFolder) {
  fs::create_directory(root / "out");
  fs::current_path(root / "out");
  const ino_t before = inode(root / "out");
  ASSERT_EQ(write((root / "out").string(), kOld), "");
  put("out/pictures/mine.png", "mine");
  ASSERT_EQ(write(fs::current_path().string() + "/.", kFresh), "");
  EXPECT_EQ(inode(root / "out"), before);
  EXPECT_EQ(get("out/result.json"), "new");
  EXPECT_EQ(get("out/pictures/sheet.png"), "new");
  EXPECT_EQ(get("out/pictures/mine.png"), "mine");
  EXPECT_FALSE(fs::exists(root / "out/gone.csv"));
  EXPECT_EQ(entries("out"), 4u) << "two files, pictures, the list";
  EXPECT_EQ(entries(), 1u);
}

TEST_F(OutputFolderTest, AMountPointIsWrittenInto) {
  fs::create_directory(root / "out");
  if (mount("none", (root / "out").c_str(), "tmpfs", 0, "size=1m") != 0)
    GTEST_SKIP() << "no right to mount";
  EXPECT_EQ(write("out", kOld), "");
  put("out/note.txt", "mine");
  EXPECT_EQ(write("out", kFresh), "");
  EXPECT_EQ(get("out/result.json") + get("out/note.txt"), "newmine");
  EXPECT_EQ(entries("out"), 5u);
  EXPECT_EQ(entries(), 1u);
  umount((root / "out").c_str());
}

TEST_F(OutputFolderTest, ALinkToAFolderIsFollowedAndOneToNowhereRefused) {
  fs::create_directory(root / "disk");
  fs::create_directory_symlink("disk", root / "out");
  ASSERT_EQ(write("out", kOld), "");
  ASSERT_EQ(write("out", kFresh), "");
  EXPECT_TRUE(fs::is_symlink(root / "out"));
  EXPECT_EQ(get("disk/result.json"), "new");
  fs::create_directory_symlink("nowhere", root / "lost");
  EXPECT_EQ(write("lost", kOld), "is a link that leads nowhere");
  EXPECT_FALSE(fs::exists(root / "nowhere"));
  EXPECT_EQ(entries(), 3u);
}

TEST_F(OutputFolderTest, PermissionsStay) {
  fs::create_directory(root / "out");
  ASSERT_EQ(chmod((root / "out").c_str(), 0700), 0);
  ASSERT_EQ(write("out", kOld), "");
  EXPECT_EQ(mode(root / "out"), 0700u);
  ASSERT_EQ(chmod((root / "out/result.json").c_str(), 0600), 0);
  ASSERT_EQ(write("out", kFresh), "");
  EXPECT_EQ(mode(root / "out"), 0700u);
  EXPECT_EQ(mode(root / "out/result.json"), 0600u);
  const mode_t before = umask(027);
  ASSERT_EQ(write("other", kOld), "");
  umask(before);
  EXPECT_EQ(mode(root / "other"), 0750u) << "0777 less the umask 027 (POSIX)";
}

TEST_F(OutputFolderTest, AnotherUsersFolderStaysTheirs) {
  if (geteuid() != 0)
    GTEST_SKIP() << "only root can give a folder away";
  ASSERT_EQ(write("out", kOld), "");
  ASSERT_EQ(chown((root / "out").c_str(), 1234, 1234), 0);
  const ino_t before = inode(root / "out");
  ASSERT_EQ(write("out", kFresh), "");
  EXPECT_EQ(inode(root / "out"), before);
  EXPECT_EQ(get("out/result.json"), "new");
  EXPECT_EQ(entries(), 1u);
}

TEST_F(OutputFolderTest, WithoutCommitTheOldResultStays) {
  ASSERT_EQ(write("out", kOld), "");
  {
    auto folder = OutputFolder::begin((root / "out").string(), kPreview);
    ASSERT_TRUE(folder);
    EXPECT_FALSE(folder->write("result.json", "new"));
  }
  EXPECT_EQ(get("out/result.json"), "old");
  { const auto folder = OutputFolder::begin((root / "on/the/way").string(), kPreview); }
  EXPECT_EQ(entries(), 1u) << "folders on the way go too";
}
