// The bricks around a spot: foam of the record at the spot's moment, resampled in the web's own frame.
#pragma once

#include "models/web/compliance.hpp"
#include "sim/judge/judged_job.hpp"
#include "sim/solid/solid.hpp"

#include <array>
#include <vector>

namespace snagmap {

struct PatchOptions {
  int across = 3;           ///< bricks across the web at the least, times `finer`; both faces lie on the mesh
  int finer = 2;            ///< divides every edge: meshes with 1 and 2 are nested
  double side_heights = 2;  ///< foam to each side, in web heights
  double along_heights = 2; ///< and past the load along the web, plus b_p
  double growth = 1.3;      ///< of a brick's edge over that of the one nearer to the contact
  double most_heights = 0.4;  ///< largest edge in web heights, times `finer`
  double least_depth_mm = 25; ///< foam under the root: max(h, this), or down to the table if that is nearer
};

/// Share of a load, or of a mean, that a node carries.
struct NodeShare {
  std::size_t node = 0;
  double share = 0;
};

/// A place of the wall's surface under the flutes, in the patch's axes from its low corner.
struct ContactPlace {
  int slice = 0; ///< kSlices: the top edge
  Vec3 at_mm;
  double weight = 0; ///< of the slice's load; they sum to the root of the share of it that has foam
};

/// Patch axes: x along the web, y out of the wall toward the cutter, z up.
struct WebPatch {
  BrickBox box;
  Vec3 origin_mm;                         ///< low corner of the box in the work coordinates
  Vec2 along, out;                        ///< unit, the patch's x and y
  double w_mm = 0, h_mm = 0;              ///< thickness as looked at here; height from the question
  int load_x = 0, face_y = 0, root_z = 0; ///< node planes of the load's middle, the wall's face and the root
  double E_MPa = 0;                       ///< of the web's foam
  std::vector<ContactPlace> contact;      ///< b_p x slice on the wall's true surface
  std::array<double, kSlices> root_share{}; ///< root of the share of each slice's contact that has foam
  std::array<std::vector<NodeShare>, kSlices> slice; ///< the same, spread over nodes
  std::vector<NodeShare>
      top; ///< b_p of the web's top edge on the wall's side; empty where no foam is left there
  std::vector<std::size_t> face_nodes;  ///< of the wall on the cutter's side, for pictures
  Vec3 node_mm(std::size_t node) const; ///< in work coordinates
};

/// Unsolved when the web is gone at that moment, is thinner than a voxel, has no modulus or no contact.
OrUnsolved<WebPatch> cut_patch(const RemovalRecord& record, const Scene& scene, const Spot& spot,
                               const PatchOptions& options);

/// The mesh with edges twice as long that `fine`, of an even `finer`, came from: bricks of its bricks' mean.
WebPatch coarser(const WebPatch& fine);

} // namespace snagmap
