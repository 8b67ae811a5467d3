// Signed distance to the stock's surface at a moment, for level sets.
#pragma once

#include "sim/record/data.hpp"
#include "sim/swept/swept.hpp"

namespace snagmap {

/// Distance to the surface of the stock, mm, negative in foam: the distance of the sheet less the distances
/// of all sweeps done. Right to the sign everywhere and exact near a single wall; from the air side of an
/// inner corner it is a lower bound, as for any union of bodies.
class FoamDistance {
public:
  FoamDistance(const RecordData& data, Moment t) : data_(data), done_(data.sweeps.count_at(t)) {}
  /// Gathers what lies within `reach_mm` of a box; distances are then right up to that reach for points in
  /// it.
  void aim(const Box3& about, double reach_mm);
  double at(Vec3 p) const;

private:
  struct Stroke { // a cylinder on a level straight way, plan ends in a fixed order
    Vec2 a, b;
    double radius, low, high;
  };
  struct Bend { // a cylinder on a level arc of less than a turn; e0, e1 from the centre to its ends,
                // anticlockwise
    Vec2 centre, e0, e1;
    double ring, radius, low, high;
    bool wide; // more than half a turn
  };
  struct Other {
    std::uint32_t sweep, part;
    bool operator<(const Other& o) const { return sweep != o.sweep ? sweep < o.sweep : part < o.part; }
    bool operator==(const Other& o) const { return sweep == o.sweep && part == o.part; }
  };
  void add(std::uint32_t sweep, const Box3& reach);
  void merge_layers();
  void bend_arcs(Vec3 middle, double far_mm);

  const RecordData& data_;
  std::uint32_t done_;
  double reach_mm_ = 0;
  int x0_ = 0, x1_ = 0, y0_ = 0, y1_ = 0; // blocks
  std::vector<Stroke> strokes_;
  std::vector<Bend> bends_;
  std::vector<Other> others_;
};

} // namespace snagmap
