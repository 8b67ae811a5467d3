// A folder of the test's own in which results are written.
#pragma once

#include "viz/files/output_folder.hpp"

#include <cstdio>
#include <fstream>
#include <gtest/gtest.h>
#include <sstream>
#include <sys/stat.h>
#include <unistd.h>
#include <utility>
#include <vector>

namespace snagmap::output_folder {

namespace fs = std::filesystem;

inline const OutputKind kPreview{"preview", {"preview --quick"}}, kQuick{"preview --quick"},
    kNew{"coupon", {}, OutputKind::Old::never}, kAdd{"sweep", {}, OutputKind::Old::add};

using Files = std::vector<std::pair<std::string, std::string>>;

class OutputFolderTest : public testing::Test {
protected:
  void SetUp() override {
    root = fs::path(testing::TempDir()) / ("output_folder_" + std::to_string(getpid()));
    fs::remove_all(root);
    fs::create_directories(root);
    root = fs::canonical(root);
  }
  void TearDown() override {
    fs::current_path("/");
    fs::remove_all(root);
  }
  void put(const std::string& name, const std::string& text) const {
    fs::create_directories((root / name).parent_path());
    std::ofstream(root / name) << text;
  }
  std::string get(const std::string& name) const {
    std::ifstream in(root / name);
    std::ostringstream text;
    text << in.rdbuf();
    return in ? text.str() : "(none)";
  }
  std::size_t entries(const std::string& below = "") const {
    return static_cast<std::size_t>(
        std::distance(fs::directory_iterator(root / below), fs::directory_iterator()));
  }
  /// Writes a result; the fault's words, or "".
  std::string write(const std::string& place, const Files& files, const OutputKind& kind = kPreview) const {
    auto folder =
        OutputFolder::begin(place.empty() || place[0] != '/' ? (root / place).string() : place, kind);
    if (!folder)
      return folder.faults().front().what;
    fs::create_directories(folder->path() / "pictures");
    for (const auto& [name, text] : files)
      if (const auto fault = folder->write(name, text))
        return fault->what;
    const auto fault = folder->commit();
    return fault ? fault->what : "";
  }
  fs::path root;
};

inline std::string sum_by_coreutils(const fs::path& file) {
  std::FILE* out = popen(("sha256sum '" + file.string() + "'").c_str(), "r");
  char words[65] = {};
  const std::size_t got = out ? std::fread(words, 1, 64, out) : 0;
  if (out)
    pclose(out);
  return std::string(words, got);
}

inline ino_t inode(const fs::path& file) {
  struct stat about = {};
  return lstat(file.c_str(), &about) == 0 ? about.st_ino : 0;
}
inline unsigned mode(const fs::path& file) {
  struct stat about = {};
  return lstat(file.c_str(), &about) == 0 ? about.st_mode & 07777u : 0;
}

inline const Files kOld{{"result.json", "old"}, {"pictures/sheet.png", "old"}, {"gone.csv", "old"}};
inline const Files kFresh{{"result.json", "new"}, {"pictures/sheet.png", "new"}, {"more.csv", "new"}};

} // namespace snagmap::output_folder
