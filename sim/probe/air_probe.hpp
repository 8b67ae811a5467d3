// Is there air at a place: exactly, from the sweeps themselves.
#pragma once

#include "sim/record/data.hpp"
#include "sim/swept/swept.hpp"

namespace snagmap {

/// Gathers the sweeps near a place once, then answers for many points about it at one height.
class AirProbe {
public:
  explicit AirProbe(const RecordData& data) : data_(data) {}
  /// Points within `reach_mm` of `centre` at height z, in the stock of moment t.
  void aim(Vec2 centre, double reach_mm, double z, Moment t);
  /// Adds the part of a sweep up to the share s: a move under way.
  void add_part(const Sweep& sweep, double s);
  /// True where a sweep holds the point deeper than a rounding error, or outside the sheet.
  bool air(Vec2 p) const;

private:
  struct Disc { // of radius r along a..b, both in plan
    Vec2 a, e;
    double inverse_l2, r2;
  };
  void add(const Sweep& sweep, const SweptArc* arc);

  const RecordData& data_;
  double z_ = 0;
  Vec2 centre_;
  double reach_ = 0;
  std::vector<Disc> discs_;                        // level moves and cylinders on slopes
  std::vector<std::pair<Sweep, SweptArc>> others_; // arcs, curved parts on slopes
};

} // namespace snagmap
