// Acting on blocks: modal state, order of doing, and the moves that come of it.
#pragma once

#include "sim/control/arc.hpp"
#include "sim/control/compensation.hpp"
#include "sim/control/options.hpp"
#include "sim/language/block.hpp"
#include "sim/path/path.hpp"

#include <array>
#include <cstddef>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace snagmap {

/// Remarks on a program, with the line where each first arose.
class Remarks {
public:
  /// One of a kind.
  void once(note::Remark remark);
  /// One of a kind with these words.
  void once_of_words(note::Remark remark);
  void add(note::Remark remark) { all_.push_back(std::move(remark)); }
  std::vector<note::Remark> take() { return std::move(all_); }

private:
  std::vector<note::Remark> all_;
};

/// The state of the control while it runs a program. Feed it blocks in order; it throws Refusal for a line it
/// cannot carry out, after which `recover` must be called before the next block.
class Interpreter : public LiveValues {
public:
  explicit Interpreter(const ProgramOptions& options);
  std::optional<double> numbered(int index) const override;
  std::optional<double> named(const std::string& name) const override;

  void run(const Block& block, int line);
  /// After a refused line: takes what is certain from it and suspends the checks that depend on the lost
  /// place.
  void recover(const Block& block);
  bool ended() const { return ended_; }
  bool full() const { return full_; } ///< refused because the path is longer than allowed
  std::size_t move_count() const { return path_.moves.size(); }
  void reserve(std::size_t moves) { path_.moves.reserve(moves); }
  Parameters& parameters() { return *parameters_; }
  Remarks& remarks() { return remarks_; }
  bool failed() const { return failed_; }
  /// Whether the tip stands where an unfinished program may leave it: above the sheet, or never moved.
  bool clear_of_sheet() const { return !cut_ || at_[2] >= options_.sheet_top_mm; }
  double tip_z_mm() const { return at_[2]; }
  /// After the end of a subprogram: takes back what M73 saved in it.
  void returned();
  /// The path and its notes; the interpreter is spent.
  Path finish();

private:
  enum Axis { X, Y, Z };
  struct Offset { // mm, per axis
    std::array<double, 3> at{};
    double& operator[](int axis) { return at[static_cast<std::size_t>(axis)]; }
    double operator[](int axis) const { return at[static_cast<std::size_t>(axis)]; }
  };

  // interpreter.cpp
  void stops(const Block& block);
  void refuse_unused(const Block& block) const;
  // interpreter_modes.cpp
  void switches(const Block& block);
  bool dwells_by_x(const Block& block) const;
  void take_feed(const Block& block);
  void modes(const Block& block);
  void foreign_units(const Block& block, bool inch);
  void spindle_and_coolant(const Block& block);
  void pick_tool(const Block& block);
  void change_tool(int column);
  // interpreter_offsets.cpp
  void one_line_code(const Block& block, int code);
  void select_system(int system, int column);
  void set_length(const Block& block, int code);
  void set_origin(const Block& block);
  void tell_machine_zero(int axis, double place_mm);
  void set_tool(const Block& block);
  void set_numbers(const Block& block);
  void touch_off(int axis, double number_mm);
  void note_touch_off(const char* code);
  void local_origin(const Block& block);
  void go_home(const Block& block, int code);
  void store_home(int code);
  void update_shift();
  // interpreter_moves.cpp: motion
  void motion(const Block& block, bool axes_taken);
  int motion_unsaid(const Block& block);
  void straight(const Block& block, bool rapid);
  void in_machine_coordinates(const Block& block);
  double feed_for(const Block& block, double length_mm, int column);
  double target(const Block& block, int axis);
  Offset targets(const Block& block);
  void first_words(const Block& block);
  /// What a program written from the path does not carry: once for each kind.
  void remark(RemarkKind about, std::vector<std::string> words = {}, std::optional<Vec3> place_mm = {},
              std::optional<double> length_mm = {}) {
    remarks_.once({about, line_, std::move(words), place_mm, length_mm});
  }
  /// What a program written from the moves does not carry of the line at hand.
  void restore(RemarkKind about, std::vector<std::string> words = {}) {
    restore_.once_of_words({about, line_, std::move(words), {}, {}});
  }
  // interpreter_compensation.cpp
  void compensate(const Block& block);
  double radius_of(const Block& block, int code);
  void refuse_under_compensation(const Block& block) const;
  void polar(const Block& block, Offset& to);
  // interpreter_arcs.cpp
  struct ArcLine;
  void arc(const Block& block, bool anticlockwise);
  void pass_over_third_offset(const ArcLine& line);
  void check_circle(const ArcLine& line);
  int turns_of(const ArcLine& line);
  Vec2 centre_of(const ArcLine& line) const;
  bool stands_still(const ArcLine& line, const Offset& to);
  ArcFit fit_by_centre(const ArcLine& line, const Offset& to);
  ArcFit fit_by_radius(const ArcLine& line, const Offset& to);
  void follow(const ArcLine& line, const Offset& to, const ArcFit& fit, int further_turns);
  double arc_tolerance(double radius_mm) const;
  void remember_mismatch(const Block& block, double mismatch_mm);
  // interpreter_saved.cpp
  struct SavedModes {
    ArcPlane plane = ArcPlane::xy;
    double scale = 1;
    bool incremental = false, arc_centre_absolute = false, inverse_time = false, feed_per_turn = false;
    double feed_mm_min = 0;
    bool feed_known = false;
    double rpm = 0;
    bool spindle_on = false, anticlockwise = false;
    std::uint8_t coolant = 0;
    bool return_to_r = true;
    CornerMode corner = CornerMode::blend;
    std::uint16_t blend_um = 0;
    int system = 1, length_of = 0;
    bool on_return = false; ///< M73: taken back when the subprogram returns
  };
  void save_or_restore(int code, int column);
  void restore_modes(const SavedModes& to, int column);
  // interpreter_cycles.cpp
  struct CycleLine;
  void cycle(const Block& block);
  void take_heights(CycleLine& line);
  void take_repeats(CycleLine& line);
  void take_dwell(const CycleLine& line);
  void take_peck(const CycleLine& line);
  void remark_cycle(const CycleLine& line);
  void along_third(const CycleLine& line, MoveKind kind, double height);
  void drill(const CycleLine& line);
  void come_out(const CycleLine& line);

