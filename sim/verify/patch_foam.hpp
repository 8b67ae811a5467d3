// What the record says of the foam a patch of bricks is made of.
#pragma once

#include "sim/verify/patch.hpp"

#include <vector>

namespace snagmap {

constexpr double kProbe_mm = 1; ///< how far in front of the wall the look for it starts

/// Of foam along a line, as distances from where it begins.
struct FoamPiece {
  double low = 0, high = 0;
};
/// Foam along `dir` from `from`, at most `reach`.
std::vector<FoamPiece> foam_along(const RemovalRecord& record, Vec3 from, Vec2 dir, double reach, Instant t);

/// How far behind the face's plane the web's two faces stand upright for a part of its height, where that is
/// elsewhere than at the height that was looked at: furthest first. They are planes of the mesh too, as a
/// brick that a face cuts in two is taken for a softer one.
std::vector<double> steps_behind_face(const RemovalRecord& record, Vec2 face_place, const WebPatch& patch,
                                      double root, Instant t);

/// Is the web softer or thinner at its foot than higher up? Then it spreads a load further along.
bool soft_foot(const RemovalRecord& record, const Scene& scene, Vec2 face_place, const WebPatch& patch,
               double root, Instant t);

/// The modulus of each brick: its foam's, times the share of it that is foam. The box has its planes.
void fill_bricks(const RemovalRecord& record, const Scene& scene, WebPatch& patch, Instant t);

} // namespace snagmap
