#include "sim/verify/patch.hpp"

#include "sim/threads/parallel.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <functional>
#include <numeric>
#include <optional>

namespace snagmap {
namespace {

constexpr double kProbe_mm = 1;   ///< how far in front of the wall the look for it starts
constexpr float kSliver = 0.05f;  ///< shares of foam this near to 0 or 1 are taken as such
constexpr int kLooks = 4;         ///< lines through a row of bricks, two by two
constexpr double kCoarse = 1.5;   ///< bricks along the contact, times `finer`
constexpr double kDeep_bites = 2; ///< a round wall's face lies no further behind its foremost place
constexpr double kEdge_mm = 0.01; ///< of the top edge's strip
constexpr double kSoftFoot = 1.5; ///< times as far along, where a web's foot is softer than the web
constexpr double kThinner = 0.9;  ///< at the foot than higher up
constexpr int kAlike = 6;         ///< more bricks than this across a web grow away from its face

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

bool alike(const std::vector<Piece>& a, const std::vector<Piece>& b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](const Piece& one, const Piece& other) {
    return one.low == other.low && one.high == other.high;
  });
}

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

/// Edges that grow outward from one of `first_mm` by `growth` a brick up to `most_mm`, over `length_mm` in
/// all.
std::vector<double> growing(double first_mm, double most_mm, double length_mm, double growth) {
  std::vector<double> edges;
  double sum = 0;
  for (double edge = first_mm; sum < length_mm * (1 - 1e-9);) {
    edge = std::min(growth * edge, std::max(most_mm, first_mm));
    edges.push_back(edge), sum += edge;
  }
  for (double& edge : edges)
    edge *= length_mm / sum;
  return edges;
}

