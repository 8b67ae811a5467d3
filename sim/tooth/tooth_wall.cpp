#include "sim/tooth/tooth_wall.hpp"

#include "sim/tooth/engaged.hpp"
#include "sim/verify/low_rank.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <map>

namespace snagmap {
namespace {

constexpr int kPatterns = 4; // smooth loads over the slices, as the verification asks
constexpr int kModes = 6;    // lowest of their modes; the rest of the compliance is in their scale

std::vector<double> densities(const ToothWall& from) {
  const BrickBox& box = from.wall.patch.box;
  std::vector<double> density(box.brick_count(), 0.0);
  const auto [nx, ny, nz] = box.bricks;
  for (int k = 0; k < nz; ++k)
    for (int j = 0; j < ny; ++j)
      for (int i = 0; i < nx; ++i) {
        const std::size_t brick = box.brick(i, j, k), layer = std::size_t(k);
        // its share of foam
        density[brick] = from.layer_t_mm3[layer] * double(box.modulus_MPa[brick]) / from.layer_E_MPa[layer];
      }
  return density;
}

/// E times the largest eigenvalue of the modes' compliance over the slices.
double gamma_of(const std::vector<WebMode>& modes, double E_MPa, double dz_mm) {
  Eigen::MatrixXd compliance = Eigen::MatrixXd::Zero(kSlices, kSlices);
  for (const WebMode& mode : modes) {
    const Eigen::Map<const Eigen::VectorXd> shape(mode.shape.data(), kSlices);
    compliance += shape * shape.transpose() / (mode.omega_rad_s * mode.omega_rad_s);
  }
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> solver(compliance, Eigen::EigenvaluesOnly);
  return E_MPa * dz_mm * solver.eigenvalues().maxCoeff();
}

} // namespace

OrUnsolved<ToothWall> wall_at(const JudgedJob& job, const Spot& spot) {
  PatchOptions choice;
  choice.finer = 1;
  OrUnsolved<WebPatch> patch = cut_patch(*job.record, job.scene, spot, choice);
  if (!patch)
    return patch.why_not();
  const std::vector<double> planes = patch->box.planes_mm(2);
  ToothWall out;
  for (int k = 0; k < patch->box.bricks[2]; ++k) {
    const double low = patch->origin_mm.z + planes[std::size_t(k)], high = low + patch->box.edge(2, k);
    out.layer_E_MPa.push_back(
        job.scene.mean_between(low, high, [](const FoamCard& f) { return f.E_kPa.nominal / 1000; }));
    out.layer_t_mm3.push_back(
        job.scene.mean_between(low, high, [](const FoamCard& f) { return f.density_kg_m3 * 1e-12; }));
  }
  out.wall = standard_wall(std::move(*patch), spot.question, 1);
  out.key = out.wall.key;
  for (const std::vector<double>* layers : {&out.layer_E_MPa, &out.layer_t_mm3})
    for (const double value : *layers) { // to nine figures: places differ by rounding
      char text[32];
      std::snprintf(text, sizeof text, " %.9g", value);
      out.key += text;
    }
  return out;
}

OrUnsolved<BoxModes> modes_of(const ToothWall& from) {
  const WebPatch& patch = from.wall.patch;
  std::vector<SpreadLoad> loads, readings;
  for (const SliceVector& pattern : smooth_patterns(kPatterns, patch.root_share)) {
    std::map<std::size_t, double> nodes;
    for (std::size_t s = 0; s < kSlices; ++s)
      for (const NodeShare& n : patch.slice[s])
        nodes[n.node] += pattern[s] * n.share;
    SpreadLoad load;
    for (const auto& [node, share] : nodes)
      load.parts.push_back({node, axis_y, share});
    loads.push_back(std::move(load));
  }
  for (std::size_t s = 0; s < kSlices; ++s) {
    SpreadLoad reading;
    for (const NodeShare& n : patch.slice[s])
      reading.parts.push_back({n.node, axis_y, n.share});
    readings.push_back(std::move(reading));
  }
  Outcome<BoxModes> modes = box_modes(patch.box, densities(from), loads, readings, {3, 1e-5});
  if (!modes)
    return Unsolved(unsolved::NoModes{});
  modes->modes.resize(std::min<std::size_t>(modes->modes.size(), kModes));
  return std::move(*modes);
}

std::vector<WebMode> scaled(std::vector<WebMode> modes, const Spot& spot, double E_MPa) {
  const double own = gamma_of(modes, E_MPa, slice_mm(spot.question));
  if (own > 0 && spot.answer.gamma > 0)
    for (WebMode& mode : modes)
      mode.omega_rad_s *= std::sqrt(own / spot.answer.gamma);
  return modes;
}

} // namespace snagmap
