// A scene: sheet, cutters, machine, hold-down and program, as read from TOML and checked.
#pragma once

#include "models/base/fault.hpp"
#include "models/base/vec.hpp"
#include "models/cards/cutter.hpp"
#include "models/cards/foam.hpp"
#include "models/cards/machine.hpp"
#include "models/mechanics/hold_down.hpp"
#include "models/mechanics/strand.hpp"
#include "sim/program/program.hpp"
#include "sim/stock/shape.hpp"
#include "sim/text/assumed.hpp"
#include "sim/text/note.hpp"

#include <array>
#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace snagmap {

/// Foam thicker than this beside the cutter is no web.
constexpr double kNoWeb_mm = 60;

struct Layer {
  FoamCard foam;
  double thickness_mm = 0;
};

enum class HoldDownKind { none_given, tape, vacuum };
const char* to_text(HoldDownKind kind);
struct HoldDown {
  HoldDownKind kind = HoldDownKind::none_given;
  double tape_area_share = 1;          ///< of the sheet's footprint
  std::optional<double> tape_width_mm; ///< strips of this width; empty: whole area
  Banded tension_kPa, shear_kPa, peel_N_mm;
  std::optional<double> vacuum_kPa;
  Film film = Film::none; ///< vacuum: where it lies
};

struct Collet {
  bool given = false;
  std::string series;  ///< "ER11" ...
  double bore_mm = 0;  ///< largest shank, as engraved
  double least_mm = 0; ///< smallest shank, as engraved; 0: from the series' closing range
  double clamped_length_mm = 0, length_mm = 0;
};

/// Where the work zero lies over the sheet, seen from above, x to the right and y up.
struct SheetZero {
  double share_x = 0, share_y = 0;         ///< of the sheet's size from its lower left corner
  double offset_x_mm = 0, offset_y_mm = 0; ///< further, from there
};

/// When a person wants to look at the cutter; sim/checks/stops.hpp makes a plan of it.
struct StopLimits {
  double strand_mm =
      kLongStrand_mm;    ///< a longer run leaves a strand to clear; `kSlotShortens` of it in a slot
  double within_s = 300; ///< how long what is to be seen to may wait, in program time
};

struct Scene {
  std::string file, folder, title;
  Box3 sheet;               ///< mm in work coordinates; see sheet_given
  bool sheet_given = false; ///< in plan; false: settle_sheet lets it go on past all that the program cuts
  bool thickness_given = false;
  std::string stock_file; ///< absolute; empty for a plain box
  /// The sheet as a solid in work coordinates, pockets already in it; `sheet` is the box around it. Null: the
  /// sheet is that box.
  std::shared_ptr<const StockShape> stock;
  SheetZero zero;
  std::vector<Layer> layers; ///< from the bottom up; one for a plain sheet
  bool rigid_floor = false;
  std::vector<CutterCard> cutters; ///< those the program uses, by the index in Path
  std::map<int, int> tool_index;   ///< program tool number -> cutters; empty: any single tool is cutter 0
  std::map<int, double> tool_length_mm; ///< for G43, by program tool number
  std::vector<CutterCard> drawer;       ///< further cutters at hand, for advice
  MachineCard machine;
  HoldDown hold_down;
  Collet collet;
  StopLimits stops;
  double thickness_spread_mm = 0;
  bool zero_on_table = false;
  std::string program_file; ///< absolute
  std::string program_text; ///< when not empty, read in place of the file: programs made in memory
  std::optional<double> arc_tolerance_mm; ///< empty: as controllers have it
  Dialect dialect = Dialect::either;
  Vec3 start_mm{0, 0, 20};
  bool start_given = false;
  bool block_delete = false;
  // Places of the machine in the sheet's coordinates, as ProgramOptions has them.
  std::map<int, Vec3> work_origin_mm;
  std::optional<Vec3> machine_zero_mm, home_mm, second_home_mm;
  double voxel_mm = 0.5;
  double tolerance_mm = 0.5; ///< plan tolerance of the part; lean accepted by `firm`
  double sample_mm = 0;      ///< spacing of samples; 0: a quarter of the cutter's diameter
  bool show_inch = false, units_given = false;
  std::vector<Assumed> assumed; ///< every default that was used
  std::vector<Note> notes;
  std::string text; ///< the scene as read
  /// Foam at a height; the web's modulus comes from here.
  const FoamCard& foam_at(double z_mm) const;
  /// The foam that holds most of the heights low..high; of equals, to a micrometre, the upper one. The foam a
  /// web is judged by: a joint at mid-height does not flip it by rounding.
  const FoamCard& foam_between(double low_mm, double high_mm) const;
  /// Mean over the heights low..high of what `of` says of a foam; at a single height that of foam_at.
  double mean_between(double low_mm, double high_mm, const std::function<double(const FoamCard&)>& of) const;
  /// Do the heights low..high hold more than one foam, beyond a micrometre at either end?
  bool joint_between(double low_mm, double high_mm) const;
  const FoamCard& main_foam() const { return layers.front().foam; }
};

/// Reads and checks a scene. Bounded: at most 4 MB of text, nesting limited by the TOML library.
/// Faults: all that are found, in the order of the file.
/// A sheet that comes as a mesh or a volume is a fault unless `readers` can read it.
Outcome<Scene> read_scene(const std::string& file, const StockReaders& readers = {});
/// The same for text in memory; `name` stands for the file in faults, paths in it start at `folder`.
Outcome<Scene> parse_scene(const std::string& text, const std::string& name, const std::string& folder,
                           const StockReaders& readers = {});

/// What the record is cut from: the sheet's solid, or its box.
StockShape stock_of(const Scene& scene);

/// How the scene's program is to be read.
ProgramOptions program_options(const Scene& scene);

/// A scene of nothing but a program, a foam and a cutter card; everything else is assumed.
/// `foam` is a card or a kind; `cutters` one card for every tool, or "NUMBER=CARD" for each. Faults without a
/// file concern the words given.
Outcome<Scene> scene_of_program(const std::string& program_file, const std::string& foam,
                                const std::vector<std::string>& cutters);

/// Completes the scene once the program is known, and lists what it takes under assumed. A thickness that was
/// not given is the deepest cut and a floor. A size that was not given is the extents of the feed moves and
/// so much all round that no web is seen against the sheet's edge (more than kNoWeb_mm of foam): nothing is
/// known of a real edge, so none makes a finding. A note warns when the program's and the sheet's sizes
/// differ by about 25.4, which is how a mix-up of inch and mm shows. Units that were not given become the
/// program's, and a start that was not given the place where the program's G92 says that the tip stands.
void settle_sheet(Scene& scene, const Path& path);
/// Box of the places the feed moves visit; nothing without feed moves.
std::optional<Box3> feed_extents(const Path& path);
/// Border and floor a person would leave round a program: for a starter scene, to be corrected.
constexpr double kGuessedBorder_mm = 10; // common practice 10 to 15 mm
constexpr double kGuessedFloor_mm = 10;  // under the deepest pocket in polyurethane, common practice

/// A commented starter scene for a program: foam, cutter and sheet as a first guess to be corrected.
/// `program_file` is written as it stands, so it starts at the folder the scene will lie in; `notes` are the
/// path's in words, as comments.
std::string starter_scene(const std::string& program_file, const Path& path,
                          const std::vector<std::string>& notes);

} // namespace snagmap
