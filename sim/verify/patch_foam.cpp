#include "sim/verify/patch_foam.hpp"

#include "sim/threads/parallel.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>

namespace snagmap {
namespace {

constexpr float kSliver = 0.05f; ///< shares of foam this near to 0 or 1 are taken as such
constexpr int kLooks = 4;        ///< lines through a row of bricks, two by two
constexpr double kThinner = 0.9; ///< at the foot than higher up

bool alike(const std::vector<FoamPiece>& a, const std::vector<FoamPiece>& b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](const FoamPiece& one, const FoamPiece& other) {
    return one.low == other.low && one.high == other.high;
  });
}

} // namespace

std::vector<FoamPiece> foam_along(const RemovalRecord& record, Vec3 from, Vec2 dir, double reach, Instant t) {
  std::vector<FoamPiece> pieces;
  for (double at = 0; at < reach;) {
    const Span span = record.look({from.x + at * dir.x, from.y + at * dir.y, from.z}, dir, reach - at, t);
    if (!span.hit)
      break;
    const double low = at + span.gap_mm;
    const double high = span.through ? low + span.thickness_mm : reach;
    pieces.push_back({low, std::min(high, reach)});
    at = high + 1e-6; // past the wall, into the air behind it
  }
  return pieces;
}

std::vector<double> steps_behind_face(const RemovalRecord& record, Vec2 face_place, const WebPatch& patch,
                                      double root, Instant t) {
  constexpr int kHeights = 24;
  constexpr double kLeast = 1.0 / 12; // of the thickness, apart
  std::vector<double> steps;
  double last[2] = {-1, -1};
  for (int n = 0; n < kHeights; ++n) {
    const double z = root + (n + 0.5) / kHeights * patch.h_mm;
    const std::vector<FoamPiece> pieces = foam_along(
        record, {face_place.x + kProbe_mm * patch.out.x, face_place.y + kProbe_mm * patch.out.y, z},
        -1 * patch.out, patch.w_mm + kProbe_mm + 1, t);
    double now[2] = {-1, -1};
    if (pieces.size() == 1)
      now[0] = pieces[0].low - kProbe_mm, now[1] = pieces[0].high - kProbe_mm;
    for (const int side : {0, 1})
      if (std::abs(now[side] - last[side]) < 1e-6 && now[side] > kLeast * patch.w_mm &&
          now[side] < (1 - kLeast) * patch.w_mm)
        steps.push_back(now[side]);
    std::copy_n(now, 2, last);
  }
  std::sort(steps.begin(), steps.end(), std::greater<>());
  steps.erase(std::unique(steps.begin(), steps.end(),
                          [&](double a, double b) { return a - b < kLeast * patch.w_mm; }),
              steps.end());
  return steps;
}

bool soft_foot(const RemovalRecord& record, const Scene& scene, Vec2 face_place, const WebPatch& patch,
               double root, Instant t) {
  constexpr int kHeights = 16;
  double joint = scene.sheet.low.z, softest = 0;
  for (const Layer& layer : scene.layers) {
    const double low = joint, E = layer.foam.E_kPa.nominal;
    joint += layer.thickness_mm;
    if (joint < root - patch.h_mm + 1e-6 || low > root + patch.h_mm - 1e-6)
      continue;
    if (softest > 0 && E > softest / kThinner)
      return true;
    softest = softest > 0 ? std::min(softest, E) : E;
  }
  double thinnest = 0;
  for (int n = 0; n < kHeights; ++n) {
    const double z = root + (n + 0.5) / kHeights * patch.h_mm;
    double w = 0; // of what stands there, whatever lies in front of it
    for (const FoamPiece& piece : foam_along(
             record, {face_place.x + kProbe_mm * patch.out.x, face_place.y + kProbe_mm * patch.out.y, z},
             -1 * patch.out, 2 * patch.w_mm + kProbe_mm, t))
      w += piece.high - piece.low;
    if (n < kHeights / 2 && w > 0)
      thinnest = thinnest > 0 ? std::min(thinnest, w) : w;
    if (w > thinnest / kThinner)
      return true;
  }
  return false;
}

namespace {

/// Adds what a line out of the wall meets to the shares of a row of bricks.
void add_shares(const std::vector<FoamPiece>& pieces, const BrickBox& box, const std::vector<double>& planes,
                std::vector<double>& share) {
  for (const FoamPiece& piece : pieces) {
    const auto first = std::upper_bound(planes.begin(), planes.end(), piece.low) - 1;
    for (std::size_t j = std::size_t(first - planes.begin()); j < share.size() && planes[j] < piece.high; ++j)
      share[j] += std::max(0.0, std::min(piece.high, planes[j + 1]) - std::max(piece.low, planes[j])) /
                  (kLooks * box.edge(1, int(j)));
  }
}

} // namespace

// Exact walls along lines out of the wall, at two heights and two places along. Most walls stand upright: a
// layer at whose middle, and at the middles above and below it, a line meets the same foam is not looked at
// twice.
void fill_bricks(const RemovalRecord& record, const Scene& scene, WebPatch& patch, Instant t) {
  BrickBox& box = patch.box;
  const std::array<std::vector<double>, 3> planes{box.planes_mm(0), box.planes_mm(1), box.planes_mm(2)};
  const auto [nx, ny, nz] = box.bricks;
  const double width = planes[1].back(), table = record.box().low.z;
  std::vector<double> E_MPa(static_cast<std::size_t>(nz));
  for (int k = 0; k < nz; ++k)
    E_MPa[std::size_t(k)] =
        scene.mean_between(patch.origin_mm.z + planes[2][std::size_t(k)],
                           patch.origin_mm.z + planes[2][std::size_t(k) + 1], [](const FoamCard& card) {
                             return card.E_kPa.nominal / 1000; // of a joint both foams
                           });
  parallel_each(nx, [&, ny = ny, nz = nz](int i) {
    std::vector<std::vector<double>> share(std::size_t(nz), std::vector<double>(std::size_t(ny), 0.0));
    std::vector<std::vector<FoamPiece>> middle(static_cast<std::size_t>(nz));
    for (const double ahead : {0.25, 0.75}) {
      const Vec2 at =
          xy(patch.origin_mm) + (planes[0][std::size_t(i)] + ahead * box.edge(0, i)) * patch.along;
      const auto look = [&](int k, double up) {
        const double at_z = patch.origin_mm.z + planes[2][std::size_t(k)] + up * box.edge(2, k);
        // Under the table's top nothing is removed and nothing of the sheet lies either: stay just inside.
        return foam_along(record, {at.x, at.y, std::max(at_z, table + 1e-4)}, patch.out, width, t);
      };
      for (int k = 0; k < nz; ++k)
        middle[std::size_t(k)] = look(k, 0.5);
      for (int k = 0; k < nz; ++k) {
        const std::vector<FoamPiece>& here = middle[std::size_t(k)];
        const bool upright = alike(here, middle[std::size_t(std::max(k - 1, 0))]) &&
                             alike(here, middle[std::size_t(std::min(k + 1, nz - 1))]);
        for (const double up : {0.25, 0.75})
          add_shares(upright ? here : look(k, up), box, planes[1], share[std::size_t(k)]);
      }
    }
    for (int k = 0; k < nz; ++k)
      for (int j = 0; j < ny; ++j) {
        float s = float(share[std::size_t(k)][std::size_t(j)]);
        s = s < kSliver ? 0 : s > 1 - kSliver ? 1 : s;
        box.modulus_MPa[box.brick(i, j, k)] = float(E_MPa[std::size_t(k)]) * s;
      }
  });
}

} // namespace snagmap
