// Replays the fuzzer's tiny jobs against the promises that hold for any bytes.
#include "tests/fuzz/preview_check.hpp"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <iterator>

TEST(PreviewCorpus, KeepsEveryPromise) {
  int files = 0;
  for (const auto& entry : std::filesystem::directory_iterator(SNAGMAP_ROOT "/tests/fuzz/corpus/preview")) {
    std::ifstream in(entry.path(), std::ios::binary);
    const std::string job{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
    EXPECT_EQ(snagmap::broken_preview(job), "") << entry.path();
    ++files;
  }
  EXPECT_GE(files, 10);
}
