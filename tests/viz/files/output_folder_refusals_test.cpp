// What the program did not write, or somebody changed, is never lost.
#include "tests/viz/files/output_folder_fixture.hpp"
#include "viz/files/manifest.hpp"

#include <sys/wait.h>

using namespace snagmap;
using namespace snagmap::output_folder;

// Whatever bears the name of a result's file proves nothing.
TEST_F(OutputFolderTest, AFolderThatHoldsNoResultIsLeftAlone) {
  put("photos/a.jpg", "mine");
  const std::string place = (root / "photos").string();
  const auto folder = OutputFolder::begin(place, kPreview);
  ASSERT_FALSE(folder);
  EXPECT_EQ(to_text(folder.faults().front()),
            place + ": is a folder that holds no result; it is left alone\n  name another folder with --out");
  for (const char* name : {"result.json", "compare.json", "narrowest.csv", kManifestName}) {
    put("photos/" + std::string(name), "{\"files\": []}");
    EXPECT_EQ(write("photos", kOld), "is a folder that holds no result; it is left alone") << name;
    EXPECT_EQ(get("photos/" + std::string(name)), "{\"files\": []}");
    fs::remove(root / "photos" / name);
  }
  EXPECT_EQ(get("photos/a.jpg"), "mine");
  EXPECT_EQ(entries(), 1u);
}

TEST_F(OutputFolderTest, AFileIsLeftAlone) {
  put("out", "mine");
  EXPECT_EQ(write("out", kOld), "is a file; a result is a folder");
  EXPECT_EQ(get("out"), "mine");
  EXPECT_EQ(entries(), 1u);
}

TEST_F(OutputFolderTest, WhatWasChangedByHandIsRefusedBeforeTheWork) {
  ASSERT_EQ(write("out", kOld), "");
  put("out/result.json", "OLD"); // as long as before
  const auto folder = OutputFolder::begin((root / "out").string(), kPreview);
  ASSERT_FALSE(folder);
  EXPECT_EQ(folder.faults().front().what,
            "was changed since snagmap wrote it, and is left alone: result.json");
  EXPECT_EQ(get("out/result.json") + get("out/gone.csv"), "OLDold");
  fs::rename(root / "out/result.json", root / "out/mine.json"); // the way out that is named
  ASSERT_EQ(write("out", kFresh), "");
  EXPECT_EQ(get("out/result.json") + get("out/mine.json"), "newOLD");
}

TEST_F(OutputFolderTest, ALinkInThePlaceOfAFileIsNoFileOfOurs) {
  ASSERT_EQ(write("out", kOld), "");
  fs::rename(root / "out/result.json", root / "kept.json");
  fs::create_symlink("../kept.json", root / "out/result.json");
  EXPECT_EQ(write("out", kFresh), "was changed since snagmap wrote it, and is left alone: result.json");
  EXPECT_EQ(get("kept.json"), "old");
}

TEST_F(OutputFolderTest, AForgedListReachesNothingOutside) {
  put("mine.txt", "abc");
  fs::create_directory(root / "out");
  put("out/" + std::string(kManifestName),
      "{\"written_by\": \"snagmap\", \"command\": \"preview\", \"files\": [{\"name\": \"../mine.txt\", "
      "\"bytes\": 3, \"sha256\": \"" +
          sum_by_coreutils(root / "mine.txt") + "\"}]}");
  EXPECT_EQ(write("out", kFresh), "is a folder that holds no result; it is left alone");
  EXPECT_EQ(get("mine.txt"), "abc");
}

TEST_F(OutputFolderTest, AQuickResultNeverReplacesAFullOne) {
  ASSERT_EQ(write("out", kOld, kQuick), "");
  ASSERT_EQ(write("out", kFresh, kQuick), "");
  ASSERT_EQ(write("out", kOld), "") << "a full one replaces a quick one";
  EXPECT_EQ(write("out", kFresh, kQuick),
            "holds the result of `snagmap preview`, which `snagmap preview --quick` does not replace");
  EXPECT_EQ(get("out/result.json"), "old");
}

