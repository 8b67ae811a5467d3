// A body swept along a move: its heights over a column, its chord along a horizontal ray.
#pragma once

#include "sim/swept/profile.hpp"
#include "sim/swept/sweep.hpp"

namespace snagmap {

/// What a swept part takes of the vertical line through a place, during one window of its move.
struct Heights {
  double low, high; ///< mm
  double s0;        ///< share of the sweep when it comes over the place
  double s;         ///< share when its axis is nearest
  double distance;  ///< then, mm
};
struct HeightsList {
  std::array<Heights, Windows::kMost> at;
  int count = 0;
};

inline bool is_level(const Sweep& sweep) {
  return sweep.za == sweep.zb || sweep.kind == SweepKind::upright;
}

/// The shares of the sweep during which its disc of `radius` covers p.
void windows_over(const Sweep& sweep, const Sweeps& sweeps, double radius, Vec2 p, Windows& out);

/// Exact for every case that `sweeps_of` leaves. O(1), or 60 steps of bisection for a torus on a slope.
void heights_over(const Sweep& sweep, const Sweeps& sweeps, const BodyPart& part, Vec2 p, HeightsList& out);

/// Air that the part leaves along the ray o + u d (d unit, horizontal) at height z. Closed forms for
/// cylinders, level moves and balls; else the roots of the exact heights along the ray, to 1e-9 mm.
void air_chords(const Sweep& sweep, const Sweeps& sweeps, const BodyPart& part, double z, Vec2 o, Vec2 d,
                Chords& out);

/// Where air_chords can find air at most, for the chords it has to search for; false: it searches for none.
bool searched_within(const Sweep& sweep, const BodyPart& part, double z, Vec2 o, Vec2 d, Chord& bound);

} // namespace snagmap
