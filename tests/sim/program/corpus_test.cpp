// Replays the fuzzer's corpus, and every bad program, against the promises that hold for any bytes.
#include "tests/fuzz/program_check.hpp"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <iterator>

TEST(ProgramCorpus, KeepsEveryPromise) {
  int files = 0;
  for (const auto& entry : std::filesystem::directory_iterator(SNAGMAP_ROOT "/tests/fuzz/corpus/program")) {
    std::ifstream in(entry.path(), std::ios::binary);
    const std::string text{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
    EXPECT_EQ(snagmap::broken_promise(text), "") << entry.path();
    ++files;
  }
  EXPECT_GE(files, 40);
}

// A refused line before a cycle must not let it run unchecked: 9999 repeats of 100000 pecks.
TEST(ProgramCorpus, RepeatsAfterAFaultEndSoon) {
  EXPECT_EQ(
      snagmap::broken_promise("F1\nM77\nG83 X1 Z-999 R0 Q0.01 L9999\nG91 G83 X1 Z-999 R0 Q0.01 L9999\nM30\n"),
      "");
}
