// What a sweep removes, from the moves alone: its swept body less those of all sweeps before it.
#pragma once

#include "sim/record/data.hpp"
#include "sim/record/layers.hpp"
#include "sim/swept/chord_runs.hpp"
#include "sim/swept/swept.hpp"

#include <optional>
#include <utility>
#include <vector>

namespace snagmap {

/// Foam over a small area in plan that leaves at shares from..to of its sweep.
struct RemovedPart {
  double from = 0, to = 0;
  double low_mm = 0, high_mm = 0;
  double area_mm2 = 0;
  double along_mm = 0;    ///< of the way that its line stands for
  std::uint32_t line = 0; ///< number of its line, from 0 on
  double volume_mm3() const { return (high_mm - low_mm) * area_mm2; }
};

/// Lines are laid across the way of the sweep and cut exactly, along the line and in height, by the outlines
/// of the sweeps that passed before; where heights change along a line it is integrated by Gauss's rule, and
/// so is the area between lines, in pieces that begin where an outline begins, ends, enters the cut or
/// crosses a round end. A piece is halved while a rule of three on the same places tells another volume than
/// the rule of five. So walls count where they stand and the voxel does not enter at all. What is left is
/// under 0.5 % of what the sweep removes, and far less over a run (tests/sim/record/removed*_test.cpp,
/// scripts/bench right volume). Moves of under a sixteenth of the radius where over 600 sweeps, or 30 where
/// moves slope, have passed the block (under a quarter: ten times as many) are counted by columns instead:
/// their sum over a run is right within half a column at its border.
class RemovedBy {
public:
  RemovedBy(const RecordData& data, const SweepStacks& stacks, const ChordRuns& runs)
      : data_(data), stacks_(stacks), runs_(runs) {}
  /// Parts in a fixed order, of the sweep or, for the first of a run of chords, of the run; the others of a
  /// run have none. Valid until the next call. Cost: lines (five for each 8 mm of a plain way, more where it
  /// is not) times the sweeps before that pass there.
  const std::vector<RemovedPart>& sweep(std::uint32_t n);
  /// Whether the last answer was read from the columns.
  bool by_columns() const { return by_columns_; }

private:
  /// A part of the plan of the sweep: a strip about a straight way with its two round ends, or a wedge of a
  /// ring.
  struct Patch {
    bool wedge = false;
    Vec2 origin, ahead;         // of a wedge: its centre
    double length = 0;          // of the straight way
    double first = 0, last = 0; // along the way, mm, ends included; of a wedge: angles
    bool not_in_wedge = false;  // leaves out what the sweep's wedge holds
    bool not_in_end = false;    // leaves out the disc at the sweep's end
  };
  /// A piece of a patch along the way.
  struct Stretch {
    const Patch& patch;
    double t0, t1;
  };
  struct Near {
    std::uint32_t number; // of the sweep
    Sweep sweep;
    const BodyPart* part;
    double radius; // its reach within the sweep's heights
    Capsule capsule;
    std::optional<std::size_t> band; // index into bands_, for arcs
    bool steady;                     // the same heights all over its plan
    double low, high;
    double from, to;             // places along a straight patch that it may reach
    std::optional<double> up_to; // of a stack: from its lower side up to here all is air
  };
  struct Own {
    Heights heights;
    double low, high; // within the sheet
  };
  struct Along {
    double u0, u1, low, high;
    std::optional<std::size_t> near; // index into near_; none: of steady ones, joined
    bool steady() const { return !near; }
  };
  struct Line {
    Vec2 origin, along;
    double u0, u1;    // the sweep's own part
    double t, weight; // place along the way and width across the line, mm or rad
    double across;    // weight in mm of the way
    std::uint32_t number;
    double before, after; // from the line to the ends of its width, as shares of the sweep
  };

  bool crowded() const;
  void take_columns();
  void patch(const Patch& patch);
  void gather(const Stretch& stretch);
  Box2 plan_of(const Stretch& stretch) const;
  void list_sweeps(const Box2& box);
  void add_near(std::uint32_t n, const Patch& patch, const Box2& box);
  std::array<double, 2> reach_along(const Sweep& sweep, double radius, const Patch& patch) const;
  void order_near();
  static double reach(const Sweep& sweep, const BodyPart& part, double low, double high);
  void cut_piece(const Patch& patch, double from, double to, int halvings);
  void find_breaks(const Stretch& stretch);
  void cross_round_ends(const Stretch& stretch);
  void break_at_rays(const Stretch& stretch);
  void break_at_tips(const Stretch& stretch, std::size_t k);
  void break_at_outline(const Stretch& stretch, std::size_t k);
  void break_at_sheet(const Stretch& stretch);
  void break_at_wedge(const Stretch& stretch);
  void break_at_tip(const Stretch& stretch, Vec2 p, std::optional<std::size_t> own);
  void add_break(const Stretch& stretch, double t, Vec2 at, std::optional<std::size_t> own);
  void add_bare_break(const Stretch& stretch, double t);
  bool inside(const Near& near, Vec2 p) const;
  bool lay_along(const Line& line, double u0, double u1);
  bool hidden(const Along& one) const;
  struct Ends;
  using End = std::pair<double, bool>;           // place along a line; true: it may not be passed over
  enum class Left { nothing, steady, changing }; // of a piece of a line, when others took their part
  void cut_line(const Patch& patch, const Line& line);
  Chord over_sheet(const Line& line) const;
  std::size_t ends_of_others();
  void ends_of_body(const Patch& patch, Ends& ends) const;
  void ends_of_wedge(const Patch& patch, Ends& ends) const;
  void ends_of_sheet(Ends& ends) const;
  Left left_between(const Patch& patch, const Line& line, double from, double to);
  void cut_steady(const Patch& patch, const Line& line, double from, double to);
  void cut_along(const Patch& patch, const Line& line, double from, double to, int halvings);
  void add_air(double low, double high);
  double cut_place(const Line& line, Vec2 p, double area);
  double take(const Heights& h, double low, double high, double area, const Line& line);
  bool in_wedge(Vec2 p) const;

  const RecordData& data_;
  const SweepStacks& stacks_;
  const ChordRuns& runs_;
  std::uint32_t lines_ = 0;
  std::uint32_t index_ = 0;
  Sweep sweep_;
  const Body* body_ = nullptr;
  double radius_ = 0, low_ = 0, high_ = 0; // of the sweep, heights cut to the sheet
  bool steady_ = false;
  bool by_columns_ = false;
  double agree_ = 1;                 // how much worse than others it may agree
  double volume_ = 0, thickest_ = 0; // of the sweep so far: mm3, and mm3 for each mm of its way
  Vec2 end_;                         // of an arc
  std::vector<RemovedPart> out_;
  std::vector<std::uint32_t> indices_;
  std::vector<Near> near_;   // steady ones first, then the latest of the others
  std::size_t latest_ = 0;   // index of that one
  std::size_t outlines_ = 0; // so many of them make breaks
  std::vector<ArcBand> bands_;
  std::vector<std::array<Vec2, 2>> edges_; // of a mesh sheet's sides, in plan
  std::vector<double> breaks_;
  std::vector<End> ends_;
  std::vector<Along> along_;
  std::vector<Chord> group_;
  std::vector<const Along*> active_;
  std::vector<std::pair<double, double>> air_;
  std::vector<Own> own_;
  std::vector<float> crossings_;
};

} // namespace snagmap
