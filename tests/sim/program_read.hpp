// Reading a few lines in a test, and asking for what came of them.
#pragma once

#include "sim/program/program.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <string>
#include <vector>

namespace snagmap {

inline std::string told(const Outcome<Path>& path) {
  return path ? "" : to_text(path.faults().front());
}
inline Path read(const std::string& lines, ProgramOptions options = {}) {
  const auto path = parse_program(lines + "\nM30\n", "t.nc", options);
  EXPECT_TRUE(path) << told(path);
  return path ? *path : Path{};
}
inline ProgramOptions at_origin() {
  ProgramOptions options;
  options.start_mm = {0, 0, 0};
  return options;
}
/// The last place when the program ends.
inline Vec3 last(const std::string& lines, const ProgramOptions& options = at_origin()) {
  const Path path = read(lines, options);
  return path.moves.empty() ? options.start_mm : path.moves.back().to;
}
inline void expect_at(Vec3 p, double x, double y, double z) {
  EXPECT_NEAR(p.x, x, 1e-12);
  EXPECT_NEAR(p.y, y, 1e-12);
  EXPECT_NEAR(p.z, z, 1e-12);
}
/// Whether the reader remarked on this, with the word among its words.
inline bool notes(const Path& path, RemarkKind about, const std::string& word = "") {
  return std::any_of(path.notes.begin(), path.notes.end(), [&](const note::Remark& one) {
    return one.about == about &&
           (word.empty() || std::find(one.words.begin(), one.words.end(), word) != one.words.end());
  });
}
inline bool notes(const Path& path, RemarkKind about, Vec3 place_mm) {
  return std::any_of(path.notes.begin(), path.notes.end(), [&](const note::Remark& one) {
    return one.about == about && one.place_mm && norm(*one.place_mm - place_mm) < 1e-9;
  });
}
inline std::vector<double> bottoms(const Path& path) { // heights at the end of each feed move down
  std::vector<double> heights;
  for (const Move& move : path.moves)
    if (move.kind == MoveKind::line && move.to.z < move.from.z)
      heights.push_back(move.to.z);
  return heights;
}

} // namespace snagmap
