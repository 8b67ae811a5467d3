// A web bent as the model has it, for whoever draws it.
#pragma once

#include "sim/preview/preview.hpp"

namespace snagmap {

/// Foam this close to a web's wall leans with it. Round an island or a free end films cling that the pass has
/// not yet taken away; where the web runs into thick foam, as much would take the thick foam along.
inline double clinging_mm(const Web& web) {
  return web.end1 == WebEnd::free || web.end2 == WebEnd::free ? 1.5 : 0.6;
}

/// Displacement at a place, toward the cutter, mm.
struct BentWeb {
  BentWeb(const Spot& spot, const Preview& preview);
  Vec3 operator()(Vec3 place) const;
  /// Displacement at a height over the root at the spot itself, after `factor`.
  double at_height(double z_over_root_mm) const;
  /// The bare shape drawn larger or smaller.
  void scale(double times) { scale_mm_ *= times; }
  bool shape_only = false; ///< the mode's shape: millimetres mean nothing past the edge
  double factor = 1;       ///< drawn this many times as large as computed (1 when shape only)

private:
  const Spot& spot_;
  double top_mm_ = 0, width_mm_ = 1, scale_mm_ = 0;
};

} // namespace snagmap