/// Edges from the middle of a load outward: alike under the load and one further, then growing, to the end.
std::vector<double> from_load(double end_mm, double edge_mm, double half_load_mm, double most_mm,
                              double growth) {
  const double alike_mm = (std::ceil(half_load_mm / edge_mm - 1e-9) + 1) * edge_mm;
  if (end_mm <= alike_mm + edge_mm) {
    const int count = std::max(1, int(std::ceil(end_mm / edge_mm - 1e-9)));
    return std::vector<double>(std::size_t(count), end_mm / count);
  }
  std::vector<double> edges(std::size_t(std::lround(alike_mm / edge_mm)), edge_mm);
  const std::vector<double> off = growing(edge_mm, most_mm, end_mm - alike_mm, growth);
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
  /// Of the first ones.
  double length_of(int count) const { return std::accumulate(edges_.begin(), edges_.begin() + count, 0.0); }
  /// Moves the nearest plane between two layers to a place, but for `kept`: no layer gets thinner than half.
  void move_plane_to(double place, int kept) {
    double plane = 0;
    for (int n = 0; n + 1 < count(); ++n) {
      double &low = edges_[std::size_t(n)], &high = edges_[std::size_t(n) + 1];
      plane += low;
      const double by = place - plane;
      if (n + 1 == kept || std::abs(by) < 1e-6 || by > 0.5 * high + 1e-9 || by < -0.5 * low - 1e-9)
        continue;
      low += by, high -= by;
      return;
    }
  }
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

/// How far behind the face's plane the web's two faces stand upright for a part of its height, where that is
/// elsewhere than at the height that was looked at: furthest first. They are planes of the mesh too, as a
/// brick that a face cuts in two is taken for a softer one.
std::vector<double> steps_behind_face(const RemovalRecord& record, Vec2 face_place, const WebPatch& patch,
                                      double root, Instant t) {
  constexpr int kHeights = 24;
  constexpr double kLeast = 1.0 / 12; // of the thickness, apart
  std::vector<double> steps;
  double last[2] = {-1, -1};
  for (int n = 0; n < kHeights; ++n) {
    const double z = root + (n + 0.5) / kHeights * patch.h_mm;
    const std::vector<Piece> pieces = foam_along(
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

/// Is the web softer or thinner at its foot than higher up? Then it spreads a load further along.
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
    for (const Piece& piece : foam_along(
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

void hold_cut_faces(BrickBox& box) {
  for (const auto cut :
       {BrickFace::x_low, BrickFace::x_high, BrickFace::y_low, BrickFace::y_high, BrickFace::z_low})
    box.fix(cut);
}

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

/// Where the flutes lie against the wall's true surface, slice by slice: four places in each part of a slice
/// between the mesh's planes. The load of a millimetre of contact stays what it is where foam is missing, at
/// an end or a hole: S is then that of the share of the contact that has foam (its root on the load and its
/// root on what is read).
class ContactFinder {
public:
  ContactFinder(const RemovalRecord& record, const WebPatch& patch, Instant t, double b_p_mm, double deep_mm)
      : record_(record), patch_(patch), t_(t), deep_mm_(deep_mm), along_(patch.box.planes_mm(0)),
        up_(patch.box.planes_mm(2)), face_(patch.box.planes_mm(1)[std::size_t(patch.face_y)]) {
    const double middle = along_[std::size_t(patch.load_x)];
    x_ = cut_at(along_, std::max(0.0, middle - 0.5 * b_p_mm), std::min(along_.back(), middle + 0.5 * b_p_mm));
    b_p_mm_ = b_p_mm;
  }

  /// Between two heights over the patch's low plane; the share of it that has foam.
  double find(double low, double high, int slice, std::vector<ContactPlace>& places) const {
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

private:
  /// Of the foam next behind the face's plane.
  std::optional<double> surface(double x, double z, double deep_mm) const {
    const double ahead = ahead_mm(); // the face leans where the cutter tapers
    const Vec2 from = xy(patch_.origin_mm) + x * patch_.along + (face_ + ahead) * patch_.out;
    const Span span =
        record_.look({from.x, from.y, patch_.origin_mm.z + z}, -1 * patch_.out, ahead + deep_mm, t_);
    if (!span.hit)
      return std::nullopt;
    return face_ + ahead - span.gap_mm;
  }
  /// From inside the cutter, whose half the contact is no wider than.
  double ahead_mm() const { return std::max(kProbe_mm, std::min(0.25 * patch_.h_mm, 0.5 * b_p_mm_)); }
  /// How far behind the face's plane the wall stands in the middle of the load: no further than half its
  /// thickness; what is beyond is seen through a hole.
  double middle_mm(double z) const {
    const std::optional<double> y =
        surface(along_[std::size_t(patch_.load_x)], z, std::max(0.5 * patch_.w_mm, deep_mm_));
    return y ? face_ - *y : 0;
  }

  const RemovalRecord& record_;
  const WebPatch& patch_;
  Instant t_;
  double deep_mm_, b_p_mm_ = 0;
  std::vector<double> along_, up_, x_;
  double face_;
};

} // namespace

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
  const double coarse = std::min(b_p / kCoarse, h / 6), most = options.most_heights * h,
               growth = options.growth;
  const int across = std::max(options.across, int(std::ceil(patch.w_mm / coarse)));
  const double edge_y = patch.w_mm / across;
  const double table = record.box().low.z;
  const double depth = std::min(std::max(root - table, 0.0), std::max(h, options.least_depth_mm));
  // A free end a little past the patch would be held by the cut: take it in, it costs little.
  const bool soft = soft_foot(record, scene, face_place, patch, root, t);
  double along = (soft ? kSoftFoot : 1) * options.along_heights * h + b_p;
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
    std::vector<double> edges = from_load(end, coarse, 0.5 * b_p, most, growth);
    if (end < along - 0.25 * edges.back()) {
      const std::vector<double> past = growing(edges.back(), most, along - end, growth);
      edges.insert(edges.end(), past.begin(), past.end());
    }
    way < 0 ? x.outward_down(edges) : x.outward_up(edges);
    if (way < 0)
      load_x = x.count();
  }
  const std::vector<double> off_wall = growing(edge_y, most, options.side_heights * h, growth);
  y.outward_down(off_wall); // behind the web
  const std::vector<double> steps = steps_behind_face(record, face_place, patch, root, t);
  if (!steps.empty())
    for (std::size_t n = 0; n <= steps.size(); ++n) {
      const double far = n == 0 ? patch.w_mm : steps[n - 1], near = n == steps.size() ? 0 : steps[n];
      const int count = std::max(1, int(std::ceil((far - near) / edge_y - 1e-9)));
      y.alike(count, (far - near) / count);
    }
  else if (across <= kAlike)
    y.alike(across, edge_y);
  else
    y.outward_down(growing(edge_y / growth, most, patch.w_mm, growth));
  const int face = y.count();
  y.outward_up(off_wall);
  const double high = std::min(q.contact.high_mm, h);
  const int in_reach = std::max(1, int(std::ceil(high / std::min(h / 8, reach / 3) - 1e-9)));
  const double edge_z = high / in_reach;
  if (depth > 0.25 * edge_z)
    z.outward_down(growing(edge_z / growth, most, depth, growth));
  const int under = z.count();
  z.alike(in_reach, edge_z);
  if (h - high > 1e-6 * h)
    z.outward_up(growing(edge_z, h / 6, h - high, growth));
  double joint = scene.sheet.low.z; // of two foams: a brick of both would have the mean of their moduli
  for (std::size_t i = 0; i + 1 < scene.layers.size(); ++i) {
    joint += scene.layers[i].thickness_mm;
    if (scene.layers[i].foam.E_kPa.nominal != scene.layers[i + 1].foam.E_kPa.nominal)
      z.move_plane_to(joint - (root - z.length_of(under)), under);
  }
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

  // Foam of each brick: exact walls along lines out of the wall, at two heights and two places along. Most
  // walls stand upright: a layer at whose middle, and at the middles above and below it, a line meets the
  // same foam is not looked at twice.
  const auto [nx, ny, nz] = box.bricks;
  const double width = planes[1].back();
  std::vector<double> E_MPa(static_cast<std::size_t>(nz));
  for (int k = 0; k < nz; ++k)
    E_MPa[std::size_t(k)] =
        scene.mean_between(patch.origin_mm.z + planes[2][std::size_t(k)],
                           patch.origin_mm.z + planes[2][std::size_t(k) + 1], [](const FoamCard& card) {
                             return card.E_kPa.nominal / 1000; // of a joint both foams
                           });
  parallel_each(nx, [&, ny = ny, nz = nz](int i) {
    std::vector<std::vector<double>> share(std::size_t(nz), std::vector<double>(std::size_t(ny), 0.0));
    std::vector<std::vector<Piece>> middle(static_cast<std::size_t>(nz));
    for (const double ahead : {0.25, 0.75}) {
      const Vec2 at = corner + (planes[0][std::size_t(i)] + ahead * box.edge(0, i)) * patch.along;
      const auto look = [&](int k, double up) {
        const double at_z = patch.origin_mm.z + planes[2][std::size_t(k)] + up * box.edge(2, k);
        // Under the table's top nothing is removed and nothing of the sheet lies either: stay just inside.
        return foam_along(record, {at.x, at.y, std::max(at_z, table + 1e-4)}, patch.out, width, t);
      };
      const auto add = [&](int k, const std::vector<Piece>& pieces) {
        std::vector<double>& own = share[std::size_t(k)];
        for (const Piece& piece : pieces) {
          const auto first = std::upper_bound(planes[1].begin(), planes[1].end(), piece.low) - 1;
          for (int j = int(first - planes[1].begin()); j < ny && planes[1][std::size_t(j)] < piece.high; ++j)
            own[std::size_t(j)] += std::max(0.0, std::min(piece.high, planes[1][std::size_t(j + 1)]) -
                                                     std::max(piece.low, planes[1][std::size_t(j)])) /
                                   (kLooks * box.edge(1, j));
        }
      };
      for (int k = 0; k < nz; ++k)
        middle[std::size_t(k)] = look(k, 0.5);
      for (int k = 0; k < nz; ++k) {
        const std::vector<Piece>& here = middle[std::size_t(k)];
        const bool upright = alike(here, middle[std::size_t(std::max(k - 1, 0))]) &&
                             alike(here, middle[std::size_t(std::min(k + 1, nz - 1))]);
        for (const double up : {0.25, 0.75})
          add(k, upright ? here : look(k, up));
      }
    }
    for (int k = 0; k < nz; ++k)
      for (int j = 0; j < ny; ++j) {
        float s = float(share[std::size_t(k)][std::size_t(j)]);
        s = s < kSliver ? 0 : s > 1 - kSliver ? 1 : s;
        box.modulus_MPa[box.brick(i, j, k)] = float(E_MPa[std::size_t(k)]) * s;
      }
  });
  hold_cut_faces(box);
  const ContactFinder finder(record, patch, t, b_p, kDeep_bites * foam.bite_depth_mm.nominal);
  double share = 0;
  for (int s = 0; s < kSlices; ++s) {
    const double own = finder.find(root_at + q.contact.low_mm + reach * s / kSlices,
                                   root_at + q.contact.low_mm + reach * (s + 1) / kSlices, s, patch.contact);
    patch.root_share[std::size_t(s)] = std::sqrt(own);
    share += own;
  }
  if (!(share > 0))
    return words("the wall's face is not where the spot says: the web is gone there or stands askew",
                 "the formula's value stays");
  const std::size_t slices = patch.contact.size();
  finder.find(planes[2].back() - kEdge_mm, planes[2].back(), kSlices, patch.contact);
  for (std::size_t n = slices; n < patch.contact.size(); ++n)
    patch.contact[n].at_mm.z = planes[2].back();
  set_loads(patch);
  return patch;
}

WebPatch coarser(const WebPatch& fine) {
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
  patch.contact = fine.contact, patch.root_share = fine.root_share;
  set_loads(patch);
  return patch;
}

} // namespace snagmap
