// Where a web stands, as a person would point to it: between which pockets, counted along a straight line.
#pragma once

#include "sim/judge/judged_job.hpp"

#include <map>
#include <vector>

namespace snagmap {

/// Said only where counting makes it true; otherwise the place alone.
struct Whereabouts {
  enum class Kind { plain, between, at_edge, post };
  enum class From { left, right, front, back }; ///< low x, high x, low y, high y
  Kind kind = Kind::plain;
  From from = From::left;    ///< where the counting begins; of at_edge the edge it stands at
  int first = 0, second = 0; ///< counted along the line through the place; 1 is the outermost
  bool slots = false;        ///< all that were counted are slots: three times as long as wide
  Vec3 at_mm;                ///< on the wall, at the root
};
const char* to_text(Whereabouts::Kind kind);
const char* to_text(Whereabouts::From from);

/// The pockets of the finished sheet at one height, in plan.
class PocketPlan {
public:
  /// Cells of the record's voxel at least, or of `least_cell_mm`.
  PocketPlan(const RemovalRecord& record, double z_mm, double least_cell_mm = 0);
  struct Run { ///< air on a straight line
    double low_mm = 0, high_mm = 0;
    int pocket = -1; ///< -1: not told
  };
  /// Air met along x (or y) through p, in order; columns decide.
  std::vector<Run> along(Vec2 p, bool x) const;
  bool slot(int pocket) const { return pockets_[static_cast<std::size_t>(pocket)].slot; }
  /// Outlines for a small plan: runs of air of each row of cells, mm.
  struct Strip {
    double x0_mm, x1_mm, y0_mm, y1_mm;
  };
  std::vector<Strip> strips() const;

private:
  int at(Vec2 p) const;
  struct Pocket {
    int x0, x1, y0, y1, cells;
    bool slot;
  };
  const RemovalRecord& record_;
  double z_mm_, cell_mm_;
  Vec2 low_, high_;
  int nx_ = 0, ny_ = 0;
  std::vector<int> label_; ///< of each cell; -1 foam
  std::vector<Pocket> pockets_;
};

/// Places of spots, the plan at each height made once.
class Places {
public:
  explicit Places(const JudgedJob& job) : job_(job) {}
  Whereabouts of(const Spot& spot);

private:
  const JudgedJob& job_;
  std::map<long, PocketPlan> plans_; ///< by height in half millimetres
};

} // namespace snagmap
