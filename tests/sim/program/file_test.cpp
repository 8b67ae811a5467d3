// Reading from files in pieces: the same as from memory, bounded, and refused when it cannot fit.
#include "sim/program/program.hpp"

#include <gtest/gtest.h>

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <random>

using namespace snagmap;

namespace {

class ProgramFile : public ::testing::Test {
protected:
  std::string write(const std::string& text) {
    const std::string name = ::testing::UnitTest::GetInstance()->current_test_info()->name();
    file_ = (std::filesystem::path(::testing::TempDir()) / (name + ".nc")).string();
    std::ofstream(file_, std::ios::binary) << text;
    return file_;
  }
  void TearDown() override { std::filesystem::remove(file_); }
  std::string file_;
};

std::string long_program(int lines, unsigned seed) {
  std::mt19937 random(seed);
  std::string text = "F1000 S1 M3\n";
  char line[128];
  for (int i = 0; i < lines; ++i) {
    // Lines of many lengths, so that the pieces end everywhere.
    std::snprintf(line, sizeof line, "%.*sG1 X%.4f Y%.*f%s\n", static_cast<int>(random() % 20),
                  "                    ", static_cast<double>(random() % 100000) / 1e2,
                  static_cast<int>(random() % 9), static_cast<double>(random() % 100000) / 1e3,
                  random() % 3 ? "" : " (a comment)\r");
    text += line;
  }
  return text + "M30\n";
}

} // namespace

TEST_F(ProgramFile, InPiecesReadsAsFromMemory) {
  for (const unsigned seed : {1u, 2u, 3u}) {
    const std::string text = long_program(40000, seed);
    const auto whole = parse_program(text, "t.nc", {}), pieces = read_program(write(text), {});
    ASSERT_TRUE(whole);
    ASSERT_TRUE(pieces);
    ASSERT_EQ(whole->moves.size(), pieces->moves.size());
    for (std::size_t i = 0; i < whole->moves.size(); ++i) {
      ASSERT_EQ(whole->moves[i].to.x, pieces->moves[i].to.x) << i;
      ASSERT_EQ(whole->moves[i].to.y, pieces->moves[i].to.y) << i;
      ASSERT_EQ(whole->moves[i].line, pieces->moves[i].line) << i;
    }
  }
}

TEST_F(ProgramFile, LastLineNeedsNoNewline) {
  const auto path = read_program(write("G0 X1\nM30"), {});
  ASSERT_TRUE(path) << to_text(path.faults().front());
  EXPECT_EQ(path->moves.size(), 1u);
}

TEST_F(ProgramFile, FaultNamesTheFileAndTheLine) {
  const auto path = read_program(write(long_program(30000, 9).insert(12, "G0 X1 X2\n")), {});
  ASSERT_FALSE(path);
  EXPECT_EQ(path.faults().front().file, file_);
  EXPECT_EQ(path.faults().front().line, 2);
  EXPECT_EQ(path.faults().front().column, 7);
}

TEST_F(ProgramFile, EndlessLineIsOneFault) {
  const auto path = read_program(write("G0 X1" + std::string(5'000'000, '0') + "\nG0 X2\nM30\n"), {});
  ASSERT_FALSE(path);
  ASSERT_EQ(path.faults().size(), 1u);
  EXPECT_EQ(path.faults().front().line, 1);
  EXPECT_LE(path.faults().front().excerpt.size(), 256u);
}

TEST_F(ProgramFile, ThatWouldNotFitIsRefusedWithTheEstimate) {
  ProgramOptions options;
  // Refused after a first part of the file, and when the room is used up before that.
  for (const std::size_t limit : {6'000'000, 1'000'000}) {
    options.path_limit_bytes = limit;
    const std::string text = long_program(100000, 4);
    const auto path = read_program(write(text), options);
    ASSERT_FALSE(path);
    const std::string& what = path.faults().front().what;
    // 100000 moves of sizeof(Move) bytes, estimated from the first part of the file, with 2 % on top.
    double megabytes = 0, moves = 0;
    ASSERT_EQ(std::sscanf(what.c_str(), "the path would take about %lf MB (%lf moves)", &megabytes, &moves),
              2)
        << what;
    EXPECT_NEAR(moves, 1.02 * 100000, 2000);
    EXPECT_NEAR(megabytes, 1.02 * 100000 * sizeof(Move) / 1e6, 0.5);
  }
}

TEST_F(ProgramFile, ThatGrowsByRepeatsIsRefusedToo) {
  ProgramOptions options;
  options.path_limit_bytes = 1'000'000;
  const auto path = read_program(write("F100\nG91 G81 X1 R-1 Z-1 L9999\nM30\n"), options);
  ASSERT_FALSE(path);
  EXPECT_NE(path.faults().front().what.find("more than the 1 MB allowed"), std::string::npos);
}

// 96 bytes a move, and a sixteenth of room left by the estimate.
TEST_F(ProgramFile, PathTakesAtMost102BytesAMove) {
  for (const int lines : {10, 1000, 60000}) { // the last is over the first part read before room is made
    const auto path = read_program(write(long_program(lines, 5)), {});
    ASSERT_TRUE(path);
    ASSERT_GE(path->moves.size(), static_cast<std::size_t>(lines));
    EXPECT_LE(path->moves.capacity() * sizeof(Move), 102 * path->moves.size()) << lines;
  }
}

TEST(ProgramFileMissing, IsOneFaultWithTheReason) {
  const auto path = read_program("/no/such/place.nc", {});
  ASSERT_FALSE(path);
  EXPECT_EQ(to_text(path.faults().front()),
            "/no/such/place.nc: no such file\n  check the name of the program file");
  EXPECT_FALSE(read_program("/", {}));
}
