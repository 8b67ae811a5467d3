// Small jobs with one planted cause each.
#pragma once

#include "sim/advice/advice.hpp"
#include "sim/program/program.hpp"
#include "tests/find_cutter.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <map>
#include <string>
#include <vector>

namespace snagmap::advice_jobs {

inline Scene sheet_of(double x_mm, double y_mm, const std::string& cutter) {
  Scene scene;
  scene.sheet = {{0, 0, -40}, {x_mm, y_mm, 0}};
  scene.sheet_given = scene.thickness_given = true;
  scene.layers = {{*find_foam("pu-22"), 40}};
  scene.cutters = {*snagmap::testing::find_cutter(cutter)};
  scene.machine = machine_cards().front();
  scene.voxel_mm = 1;
  return scene;
}

inline Path path_of(const std::string& nc, std::map<int, int> tools = {}) {
  ProgramOptions options;
  options.tool_index = std::move(tools);
  const Outcome<Path> path = parse_program(nc, "job.nc", options);
  EXPECT_TRUE(path) << to_text(path.faults().front());
  return *path;
}

/// A pocket's wall round by one loop a pass, short enough that no strand is long.
inline std::string pocket(double x0, double y0, double x1, double y1, const std::vector<double>& levels) {
  std::string nc;
  for (const double z : levels)
    nc += fmt::format("G0 X{} Y{}\nG1 Z{} F1500\nG1 X{} F3000\nG1 Y{}\nG1 X{}\nG1 Y{}\nG0 Z5\n", x0, y0, -z,
                      x1, y1, x0, y0);
  return nc;
}

constexpr const char* kHead = "G21 G90 G17\nM3 S18000\nG0 Z5\n";

inline PreviewOptions plainly() {
  PreviewOptions options;
  options.verify = SolveChoice::none();
  return options;
}

inline Preview run(const Scene& scene, const Path& path) {
  Outcome<Preview> found = preview_path(scene, path, plainly());
  EXPECT_TRUE(found) << to_text(found.faults().front());
  return std::move(*found);
}

/// Two pockets with a wall of `web_mm` between them, 20 mm deep.
inline std::string thin_wall(double web_mm, double to_y_mm = 44) {
  const std::vector<double> levels{5, 10, 15, 20};
  return kHead + pocket(29, 20, 35, to_y_mm, levels) +
         pocket(35 + 6.35 + web_mm, 20, 41 + 6.35 + web_mm, to_y_mm, levels) + "M5\nM30\n";
}

inline void expect_top(const AdviceList& list, LeverKind kind) {
  ASSERT_FALSE(list.ranked.empty());
  EXPECT_STREQ(to_text(kind_of(list.ranked.front().lever)), to_text(kind));
}

} // namespace snagmap::advice_jobs
