// Arcs as a program writes them: centre form and radius form, in the plane's own two axes.
#pragma once

#include "models/base/vec.hpp"

namespace snagmap {

/// A circle through start and end: its centre and the signed turn (+ anticlockwise about the plane's normal).
struct ArcFit {
  Vec2 centre;
  double turn_rad = 0;
  double mismatch_mm =
      0; ///< difference of the two radii (centre form), or half chord less radius (radius form)
};

/// Centre form. Equal ends mean one full turn.
ArcFit arc_by_centre(Vec2 start, Vec2 end, Vec2 centre, bool anticlockwise);
/// Radius form: R > 0 turns at most half a turn, R < 0 at least. A half chord longer than |R| gives a half
/// turn and a positive mismatch. The ends must differ.
ArcFit arc_by_radius(Vec2 start, Vec2 end, double radius_mm, bool anticlockwise);

/// One circle through its own start and end.
struct ArcPiece {
  Vec2 end, centre;
  double turn_rad = 0;
};
/// The arc that is cut when the two radii differ: the same ends, the same sense, on circles that pass through
/// both. One piece, or two when the turn is so long that one circle would lie far from the given centre. A
/// mismatch of up to 0.002 mm is left as it is.
/// Returns the number of pieces.
int through_both_ends(Vec2 start, Vec2 end, const ArcFit& fit, ArcPiece (&pieces)[2]);

} // namespace snagmap
