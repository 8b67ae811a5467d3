// Cutter radius compensation: the programmed contour in, the way of the cutter's centre out.
#pragma once

#include "sim/path/path.hpp"

#include <optional>
#include <vector>

namespace snagmap {

/// G41 and G42 in the plane X Y, as LinuxCNC has it (User Manual, Cutter Compensation; checked with rs274):
/// the entry is a straight move longer than the radius, to the place beside its end; outside corners are
/// rounded by an arc about the corner; inside corners are cut short where the two ways meet; corners of less
/// than 0.05 rad between straight moves are not treated. What the next corner may still change is held back.
class Compensation {
public:
  bool on() const { return on_; }
  /// `side` +1: the cutter is left of the contour (G41), -1 right (G42). `tip` is where the cutter stands.
  void start(int side, double radius_mm, Vec3 tip);
  /// One programmed move (the contour's ends; dwells and stops too). Appends to `out` what is certain now,
  /// each with its own line. Throws Refusal at `column` when the cutter cannot follow without cutting into
  /// the contour.
  void add(const Move& programmed, int column, std::vector<Move>& out);
  /// G40, or the program's end: appends what is held. The cutter stays beside the contour's end.
  void end(std::vector<Move>& out);
  /// After a refused line: nothing is held any more.
  void forget();
  Vec3 tip() const { return tip_; } ///< where the moves put out so far end

private:
  struct Way { ///< one piece beside the contour
    Move move; ///< of the cutter's centre
    Vec2 first_heading, last_heading;
    bool entry = false;
  };
  Way beside(const Move& programmed, int column) const;
  void enter(const Move& programmed, int column);
  void join(Way& next, Vec2 corner, int column, std::vector<Move>& out);
  void round_the_corner(const Way& next, Vec2 corner, double turn_rad, std::vector<Move>& out);
  void put_out(std::vector<Move>& out);
  void put(Move move, std::vector<Move>& out);

  bool on_ = false, entered_ = false;
  double side_ = 0, radius_mm_ = 0;
  Vec3 tip_;
  std::optional<Way> held_;
  std::vector<Move> after_; ///< upright moves and stops after it, at its end
};

} // namespace snagmap