TEST_F(OutputFolderTest, AFolderMadeMeanwhileIsNotOverwritten) {
  for (const OutputKind& kind : {kPreview, kNew}) {
    fs::remove_all(root / "piece");
    fs::remove_all(root / "piece-2");
    auto folder = OutputFolder::begin((root / "piece").string(), kind);
    ASSERT_TRUE(folder);
    EXPECT_FALSE(folder->write("readings.csv", "empty"));
    put("piece/readings.csv", "an hour of measuring");
    const auto fault = folder->commit();
    ASSERT_TRUE(fault);
    EXPECT_NE(fault->what.find("the new result stands in " + (root / "piece-2").string()), std::string::npos)
        << fault->what;
    EXPECT_EQ(get("piece/readings.csv"), "an hour of measuring");
    EXPECT_EQ(get("piece-2/readings.csv"), "empty");
    EXPECT_EQ(entries(), 2u);
  }
}

TEST_F(OutputFolderTest, AFileChangedMeanwhileIsNotOverwritten) {
  for (const bool inside : {false, true}) {
    fs::remove_all(root / "out");
    fs::remove_all(root / "out-2");
    ASSERT_EQ(write("out", kOld), "");
    if (inside)
      fs::current_path(root / "out");
    auto folder = OutputFolder::begin((root / "out").string(), kPreview);
    ASSERT_TRUE(folder);
    EXPECT_FALSE(folder->write("result.json", "new"));
    EXPECT_FALSE(folder->write("notes.txt", "new"));
    put("out/notes.txt", "mine");
    EXPECT_TRUE(folder->commit());
    EXPECT_EQ(get("out/result.json") + get("out/notes.txt"), "oldmine");
    EXPECT_EQ(get("out-2/result.json") + get("out-2/notes.txt"), "newnew");
    fs::current_path("/");
  }
}

TEST_F(OutputFolderTest, FilesAreAddedBesideWhateverIsThere) {
  put("sweep/shard.csv", "1");
  put("sweep/mine.txt", "mine");
  ASSERT_EQ(write("sweep", {{"table.csv", "1"}}, kAdd), "");
  ASSERT_EQ(write("sweep", {{"table.csv", "2"}, {"chart.svg", "2"}}, kAdd), "");
  ASSERT_EQ(write("sweep", {{"table.csv", "3"}}, kAdd), "");
  EXPECT_EQ(get("sweep/table.csv") + get("sweep/chart.svg") + get("sweep/mine.txt"), "32mine");
  put("sweep/table.csv", "by hand");
  EXPECT_EQ(write("sweep", {{"table.csv", "4"}}, kAdd),
            "holds a file of the same name that is not snagmap's: table.csv");
  EXPECT_EQ(get("sweep/table.csv"), "by hand");
  EXPECT_EQ(entries("sweep"), 5u);
}

TEST_F(OutputFolderTest, AReadOnlyFolderIsNamedAsSuch) {
  ASSERT_EQ(write("out", kOld), "");
  const pid_t child = fork();
  if (child == 0) { // root may write everywhere
    if (geteuid() == 0 && (chown(root.c_str(), 1234, 1234) != 0 || setuid(1234) != 0))
      _exit(9);
    chmod((root / "out").c_str(), 0555);
    const std::string first = write("out", kFresh);
    chmod(root.c_str(), 0555);
    const std::string second = write("other", kFresh);
    chmod(root.c_str(), 0755);
    _exit(first == "cannot be written: Permission denied" && second == first ? 0 : 1);
  }
  int status = 0;
  ASSERT_EQ(waitpid(child, &status, 0), child);
  EXPECT_EQ(WEXITSTATUS(status), 0);
  EXPECT_EQ(get("out/result.json"), "old");
}
