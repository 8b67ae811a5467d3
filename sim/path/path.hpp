// The path: what the program makes the cutter do, as flat moves in millimetres.
#pragma once

#include "models/base/vec.hpp"
#include "sim/text/note.hpp"

#include <cstdint>
#include <string>
#include <vector>

namespace snagmap {

enum class MoveKind : std::uint8_t { rapid, line, arc, dwell, stop, tool_change };
enum class ArcPlane : std::uint8_t { xy, zx, yz };
enum class CornerMode : std::uint8_t { blend, exact_path, exact_stop }; ///< G64, G61, G61.1

/// One move of the tip. Arc: `centre` in the plane's two axes (xy: x,y; zx: z,x; yz: y,z), turned by
/// `turn_rad` (+ anticlockwise about the plane's positive normal); the third axis goes linearly with angle.
struct Move {
  Vec3 from, to;                 ///< mm, machine-independent work coordinates of the sheet
  Vec2 centre;                   ///< arcs only
  float turn_rad = 0;            ///< arcs only (recomputed exactly from the points by arc_turn_rad)
  float feed_mm_min = 0;         ///< programmed; 0 for rapids. Dwell: seconds.
  float spindle_rpm = 0;         ///< + clockwise (M3), - anticlockwise (M4), 0: it stands
  std::int32_t line = 0;         ///< program line, 1-based
  std::int32_t tool_number = -1; ///< T word of the cutter in the spindle; -1: the program named none
  std::int16_t tool = 0;         ///< index into the scene's cutters
  MoveKind kind = MoveKind::line;
  ArcPlane plane = ArcPlane::xy;
  CornerMode corner = CornerMode::blend;
  std::uint8_t full_turns = 0; ///< further whole turns of a helix written on one line
  std::uint16_t blend_um =
      0; ///< path deviation the program allows at corners (G64 P), micrometres; 0: the machine's
  std::uint8_t coolant = 0; ///< kMist, kFlood or both
  bool length_on = false;   ///< the control adds a tool length (G43); z is the tip's height either way
};
constexpr std::uint8_t kMist = 1, kFlood = 2; ///< M7, M8
static_assert(sizeof(Move) <= 96, "a move must stay within 96 bytes");

/// Signed turn of an arc to double precision, from its points and centre; the float in the move tells the
/// sense.
double arc_turn_rad(const Move& move);
/// Length along the path, mm (0 for dwells and stops).
double length_mm(const Move& move);
/// The tip after the share s (0..1) of the move's length.
Vec3 point_at(const Move& move, double s);
/// Unit direction of travel at s; {0,0,0} for moves that stand still or have no length.
Vec3 direction_at(const Move& move, double s);
/// Lowest height of the tip along the move; an arc outside the xy plane may dip under both its ends.
double lowest_z_mm(const Move& move);
/// The move shifted; an arc's centre goes with it.
Move shifted(Move move, Vec3 by);
/// Unit direction of travel in the xy plane at s; {0,0} when the move is vertical or stands still.
Vec2 heading_at(const Move& move, double s);

/// What a program says beside its moves, so that a program written from the path can say it again.
struct ProgramWords {
  int system = 0; ///< work system of the first move when the program names it: 1 (G54) to 9 (G59.3); 0: none
  Vec3 origin_mm; ///< of that system, in the sheet's coordinates
  bool path_mode = false;      ///< G61, G61.1 or G64 is named before the first move
  bool arc_centres = false;    ///< G90.1 or G91.1 is named
  bool clears_numbers = false; ///< G92.1 stands before the first move
  int length_h = 0;            ///< H of the first G43; 0: none
  /// X, Y, Z: the move at or before which the axis was first named by a place, and on which line; -1: never,
  /// or the path was made by hand.
  int first_named[3] = {-1, -1, -1}, first_line[3] = {0, 0, 0};
  /// What a program made of moves cannot carry.
  std::vector<note::Remark> restore;
};

struct Path {
  std::vector<Move> moves;
  bool inch = false;               ///< the program's own units, for showing
  Vec3 start_mm{0, 0, 20};         ///< where the tip stands before the first move
  std::int32_t touch_off_line = 0; ///< of the G92 or G10 L20 that said so; 0: it was given or is a guess
  std::vector<note::Remark> notes; ///< what the reader assumed or accepted
  ProgramWords words;
};

} // namespace snagmap
