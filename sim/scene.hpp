// A scene: sheet, cutters, machine, hold-down and program, as read from TOML and checked.
#pragma once

#include "models/cutter.hpp"
#include "models/fault.hpp"
#include "models/foam.hpp"
#include "models/machine.hpp"
#include "models/vec.hpp"

#include <map>
#include <optional>
#include <string>
#include <vector>

namespace snagmap {

struct Layer {
  FoamCard foam;
  double thickness_mm = 0;
};

enum class HoldDownKind { none_given, tape, vacuum };
struct HoldDown {
  HoldDownKind kind = HoldDownKind::none_given;
  double tape_area_share = 1;              ///< of the sheet's footprint
  std::optional<double> tape_width_mm;     ///< strips of this width; empty: whole area
  Banded tension_kPa, shear_kPa, peel_N_mm;
  std::optional<double> vacuum_kPa;
  std::string film;                        ///< "none", "top", "under"
};

struct Collet {
  bool given = false;
  std::string series;        ///< "ER11" ...
  double bore_mm = 0;        ///< largest shank, as engraved
  double least_mm = 0;       ///< smallest shank, as engraved; 0: from the series' closing range
  double clamped_length_mm = 0, length_mm = 0;
};

struct Scene {
  std::string file, folder, title;
  Box3 sheet;                      ///< mm in work coordinates
  std::vector<Layer> layers;       ///< from the bottom up; one for a plain sheet
  bool rigid_floor = false;
  std::vector<CutterCard> cutters; ///< those the program uses, by the index in Path
  std::map<int, int> tool_index;   ///< program tool number -> cutters
  std::vector<CutterCard> drawer;  ///< further cutters at hand, for advice
  MachineCard machine;
  HoldDown hold_down;
  Collet collet;
  double thickness_spread_mm = 0;
  bool zero_on_table = false;
  std::string program_file;        ///< absolute
  double arc_tolerance_mm = 0.002;
  Vec3 start_mm{0, 0, 20};
  bool block_delete = false;
  double voxel_mm = 0.5;
  double tolerance_mm = 0.5;       ///< plan tolerance of the part; lean accepted by `firm`
  double sample_mm = 0;            ///< spacing of samples; 0: a quarter of the cutter's diameter
  bool show_inch = false, units_given = false;
  std::vector<std::string> assumed;   ///< "key = value (why)": every default that was used
  std::vector<std::string> notes;
  std::string text;                ///< the scene as read
  /// Foam at a height; the web's modulus comes from here.
  const FoamCard& foam_at(double z_mm) const;
  const FoamCard& main_foam() const { return layers.front().foam; }
};

/// Reads and checks a scene. Bounded: at most 4 MB of text, nesting limited by the TOML library.
Outcome<Scene> read_scene(const std::string& file);

} // namespace snagmap
