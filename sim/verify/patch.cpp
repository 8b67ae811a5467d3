#include "sim/verify/patch.hpp"

#include "sim/threads/parallel.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <optional>

namespace snagmap {
namespace {

constexpr double kProbe_mm = 1;  ///< how far in front of the wall the look for it starts
constexpr float kSliver = 0.05f; ///< shares of foam this near to 0 or 1 are taken as such
constexpr int kLooks = 4;        ///< lines through a column of bricks, two by two
constexpr double kCoarse = 1.5;  ///< bricks along the contact, times `finer`
constexpr double kGrowth = 1.3;  ///< of a brick's edge over that of the one nearer to the contact
constexpr double kMost = 0.4;    ///< largest edge in web heights, times `finer`
constexpr int kAlike = 6;        ///< more bricks than this across a web grow away from its face

Fault words(std::string what, std::string way_out) {
  Fault f;
  f.what = std::move(what), f.way_out = std::move(way_out);
  return f;
}

std::string mm(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.3g mm", value);
  return text;
}

struct Piece {
  double low = 0, high = 0;
};

/// Foam along `dir` from `from`, as distances, at most `reach`.
std::vector<Piece> foam_along(const RemovalRecord& record, Vec3 from, Vec2 dir, double reach, Instant t) {
  std::vector<Piece> pieces;
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

/// Edges that grow outward from one of `first_mm` by `kGrowth` a brick up to `most_mm`, over `length_mm` in
/// all.
std::vector<double> growing(double first_mm, double most_mm, double length_mm) {
  std::vector<double> edges;
  double sum = 0;
  for (double edge = first_mm; sum < length_mm * (1 - 1e-9);) {
    edge = std::min(kGrowth * edge, std::max(most_mm, first_mm));
    edges.push_back(edge), sum += edge;
  }
  for (double& edge : edges)
    edge *= length_mm / sum;
  return edges;
}

/// Edges from the middle of a load outward: alike under the load and one further, then growing, to the end.
std::vector<double> from_load(double end_mm, double edge_mm, double half_load_mm, double most_mm) {
  const double alike_mm = (std::ceil(half_load_mm / edge_mm - 1e-9) + 1) * edge_mm;
  if (end_mm <= alike_mm + edge_mm) {
    const int count = std::max(1, int(std::ceil(end_mm / edge_mm - 1e-9)));
    return std::vector<double>(std::size_t(count), end_mm / count);
  }
  std::vector<double> edges(std::size_t(std::lround(alike_mm / edge_mm)), edge_mm);
  const std::vector<double> off = growing(edge_mm, most_mm, end_mm - alike_mm);
  edges.insert(edges.end(), off.begin(), off.end());
  return edges;
}

/// Layers of bricks along one axis, from low to high.
class Layers {
public:
  void alike(int count, double edge_mm) { edges_.insert(edges_.end(), std::size_t(count), edge_mm); }
  void outward_up(const std::vector<double>& edges) {
    edges_.insert(edges_.end(), edges.begin(), edges.end());
  }
  void outward_down(const std::vector<double>& edges) {
    edges_.insert(edges_.end(), edges.rbegin(), edges.rend());
  }
  int count() const { return int(edges_.size()); }
  /// Each in `finer` parts.
  std::vector<double> divided(int finer) const {
    std::vector<double> all;
    for (const double edge : edges_)
      all.insert(all.end(), std::size_t(finer), edge / finer);
    return all;
  }

private:
  std::vector<double> edges_;
};

/// Share of the hat function of node `n` that lies on the interval, and of what stands on one brick beside it
/// only: bricks differ, so a hat has two sides.
double hat(const std::vector<double>& planes, double low, double high, int n, int brick) {
  const double a = std::max(low, planes[std::size_t(brick)]),
               b = std::min(high, planes[std::size_t(brick) + 1]);
  if (a >= b)
    return 0;
  const double edge = planes[std::size_t(brick) + 1] - planes[std::size_t(brick)];
  const double far = planes[std::size_t(n == brick ? brick + 1 : brick)];
  const double p = std::abs(a - far) / edge, q = std::abs(b - far) / edge; // the hat at both places
  return 0.5 * (p + q) * (b - a);
}

void hold_cut_faces(BrickBox& box) {
  for (const auto cut :
       {BrickFace::x_low, BrickFace::x_high, BrickFace::y_low, BrickFace::y_high, BrickFace::z_low})
    box.fix(cut);
}

/// Loads: the part of each slice's patch that lies on foam, spread consistently over the face's nodes.
std::optional<Fault> set_loads(WebPatch& patch, const SnagQuestion& q) {
  const BrickBox& box = patch.box;
  const auto [nx, ny, nz] = box.bricks;
  const std::vector<double> along = box.planes_mm(0), up = box.planes_mm(2);
  const double middle = along[std::size_t(patch.load_x)], root = up[std::size_t(patch.root_z)];
  const double x0 = middle - 0.5 * q.web.b_p_mm, x1 = middle + 0.5 * q.web.b_p_mm;
  const auto solid_face = [&, nx = nx, nz = nz](int i, int k) {
    return i >= 0 && k >= 0 && i < nx && k < nz && box.modulus_MPa[box.brick(i, patch.face_y - 1, k)] > 0;
  };
  const double reach = q.contact.high_mm - q.contact.low_mm;
  for (int s = 0; s < kSlices; ++s) {
    const double z0 = root + q.contact.low_mm + reach * s / kSlices;
    const double z1 = root + q.contact.low_mm + reach * (s + 1) / kSlices;
    double total = 0;
    for (int k = 0; k < nz; ++k) {
      if (up[std::size_t(k) + 1] <= z0 || up[std::size_t(k)] >= z1)
        continue;
      for (int i = 0; i < nx; ++i) {
        if (along[std::size_t(i) + 1] <= x0 || along[std::size_t(i)] >= x1 || !solid_face(i, k))
          continue;
        for (int c = 0; c < 4; ++c) {
          const double share = hat(along, x0, x1, i + (c & 1), i) * hat(up, z0, z1, k + (c >> 1), k);
          patch.slice[std::size_t(s)].push_back({box.node(i + (c & 1), patch.face_y, k + (c >> 1)), share});
          total += share;
        }
      }
    }
    if (!(total > 0))
      return words("the wall's face is not where the spot says at " +
                       mm(q.contact.low_mm + reach * s / kSlices) +
                       " over the root: the web is gone there or stands askew",
                   "the formula's value stays");
    for (NodeShare& n : patch.slice[std::size_t(s)])
      n.share /= total;
  }
  double edge = 0;
  for (int i = 0; i < nx; ++i)
    if (along[std::size_t(i) + 1] > x0 && along[std::size_t(i)] < x1 && solid_face(i, nz - 1))
      for (int c = 0; c < 2; ++c) {
        patch.top.push_back({box.node(i + c, patch.face_y, nz), hat(along, x0, x1, i + c, i)});
        edge += patch.top.back().share;
      }
  for (NodeShare& n : patch.top)
    n.share /= edge;
  for (int k = patch.root_z; k <= nz; ++k)
    for (int i = 0; i <= nx; ++i)
      if (solid_face(i, k) || solid_face(i - 1, k) || solid_face(i, k - 1) || solid_face(i - 1, k - 1))
        patch.face_nodes.push_back(box.node(i, patch.face_y, k));
  return std::nullopt;
}

} // namespace

Vec3 WebPatch::node_mm(std::size_t node) const {
  const Vec3 p = box.node_mm(node);
  return {origin_mm.x + p.x * along.x + p.y * out.x, origin_mm.y + p.x * along.y + p.y * out.y,
          origin_mm.z + p.z};
}

Outcome<WebPatch> cut_patch(const RemovalRecord& record, const Scene& scene, const Spot& spot,
                            const PatchOptions& options) {
  const SnagQuestion& q = spot.question;
  const double h = q.web.h_mm, b_p = q.web.b_p_mm, root = spot.place_mm.z;
  const double reach = q.contact.high_mm - q.contact.low_mm;
  const Instant t(spot.move, spot.move_share); // as in the watch
  if (!(h > 0) || !(b_p > 0) || !(reach > 0))
    return words("the spot has no wall in reach of the flutes", "nothing to do: the formula's value stays");

  WebPatch patch;
  patch.out = spot.normal;
  patch.along = {spot.normal.y, -spot.normal.x}; // x, y, z right-handed
  patch.h_mm = h;
  const double look_z = root + 0.25 * h; // the middle of the lowest half, which governs bending
  const Vec2 probe = xy(spot.place_mm) + kProbe_mm * patch.out;
  const Span span = record.look({probe.x, probe.y, look_z}, -1 * patch.out, 80, t);
  if (!span.hit || span.gap_mm > kProbe_mm + std::max(1.0, 0.5 * q.web.w_mm))
    return words("the web is gone at this moment: no foam within reach of the spot's place",
                 "check the spot's line in the program; the formula's value stays");
  if (!span.through)
    return words("the foam behind the wall is thicker than 80 mm: no web", "the formula's value stays");
  patch.w_mm = span.thickness_mm;
  if (patch.w_mm < record.voxel_mm())
    return words("the web is " + mm(patch.w_mm) + " thick, less than one voxel of the record (" +
                     mm(record.voxel_mm()) + "): its walls are not resolved along its length",
                 "preview with a smaller --voxel");
  const Vec2 face_place = probe - span.gap_mm * patch.out;
  const FoamCard& foam = scene.foam_between(root, root + h);
  patch.E_MPa = foam.E_kPa.nominal / 1000;
  if (!(patch.E_MPa > 0))
    return words("the foam's modulus is zero", "give the foam a modulus E above zero");

  // Layers, before they are divided. Along: alike where the load is, then growing. Out of the wall: w/across
  // but fine enough for the patch on thick webs. Up: the contact has at least three.
  const double coarse = std::min(b_p / kCoarse, h / 6), most = kMost * h;
  const int across = std::max(options.across, int(std::ceil(patch.w_mm / coarse)));
  const double edge_y = patch.w_mm / across;
  const double table = record.box().low.z;
  const double depth = std::min(std::max(root - table, 0.0), std::max(h, options.least_depth_mm));
  // A free end a little past the patch would be held by the cut: take it in, it costs little.
  double along = options.along_heights * h + b_p;
  for (const double d : {q.web.d1_mm, q.web.d2_mm})
    if (d > along - h && d <= along + h)
      along = std::max(along, d + 0.5 * h);
  Layers x, y, z;
  int load_x = 0;
  const double inside = std::min(0.5 * patch.w_mm, 0.5 * h);
  for (const double way : {-1.0, 1.0}) { // the wall's own end is a plane of nodes too
    const Vec2 from = face_place - inside * patch.out;
    const std::vector<Piece> ahead =
        foam_along(record, {from.x, from.y, look_z}, way * patch.along, along, t);
    const double end = !ahead.empty() && ahead[0].low < 1e-6 ? ahead[0].high : along;
    std::vector<double> edges = from_load(end, coarse, 0.5 * b_p, most);
    if (end < along - 0.25 * edges.back()) {
      const std::vector<double> past = growing(edges.back(), most, along - end);
      edges.insert(edges.end(), past.begin(), past.end());
    }
    way < 0 ? x.outward_down(edges) : x.outward_up(edges);
    if (way < 0)
      load_x = x.count();
  }
  const std::vector<double> off_wall = growing(edge_y, most, options.side_heights * h);
  y.outward_down(off_wall); // behind the web
  if (across <= kAlike)
    y.alike(across, edge_y);
  else
    y.outward_down(growing(edge_y / kGrowth, most, patch.w_mm));
  const int face = y.count();
  y.outward_up(off_wall);
  const double high = std::min(q.contact.high_mm, h);
  const int in_reach = std::max(1, int(std::ceil(high / std::min(h / 6, reach / 3) - 1e-9)));
  const double edge_z = high / in_reach;
  if (depth > 0.25 * edge_z)
    z.outward_down(growing(edge_z / kGrowth, most, depth));
  const int under = z.count();
  z.alike(in_reach, edge_z);
  if (h - high > 1e-6 * h)
    z.outward_up(growing(edge_z, h / 6, h - high));
  const int finer = options.finer;
  BrickBox& box = patch.box;
  box = BrickBox({x.count() * finer, y.count() * finer, z.count() * finer},
                 {coarse / finer, edge_y / finer, edge_z / finer}, foam.nu.nominal, 0);
  box.graded_mm = {x.divided(finer), y.divided(finer), z.divided(finer)};
  patch.face_y = face * finer;
  patch.root_z = under * finer;
  const std::array<std::vector<double>, 3> planes{box.planes_mm(0), box.planes_mm(1), box.planes_mm(2)};
  patch.load_x = load_x * finer;
  const double middle_x = planes[0][std::size_t(patch.load_x)],
               face_at = planes[1][std::size_t(patch.face_y)], root_at = planes[2][std::size_t(patch.root_z)];
  const Vec2 corner = face_place - middle_x * patch.along - face_at * patch.out;
  patch.origin_mm = {corner.x, corner.y, root - root_at};

  // Foam of each brick: exact walls along lines out of the wall, at two heights and two places along.
  const auto [nx, ny, nz] = box.bricks;
  const double width = planes[1].back();
  parallel_each(nz, [&, nx = nx, ny = ny](int k) {
    const double floor_z = patch.origin_mm.z + planes[2][std::size_t(k)], tall = box.edge(2, k);
    const double E = scene.mean_between(floor_z, floor_z + tall, [](const FoamCard& card) {
      return card.E_kPa.nominal / 1000; // a brick that holds a joint has the mean of both foams
    });
    std::vector<double> share(std::size_t(ny), 0.0);
    for (int i = 0; i < nx; ++i) {
      std::fill(share.begin(), share.end(), 0.0);
      for (int n = 0; n < kLooks; ++n) {
        const double up = n % 2 ? 0.75 : 0.25, ahead = n / 2 ? 0.75 : 0.25;
        const Vec2 at = corner + (planes[0][std::size_t(i)] + ahead * box.edge(0, i)) * patch.along;
        // Under the table's top nothing is removed and nothing of the sheet lies either: stay just inside.
        const double look_at = std::max(floor_z + up * tall, table + 1e-4);
        for (const Piece& piece : foam_along(record, {at.x, at.y, look_at}, patch.out, width, t)) {
          const auto first = std::upper_bound(planes[1].begin(), planes[1].end(), piece.low) - 1;
          for (int j = int(first - planes[1].begin()); j < ny && planes[1][std::size_t(j)] < piece.high; ++j)
            share[std::size_t(j)] += std::max(0.0, std::min(piece.high, planes[1][std::size_t(j + 1)]) -
                                                       std::max(piece.low, planes[1][std::size_t(j)])) /
                                     (kLooks * box.edge(1, j));
        }
      }
      for (int j = 0; j < ny; ++j) {
        float s = float(share[std::size_t(j)]);
        s = s < kSliver ? 0 : s > 1 - kSliver ? 1 : s;
        box.modulus_MPa[box.brick(i, j, k)] = float(E) * s;
      }
    }
  });
  hold_cut_faces(box);
  if (const auto fault = set_loads(patch, q))
    return *fault;
  return patch;
}

Outcome<WebPatch> coarser(const WebPatch& fine, const SnagQuestion& question) {
  WebPatch patch;
  patch.origin_mm = fine.origin_mm, patch.along = fine.along, patch.out = fine.out;
  patch.w_mm = fine.w_mm, patch.h_mm = fine.h_mm, patch.E_MPa = fine.E_MPa;
  patch.load_x = fine.load_x / 2, patch.face_y = fine.face_y / 2, patch.root_z = fine.root_z / 2;
  const auto [nx, ny, nz] = fine.box.bricks;
  patch.box =
      BrickBox({nx / 2, ny / 2, nz / 2},
               {2 * fine.box.edge_mm[0], 2 * fine.box.edge_mm[1], 2 * fine.box.edge_mm[2]}, fine.box.nu, 0);
  BrickBox& box = patch.box;
  for (int a = 0; a < 3; ++a)
    for (int n = 0; n < box.bricks[std::size_t(a)]; ++n)
      box.graded_mm[std::size_t(a)].push_back(fine.box.edge(a, 2 * n) + fine.box.edge(a, 2 * n + 1));
  for (int k = 0; k < nz; ++k)
    for (int j = 0; j < ny; ++j)
      for (int i = 0; i < nx; ++i) // all eight are of one size
        box.modulus_MPa[box.brick(i / 2, j / 2, k / 2)] +=
            0.125f * fine.box.modulus_MPa[fine.box.brick(i, j, k)];
  hold_cut_faces(box);
  if (const auto fault = set_loads(patch, question))
    return *fault;
  return patch;
}

} // namespace snagmap
