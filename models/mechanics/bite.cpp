#include "models/mechanics/bite.hpp"

#include "models/base/constants.hpp"
#include "models/base/finite.hpp"
#include "models/mechanics/engagement.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace snagmap {
namespace {

double pick(const Banded& value, BandEnd end) {
  return end == BandEnd::low ? value.low : end == BandEnd::high ? value.high : value.nominal;
}

} // namespace

SlicePush slice_push(double xi) {
  require_finite("slicing ratio", xi);
  return {1 / (1 + xi * xi), xi / (1 + xi * xi)};
}

CutForce cut_force(const Cut& cut, const CutterCard& cutter, const FoamCard& foam, BandEnd end) {
  require_finite("depth and engaged angle of a cut", cut.depth_mm, cut.engaged_rad);
  if (!(cut.chip_mm >= 0))
    throw std::invalid_argument("a chip's thickness must be a number");
  CutForce force;
  const double xi = std::tan(cutter.helix_deg * kRadPerDeg);
  const SlicePush push = slice_push(xi);
  const double straight =
      std::min(pick(foam.cut_force_N_mm, end), pick(foam.severing_MJ_m3, end) * cut.chip_mm);
  force.edge_N_mm = straight * push.across;
  const double edge_in_cut = cut.depth_mm * teeth_in_cut(cutter.flutes, cut.engaged_rad);
  force.tangential_N = force.edge_N_mm * edge_in_cut;
  force.lift_N = straight * push.along * edge_in_cut;
  return force;
}

} // namespace snagmap
