// The features that the one fact of the trade behind the bite constant may have been seen on: in soft foam,
// cut with long flutes, features under 19 mm (3/4 in) go. The fact names no height, length, ends or passes;
// this is the set of those that are plausible, each as a job of its own.
#pragma once

#include "sim/preview/preview.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

namespace snagmap::practice {

enum class Ends { free, round, built_in };
inline const char* to_text(Ends ends) {
  return ends == Ends::free ? "free" : ends == Ends::round ? "round" : "built-in";
}

struct Feature {
  int number = 0;
  Ends ends = Ends::free;
  double h_mm = 0, length_mm = 0, flutes_mm = 0;
  int passes_of_diameter = 1; ///< depth of a pass, in cutter diameters, at most the flutes
};

constexpr int kFeatures = 48;
constexpr double kDiameter_mm = 6.35; ///< 1/4 in, the cutter of such machines: common practice, no source
constexpr double kSheet_mm = 50.8;
constexpr std::array<double, 3> kEdges_mm{15, 17, 19}; ///< "3/4 in" is rounded up from somewhere here
constexpr std::size_t kSolved = 1;                     ///< the one of them that is solved by finite elements
constexpr int kSolvedSpots = 3;                        ///< the worst of a job that are

/// Feature `n` of the set, from 0. Heights 12 to 40 mm and lengths 20 to 150 mm evenly over their logarithms,
/// flutes 16 to 25 mm evenly, passes of one, two or three diameters alike. Features left standing in a pocket
/// are free all round: half are square blocks, a quarter have round ends; a quarter are walls between two
/// pockets, built in at both ends. Even cover by a Kronecker sequence whose steps are powers of the root of
/// x^6 = x + 1.
inline Feature feature(int n) {
  constexpr double kRoot = 1.1347241384015194;
  const auto even = [n](int dimension) {
    double whole = 0;
    return std::modf(0.5 + (n + 1) * std::pow(kRoot, -dimension), &whole);
  };
  Feature f;
  f.number = n;
  f.h_mm = std::round(10 * 12 * std::pow(40.0 / 12, even(1))) / 10;
  f.length_mm = std::round(10 * 20 * std::pow(150.0 / 20, even(2))) / 10;
  f.flutes_mm = std::round(10 * (16 + 9 * even(3))) / 10;
  f.passes_of_diameter = 1 + static_cast<int>(3 * even(4));
  const double kind = even(5);
  f.ends = kind < 0.5 ? Ends::free : kind < 0.75 ? Ends::round : Ends::built_in;
  return f;
}

inline double pass_mm(const Feature& f) {
  return std::min(f.passes_of_diameter * kDiameter_mm, f.flutes_mm);
}

inline Scene scene_of(const Feature& f, const FoamCard& foam) {
  Scene scene;
  scene.sheet = {{-130, -80, -kSheet_mm}, {130, 80, 0}};
  scene.sheet_given = scene.thickness_given = true;
  scene.layers = {{foam, kSheet_mm}};
  CutterCard cutter;
  cutter.diameter_mm = cutter.shank_diameter_mm = kDiameter_mm;
  cutter.flute_length_mm = f.flutes_mm;
  cutter.neck_diameter_mm = 0.6 * kDiameter_mm;
  cutter.neck_length_mm = 45 - f.flutes_mm;
  cutter.stick_out_mm = 50;
  cutter.flutes = 2;
  scene.cutters = {cutter};
  scene.machine = machine_cards().front();
  scene.voxel_mm = 1;
  return scene;
}

inline std::vector<double> levels_mm(const Feature& f) {
  std::vector<double> levels;
  for (double z = pass_mm(f); z < f.h_mm - 1e-6; z += pass_mm(f))
    levels.push_back(-z);
  levels.push_back(-f.h_mm);
  return levels;
}

/// A block `w_mm` thick in a pocket, level by level, each cleared from outside in and ended by the loop along
/// the block; or a wall between two pockets, the left one first.
inline std::string program_of(const Feature& f, double w_mm) {
  const double r = 0.5 * kDiameter_mm, x = 0.5 * f.length_mm, y = 0.5 * w_mm;
  std::string nc = "G21 G90 G17\nM3 S18000\nG0 Z5\n";
  const auto go = [&](const char* code, double to_x, double to_y) {
    nc += fmt::format("{} X{:.4f} Y{:.4f} F3000\n", code, to_x, to_y);
  };
  const auto down = [&](double z) { nc += fmt::format("G1 Z{:.4f} F1000\n", z); };
  const auto round_block = [&](double away) {
    const double half = f.ends == Ends::round ? x - y : x + away, up = y + away;
    go("G1", half, up);
    if (f.ends == Ends::round) {
      nc += fmt::format("G2 X{:.4f} Y{:.4f} I0 J{:.4f}\n", half, -up, -up);
      go("G1", -half, -up);
      nc += fmt::format("G2 X{:.4f} Y{:.4f} I0 J{:.4f}\n", -half, up, up);
    } else {
      go("G1", half, -up);
      go("G1", -half, -up);
      go("G1", -half, up);
    }
    go("G1", 0, up);
  };
  if (f.ends == Ends::built_in) {
    for (const double side : {1.0, -1.0}) {
      const double near = side * (y + r), far = side * (y + 2 * kDiameter_mm - r);
      for (const double z : levels_mm(f)) {
        nc += "G0 Z5\n";
        go("G0", -x + r, far);
        down(z);
        go("G1", x - r, far);
        go("G1", x - r, near);
        go("G1", -x + r, near);
        go("G1", -x + r, far);
      }
    }
  } else {
    for (const double z : levels_mm(f)) {
      nc += "G0 Z5\n";
      go("G0", 0, y + r + 0.8 * kDiameter_mm);
      down(z);
      round_block(r + 0.8 * kDiameter_mm);
      go("G1", 0, y + r);
      round_block(r);
    }
  }
  return nc + "G0 Z5\nM5\nM30\n";
}

/// A line of scripts/practice.csv.
struct Row {
  Feature feature;
  double gamma = 0;                   ///< by finite elements, kEdges_mm[kSolved] thick
  std::array<double, 3> by_formula{}; ///< at kEdges_mm
  int solved = 0;
  /// At which the feature just holds when it is kEdges_mm[edge] thick: elements at one thickness, the formula
  /// from there to the others.
  double lambda(std::size_t edge) const { return by_formula[kSolved] / (gamma * by_formula[edge]); }
};

/// Worst Gamma of the feature over places and moments, as a preview finds it: the worst spots by finite
/// elements.
inline Outcome<Row> judge(const Feature& f, const FoamCard& foam, int solved_spots = kSolvedSpots) {
  Row row;
  row.feature = f;
  for (std::size_t edge = 0; edge < kEdges_mm.size(); ++edge) {
    Scene scene = scene_of(f, foam);
    scene.program_file = "feature.nc", scene.program_text = program_of(f, kEdges_mm[edge]);
    PreviewOptions options;
    options.verify = SolveChoice::worst(edge == kSolved ? static_cast<std::size_t>(solved_spots) : 0);
    const Outcome<Preview> found = preview(scene, options);
    if (!found)
      return found.faults();
    for (const Spot& spot : found->spots) {
      row.by_formula[edge] = std::max(row.by_formula[edge], spot.by_formula().gamma);
      if (spot.fe && spot.fe->verified)
        row.gamma = std::max(row.gamma, spot.fe->answer.s / foam.lambda.nominal), ++row.solved;
    }
  }
  return row;
}

inline std::string header() {
  return "feature,ends,h_mm,length_mm,flutes_mm,pass_mm,gamma_17_elements,gamma_15_formula,gamma_17_formula,"
         "gamma_19_formula\n";
}
inline std::string line_of(const Row& row) {
  const Feature& f = row.feature;
  return fmt::format("{},{},{:.1f},{:.1f},{:.1f},{:.2f},{:.4f},{:.4f},{:.4f},{:.4f}\n", f.number,
                     to_text(f.ends), f.h_mm, f.length_mm, f.flutes_mm, pass_mm(f), row.gamma,
                     row.by_formula[0], row.by_formula[1], row.by_formula[2]);
}
/// The rows of the stored table; none when a line is not of the set as it is drawn here.
inline std::vector<Row> stored_rows(const std::string& file) {
  std::ifstream in(file);
  std::vector<Row> rows;
  std::string text;
  std::getline(in, text);
  while (std::getline(in, text)) {
    std::vector<std::string> cells;
    std::stringstream cut(text);
    for (std::string cell; std::getline(cut, cell, ',');)
      cells.push_back(cell);
    if (cells.size() != 10)
      return {};
    Row row;
    row.feature = feature(std::atoi(cells[0].c_str()));
    row.gamma = std::atof(cells[6].c_str());
    for (std::size_t edge = 0; edge < 3; ++edge)
      row.by_formula[edge] = std::atof(cells[7 + edge].c_str());
    if (line_of(row) != text + "\n")
      return {};
    rows.push_back(row);
  }
  return rows;
}

/// Lambda below which a share of the rows just hold, linear between the sorted ones.
inline double quantile(std::vector<double> values, double share) {
  std::sort(values.begin(), values.end());
  const double at = share * static_cast<double>(values.size() - 1);
  const auto i = static_cast<std::size_t>(at);
  return i + 1 < values.size() ? values[i] + (at - static_cast<double>(i)) * (values[i + 1] - values[i])
                               : values[i];
}

} // namespace snagmap::practice
