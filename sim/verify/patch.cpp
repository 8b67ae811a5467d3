#include "sim/verify/patch.hpp"

#include "sim/threads/parallel.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace snagmap {
namespace {

constexpr double kProbe_mm = 1;  ///< how far in front of the wall the look for it starts
constexpr float kSliver = 0.05f; ///< shares of foam this near to 0 or 1 are taken as such
constexpr int kLooks = 8;        ///< lines through a column of bricks
constexpr int kWhole = 4;        ///< brick counts are multiples of this, so two coarser grids fit
constexpr double kCoarse = 1.5;  ///< bricks along the contact, times `finer`

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

int whole(double count) {
  return std::max(kWhole, int(std::ceil(count / kWhole - 1e-9)) * kWhole);
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

/// Bricks over the root and under it with one edge, such that both heights come out: the number over the root
/// is raised a little when that fits the depth better.
struct Rise {
  int over = 0, under = 0;
  double edge_mm = 0;
};
Rise choose_rise(double h, double depth, double wanted_mm) {
  Rise best;
  double best_miss = 0;
  const int least = std::max(2, int(std::ceil(h / wanted_mm)));
  for (int over = least; over <= least + least / 3 + 2; ++over) {
    const double edge = h / over;
    const int under = depth > 0.25 * edge ? std::max(1, int(std::lround(depth / edge))) : 0;
    const double miss =
        std::abs(under * edge - depth) / h + 0.002 * (over - least) + (under % kWhole ? 0.01 : 0);
    if (best.over == 0 || miss < best_miss)
      best = {over, under, edge}, best_miss = miss;
  }
  return best;
}

/// Share of a hat function at node `n` (spacing 1) over the interval.
double hat(double low, double high, int n) {
  const auto integral = [](double a, double b) { // of 1 - |t| between a and b inside one side
    return (b - a) - 0.5 * (b * std::abs(b) - a * std::abs(a));
  };
  const double a = std::clamp(low - n, -1.0, 1.0), b = std::clamp(high - n, -1.0, 1.0);
  if (a >= b)
    return 0;
  const auto one_side = [&](double p, double q) { return p < q ? integral(p, q) : 0.0; };
  return one_side(a, std::min(b, 0.0)) + one_side(std::max(a, 0.0), b);
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
  const Vec2 face = probe - span.gap_mm * patch.out;
  const FoamCard& foam = scene.foam_between(root, root + h);
  patch.E_MPa = foam.E_kPa.nominal / 1000;
  if (!(patch.E_MPa > 0))
    return words("the foam's modulus is zero", "give the foam a modulus E above zero");

  // Edges, before they are divided: along, by the load's patch; out of the wall, w/across but fine enough for
  // the patch on thick webs; up, so that the contact has at least three bricks.
  const double coarse = std::min(b_p / kCoarse, h / 6);
  const int across = std::max(options.across, int(std::ceil(patch.w_mm / coarse)));
  const double edge_x = coarse, edge_y = patch.w_mm / across;
  const double table = record.box().low.z;
  const double depth = std::min(std::max(root - table, 0.0), std::max(h, options.least_depth_mm));
  const Rise rise = choose_rise(h, depth, std::min(h / 6, reach / 3));
  const int side = int(std::ceil(options.side_heights * h / edge_y));
  const int through = whole(2 * side + across); // what is over lies behind
  // A free end a little past the patch would be held by the cut: take it in, it costs little.
  double along = options.along_heights * h + b_p;
  for (const double d : {q.web.d1_mm, q.web.d2_mm})
    if (d > along - h && d <= along + h)
      along = std::max(along, d + 0.5 * h);
  const int half = 2 * int(std::ceil(along / (2 * edge_x)));
  BrickBox& box = patch.box;
  const int finer = options.finer;
  box = BrickBox({2 * half * finer, through * finer, (rise.under + rise.over) * finer},
                 {edge_x / finer, edge_y / finer, rise.edge_mm / finer}, foam.nu.nominal, 0);
  patch.face_y = (through - side) * finer;
  patch.root_z = rise.under * finer;
  const Vec2 corner = face - (half * edge_x) * patch.along - ((through - side) * edge_y) * patch.out;
  patch.origin_mm = {corner.x, corner.y, root - rise.under * rise.edge_mm};

  // Foam of each brick: exact walls along lines out of the wall, at two heights and four places along.
  const auto [nx, ny, nz] = box.bricks;
  const auto [brick_x, brick_y, brick_z] = box.edge_mm;
  const double width = ny * brick_y;
  parallel_each(nz, [&, nx = nx, ny = ny, edge_x = brick_x, edge_y = brick_y, edge_z = brick_z](int k) {
    const double floor_z = patch.origin_mm.z + k * edge_z;
    const double E = scene.mean_between(floor_z, floor_z + edge_z, [](const FoamCard& card) {
      return card.E_kPa.nominal / 1000; // a brick that holds a joint has the mean of both foams
    });
    for (int i = 0; i < nx; ++i) {
      std::vector<float> share(std::size_t(ny), 0.0f);
      for (int n = 0; n < kLooks; ++n) {
        const double up = n % 2 ? 0.75 : 0.25, ahead = (n / 2 + 0.5) / (kLooks / 2);
        const Vec2 at = corner + ((i + ahead) * edge_x) * patch.along;
        // Under the table's top nothing is removed and nothing of the sheet lies either: stay just inside.
        const double z = std::max(floor_z + up * edge_z, table + 1e-4);
        for (const Piece& piece : foam_along(record, {at.x, at.y, z}, patch.out, width, t))
          for (int j = std::max(0, int(piece.low / edge_y)); j < ny && j * edge_y < piece.high; ++j)
            share[std::size_t(j)] += float(
                1.0 / kLooks *
                std::max(0.0, std::min(piece.high, (j + 1) * edge_y) - std::max(piece.low, j * edge_y)) /
                edge_y);
      }
      for (int j = 0; j < ny; ++j) {
        float s = share[std::size_t(j)];
        s = s < kSliver ? 0 : s > 1 - kSliver ? 1 : s;
        box.modulus_MPa[box.brick(i, j, k)] = float(E) * s;
      }
    }
  });
  for (const auto cut :
       {BrickFace::x_low, BrickFace::x_high, BrickFace::y_low, BrickFace::y_high, BrickFace::z_low})
    box.fix(cut);

  // Loads: the part of each slice's patch that lies on foam, spread consistently over the face's nodes.
  const double x0 = half * finer - 0.5 * b_p / brick_x, x1 = half * finer + 0.5 * b_p / brick_x;
  const auto solid_face = [&, nx = nx, nz = nz](int i, int k) {
    return i >= 0 && k >= 0 && i < nx && k < nz && box.modulus_MPa[box.brick(i, patch.face_y - 1, k)] > 0;
  };
  for (int s = 0; s < kSlices; ++s) {
    const double z0 = patch.root_z + (q.contact.low_mm + reach * s / kSlices) / brick_z;
    const double z1 = patch.root_z + (q.contact.low_mm + reach * (s + 1) / kSlices) / brick_z;
    double total = 0;
    for (int k = std::max(0, int(z0)); k < nz && k < z1; ++k)
      for (int i = std::max(0, int(x0)); i < nx && i < x1; ++i) {
        if (!solid_face(i, k))
          continue;
        const double xa = std::max(x0, double(i)), xb = std::min(x1, i + 1.0);
        const double za = std::max(z0, double(k)), zb = std::min(z1, k + 1.0);
        for (int c = 0; c < 4; ++c) {
          const double share = hat(xa, xb, i + (c & 1)) * hat(za, zb, k + (c >> 1));
          patch.slice[std::size_t(s)].push_back({box.node(i + (c & 1), patch.face_y, k + (c >> 1)), share});
          total += share;
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
  for (int i = std::max(0, int(x0)); i < nx && i < x1; ++i)
    if (solid_face(i, nz - 1))
      for (int c = 0; c < 2; ++c) {
        patch.top.push_back(
            {box.node(i + c, patch.face_y, nz), hat(std::max(x0, double(i)), std::min(x1, i + 1.0), i + c)});
        edge += patch.top.back().share;
      }
  for (NodeShare& n : patch.top)
    n.share /= edge;
  for (int k = patch.root_z; k <= nz; ++k)
    for (int i = 0; i <= nx; ++i)
      if (solid_face(i, k) || solid_face(i - 1, k) || solid_face(i, k - 1) || solid_face(i - 1, k - 1))
        patch.face_nodes.push_back(box.node(i, patch.face_y, k));
  return patch;
}

} // namespace snagmap
