// A comb of parallel walls as a test job: its scene, its program, and S of each wall through the whole
// pipeline.
#pragma once

#include "sim/preview/preview.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <map>
#include <string>
#include <vector>

#include <unistd.h>

namespace snagmap::comb {

constexpr double kLength_mm = 100, kDepth_mm = 25, kPocket_mm = 12, kEdge_mm = 70;

struct Job {
  std::vector<double> widths_mm;
  bool free_ends = true; ///< cross slots cut the walls free before the pockets are opened
  std::string foam = "pu-22";
  double lambda = 0; ///< in place of the card's; 0: the card's
  double flute_length_mm = 22;
  double diameter_mm = 6.35;
  double pass_mm = 6.35;
  double sample_mm = 0; ///< between the samples of the watch; 0: as usual
  double voxel_mm = 0.5;
  double turn_deg = 0; ///< the whole program turned about the sheet's middle
};

inline double left_face_mm(const Job& job, std::size_t wall) {
  double x = kEdge_mm + kPocket_mm;
  for (std::size_t i = 0; i < wall; ++i)
    x += job.widths_mm[i] + kPocket_mm;
  return x;
}

inline Scene scene_of(const Job& job) {
  Scene scene;
  const double width = left_face_mm(job, job.widths_mm.size()) + kEdge_mm;
  scene.sheet = {{0, -kEdge_mm, -50}, {width, kLength_mm + kEdge_mm, 0}};
  scene.sheet_given = scene.thickness_given = true;
  scene.layers = {{*find_foam(job.foam), 50}};
  if (Banded& lambda = scene.layers.front().foam.lambda; job.lambda > 0) {
    const double share = job.lambda / lambda.nominal;
    lambda.nominal *= share, lambda.low *= share, lambda.high *= share;
  }
  CutterCard cutter;
  cutter.diameter_mm = job.diameter_mm;
  cutter.flute_length_mm = job.flute_length_mm;
  cutter.shank_diameter_mm = job.diameter_mm;
  cutter.neck_diameter_mm = job.flute_length_mm < kDepth_mm ? 0.6 * job.diameter_mm : 0;
  cutter.neck_length_mm = cutter.neck_diameter_mm > 0 ? 40 - job.flute_length_mm : 0;
  cutter.stick_out_mm = 45;
  cutter.flutes = 2;
  scene.cutters = {cutter};
  scene.machine = machine_cards().front();
  scene.voxel_mm = job.voxel_mm;
  scene.sample_mm = job.sample_mm;
  return scene;
}

/// Pocket after pocket, each in layers to its full depth, so that each wall is freed by the pocket on its
/// right.
inline std::string program_of(const Job& job) {
  const double r = 0.5 * job.diameter_mm;
  std::string nc = "G21 G90 G17\nM3 S18000\nG0 Z5\n";
  std::vector<double> levels;
  for (double z = job.pass_mm; z < kDepth_mm - 1e-6; z += job.pass_mm)
    levels.push_back(z);
  levels.push_back(kDepth_mm);
  const double last = left_face_mm(job, job.widths_mm.size());
  if (job.free_ends)
    for (double y : {-kPocket_mm / 2, kLength_mm + kPocket_mm / 2})
      for (double z : levels) {
        nc += fmt::format("G0 X{:.4f} Y{:.4f}\nG1 Z{:.4f} F1500\n", kEdge_mm + r, y - kPocket_mm / 2 + r, -z);
        nc += fmt::format("G1 X{:.4f} F3000\nG1 Y{:.4f}\nG1 X{:.4f}\nG1 Y{:.4f}\nG0 Z5\n", last - r,
                          y + kPocket_mm / 2 - r, kEdge_mm + r, y - kPocket_mm / 2 + r);
      }
  const double y0 = job.free_ends ? -r : r, y1 = kLength_mm - y0;
  for (std::size_t pocket = 0; pocket <= job.widths_mm.size(); ++pocket) {
    const double x0 = left_face_mm(job, pocket) - kPocket_mm + r, x1 = left_face_mm(job, pocket) - r;
    for (double z : levels)
      nc += fmt::format("G0 X{:.4f} Y{:.4f}\nG1 Z{:.4f} F1500\nG1 Y{:.4f} F3000\nG1 X{:.4f}\nG1 Y{:.4f}\nG1 "
                        "X{:.4f}\nG0 Z5\n",
                        x0, y0, -z, y1, x1, y0, x0);
  }
  return nc + "M5\nM30\n";
}

inline Preview run(const Job& job) {
  Scene scene = scene_of(job);
  scene.program_file = testing::TempDir() + fmt::format("comb_{}.nc", ::getpid());
  std::ofstream(scene.program_file) << program_of(job); // by process: ctest runs several at once
  PreviewOptions options;
  options.verify = SolveChoice::none();
  Outcome<Preview> found = preview(scene, options);
  if (!found) {
    ADD_FAILURE() << to_text(found.faults().front());
    return {};
  }
  return std::move(*found);
}

/// Greatest S of each wall in the last pass, load in the middle `share` of its length.
inline std::vector<double> s_of_walls(const Job& job, const Preview& found, double share = 0.5) {
  std::vector<double> s(job.widths_mm.size(), 0);
  for (const PathSample& sample : found.samples) {
    if (std::abs(sample.z_mm + kDepth_mm) > 0.01 || sample.s <= 0)
      continue;
    if (std::abs(sample.wall_y_mm - 0.5 * kLength_mm) > 0.5 * share * kLength_mm)
      continue;
    for (std::size_t i = 0; i < s.size(); ++i)
      if (std::abs(sample.wall_x_mm - left_face_mm(job, i) - job.widths_mm[i]) < 0.25)
        s[i] = std::max(s[i], static_cast<double>(sample.s));
  }
  return s;
}

/// Greatest S of each wall wherever and whenever the cutter that opens its right side meets it.
inline std::vector<double> worst_s_of_walls(const Job& job, const Preview& found) {
  std::vector<double> s(job.widths_mm.size(), 0);
  for (const PathSample& sample : found.samples)
    for (std::size_t i = 0; i < s.size(); ++i)
      if (std::abs(sample.wall_x_mm - left_face_mm(job, i) - job.widths_mm[i]) < 0.25)
        s[i] = std::max(s[i], static_cast<double>(sample.s));
  return s;
}

/// The width where S is 1, interpolated in ln S over ln w between the walls; NaN when the walls do not
/// bracket it.
inline double critical_width_mm(const Job& job, const std::vector<double>& s) {
  for (std::size_t i = 0; i + 1 < s.size(); ++i)
    if (s[i] >= 1 && s[i + 1] < 1) {
      const double share = std::log(s[i]) / std::log(s[i] / s[i + 1]);
      return job.widths_mm[i] * std::pow(job.widths_mm[i + 1] / job.widths_mm[i], share);
    }
  return std::nan("");
}

} // namespace snagmap::comb
