#include "sim/verify/contact.hpp"

#include "sim/verify/patch_foam.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

namespace snagmap {
namespace {

/// The layer a place lies in, the last one whose low plane is under it.
std::size_t layer_of(const std::vector<double>& planes, double at) {
  const auto above = std::upper_bound(planes.begin() + 1, planes.end() - 1, at);
  return std::size_t(above - planes.begin()) - 1;
}

/// Spreads a weight at a place over the nodes of the brick it lies in, or of the next one with foam behind
/// it.
void spread_place(const BrickBox& box, const std::array<std::vector<double>, 3>& planes, Vec3 place,
                  double weight, std::vector<NodeShare>& out) {
  const std::size_t i = layer_of(planes[0], place.x), k = layer_of(planes[2], place.z);
  std::size_t j = layer_of(planes[1], place.y);
  while (j > 0 && box.modulus_MPa[box.brick(int(i), int(j), int(k))] == 0)
    place.y = planes[1][j], --j;
  const double at[3] = {place.x, place.y, place.z};
  const std::size_t layer[3] = {i, j, k};
  double up[3];
  for (std::size_t a = 0; a < 3; ++a)
    up[a] =
        std::clamp((at[a] - planes[a][layer[a]]) / (planes[a][layer[a] + 1] - planes[a][layer[a]]), 0.0, 1.0);
  for (int corner = 0; corner < 8; ++corner) {
    const int x = corner & 1, y = corner >> 1 & 1, z = corner >> 2;
    const double share = weight * (x ? up[0] : 1 - up[0]) * (y ? up[1] : 1 - up[1]) * (z ? up[2] : 1 - up[2]);
    if (share > 0)
      out.push_back({box.node(int(i) + x, int(j) + y, int(k) + z), share});
  }
}

/// One entry a node, in their order.
void join_shares(std::vector<NodeShare>& shares) {
  std::sort(shares.begin(), shares.end(),
            [](const NodeShare& a, const NodeShare& b) { return a.node < b.node; });
  std::size_t last = 0;
  for (std::size_t n = 1; n < shares.size(); ++n)
    if (shares[n].node == shares[last].node)
      shares[last].share += shares[n].share;
    else
      shares[++last] = shares[n];
  shares.resize(shares.empty() ? 0 : last + 1);
}

/// Ends of an interval's parts between planes.
std::vector<double> cut_at(const std::vector<double>& planes, double low, double high) {
  std::vector<double> ends{low};
  for (const double plane : planes)
    if (plane > low + 1e-9 && plane < high - 1e-9)
      ends.push_back(plane);
  ends.push_back(high);
  return ends;
}
} // namespace

ContactFinder::ContactFinder(const RemovalRecord& record, const WebPatch& patch, Instant t, double b_p_mm,
                             double deep_mm)
    : record_(record), patch_(patch), t_(t), deep_mm_(deep_mm), b_p_mm_(b_p_mm),
      along_(patch.box.planes_mm(0)), up_(patch.box.planes_mm(2)),
      face_(patch.box.planes_mm(1)[std::size_t(patch.face_y)]) {
  const double middle = along_[std::size_t(patch.load_x)];
  x_ = cut_at(along_, std::max(0.0, middle - 0.5 * b_p_mm), std::min(along_.back(), middle + 0.5 * b_p_mm));
}

double ContactFinder::find(double low, double high, int slice, std::vector<ContactPlace>& places) const {
  const std::vector<double> z = cut_at(up_, low, high);
  const double gauss[2] = {0.5 - 0.5 / std::sqrt(3.0), 0.5 + 0.5 / std::sqrt(3.0)};
  const std::size_t first = places.size();
  double share = 0;
  for (std::size_t k = 0; k + 1 < z.size(); ++k)
    for (int up = 0; up < 2; ++up) {
      const double at_z = z[k] + gauss[up] * (z[k + 1] - z[k]), middle = middle_mm(at_z);
      for (std::size_t n = 0; n + 2 < 2 * x_.size(); ++n) {
        const std::size_t i = n / 2;
        const double x = x_[i] + gauss[n % 2] * (x_[i + 1] - x_[i]);
        const std::optional<double> y = surface(x, at_z, middle + deep_mm_);
        if (!y || face_ - *y < middle - deep_mm_)
          continue;
        const double weight = 0.25 * (x_[i + 1] - x_[i]) * (z[k + 1] - z[k]) / (b_p_mm_ * (high - low));
        places.push_back({slice, {x, *y, at_z}, weight});
        share += weight;
      }
    }
  for (std::size_t n = first; n < places.size(); ++n)
    places[n].weight /= std::sqrt(share);
  return share;
}

std::optional<double> ContactFinder::surface(double x, double z, double deep_mm) const {
  const double ahead = ahead_mm(); // the face leans where the cutter tapers
  const Vec2 from = xy(patch_.origin_mm) + x * patch_.along + (face_ + ahead) * patch_.out;
  const Span span =
      record_.look({from.x, from.y, patch_.origin_mm.z + z}, -1 * patch_.out, ahead + deep_mm, t_);
  if (!span.hit)
    return std::nullopt;
  return face_ + ahead - span.gap_mm;
}

double ContactFinder::ahead_mm() const {
  return std::max(kProbe_mm, std::min(0.25 * patch_.h_mm, 0.5 * b_p_mm_));
}

double ContactFinder::middle_mm(double z) const {
  const std::optional<double> y =
      surface(along_[std::size_t(patch_.load_x)], z, std::max(0.5 * patch_.w_mm, deep_mm_));
  return y ? face_ - *y : 0;
}

void set_loads(WebPatch& patch) {
  for (std::vector<NodeShare>& shares : patch.slice)
    shares.clear();
  patch.top.clear(), patch.face_nodes.clear();
  const BrickBox& box = patch.box;
  const auto [nx, ny, nz] = box.bricks;
  const std::array<std::vector<double>, 3> planes{box.planes_mm(0), box.planes_mm(1), box.planes_mm(2)};
  for (const ContactPlace& place : patch.contact)
    spread_place(box, planes, place.at_mm, place.weight,
                 place.slice < kSlices ? patch.slice[std::size_t(place.slice)] : patch.top);
  for (std::vector<NodeShare>& shares : patch.slice)
    join_shares(shares);
  join_shares(patch.top);
  double top = 0; // a mean
  for (const NodeShare& n : patch.top)
    top += n.share;
  for (NodeShare& n : patch.top)
    n.share /= top;
  const auto solid_face = [&, nx = nx, nz = nz](int i, int k) {
    return i >= 0 && k >= 0 && i < nx && k < nz && box.modulus_MPa[box.brick(i, patch.face_y - 1, k)] > 0;
  };
  for (int k = patch.root_z; k <= nz; ++k)
    for (int i = 0; i <= nx; ++i)
      if (solid_face(i, k) || solid_face(i - 1, k) || solid_face(i, k - 1) || solid_face(i - 1, k - 1))
        patch.face_nodes.push_back(box.node(i, patch.face_y, k));
}

} // namespace snagmap