  Move make_move(MoveKind kind) const;
  void push(const Move& move);
  void push_as_it_is(const Move& move);
  void go(MoveKind kind, const Offset& to, double feed_mm_min);
  void stand(MoveKind kind, double seconds);
  int picked_index() const;

  const ProgramOptions& options_;
  std::unique_ptr<Parameters> parameters_; // 43 kB, off the stack
  Remarks remarks_, restore_;
  Path path_;
  std::size_t most_moves_;
  int line_ = 0;
  bool ended_ = false, failed_ = false, full_ = false;

  // Where the program is, in the sheet's coordinates, and which axes a refused line has made unsure (bits).
  Offset at_, start_;
  Vec3 tip_;                  ///< where the cutter is: beside it under cutter compensation
  Compensation compensation_; ///< G41, G42
  std::vector<Move> certain_; ///< scratch: what the compensation puts out
  unsigned lost_ = 0;
  unsigned placed_ = 0; ///< axes whose place is known: by absolute words, by G92, or given beforehand (bits)
  bool home_stored_ = false, second_home_stored_ = false; ///< by G28.1, G30.1
  bool homed_ = false;                                    ///< G28 or G30 has gone to a home that is a guess
  // From programmed numbers to the sheet: number * scale_ + shift_.
  double scale_ = 1;
  Offset shift_, origin_, numbers_;
  Vec3 machine_zero_;
  int system_ = 1;
  unsigned known_systems_ = 0;
  bool moved_ = false, units_given_ = false;
  int length_of_ = 0; ///< H of G43; 0: none
  bool length_ever_ = false;
  bool length_unsure_ = false; ///< another tool's H is in force and a cutter length is missing

  std::optional<int> motion_; ///< ten times the G code in force; none yet
  ArcPlane plane_ = ArcPlane::xy;
  bool incremental_ = false, inverse_time_ = false, arc_centre_absolute_ = false;
  bool return_to_r_ = true, return_told_ = false; ///< G99, in which LinuxCNC begins (rs274 2.9)
  CornerMode corner_ = CornerMode::blend;
  std::uint16_t blend_um_ = 0;
  double feed_mm_min_ = 0, rpm_ = 0;
  bool feed_known_ = false, feed_refused_ = false, spindle_on_ = false, anticlockwise_ = false;
  std::uint8_t coolant_ = 0;
  bool system_named_ = false;

  std::optional<int> picked_, mounted_; ///< tool numbers, once named
  int picked_line_ = 0;
  bool changed_ever_ = false, empty_spindle_ = false;
  std::int16_t tool_ = 0;
  std::optional<int> tool_number_; ///< of the cutter in the spindle, by M6 or by a T before any move

  struct CycleMemory { // sticky within a run of lines under one cycle code
    std::optional<int> code;
    bool incremental = false;
    std::optional<double> r, bottom, peck, dwell; ///< as they were last written
  } cycle_;

  std::optional<int> plain_motion_; ///< the last of G0 to G3, which a cycle and G80 do not forget
  bool cut_ = false;                ///< some feed move was made
  bool machine_zero_told_ = false;  ///< by G10 L2 before any move
  bool feed_per_turn_ = false;
  std::map<std::size_t, SavedModes> saved_; ///< by depth of calls
  std::map<int, double> lengths_mm_;        ///< by tool and H number: the scene's, and what G10 L1 sets
  std::map<int, double> radii_mm_;          ///< by tool and D number: what G10 L1 sets

  double worst_mismatch_mm_ = 0;
  int worst_mismatch_line_ = 0, mismatched_arcs_ = 0, decimals_ = 0;
  std::uint32_t used_ = 0; ///< letters of this line that something used
};

} // namespace snagmap
