#include "sim/verify/patch.hpp"

#include "sim/verify/contact.hpp"
#include "sim/verify/layers.hpp"
#include "sim/verify/patch_foam.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr double kCoarse = 1.5;   ///< bricks along the contact, times `finer`
constexpr double kDeep_bites = 2; ///< a round wall's face lies no further behind its foremost place
constexpr double kEdge_mm = 0.01; ///< of the top edge's strip
constexpr double kSoftFoot = 1.5; ///< times as far along, where a web's foot is softer than the web
constexpr int kAlike = 6;         ///< more bricks than this across a web grow away from its face
constexpr double kFar_mm = 80;    ///< foam thicker than this is no web

/// The wall as it is met a quarter of its height over the root, the middle of the half that governs bending.
struct Face {
  Vec2 place;
  double look_z = 0, thickness_mm = 0;
};

OrUnsolved<Face> find_face(const RemovalRecord& record, const Spot& spot, Instant t) {
  const Web& web = spot.question.web;
  Face face;
  face.look_z = spot.place_mm.z + 0.25 * web.h_mm;
  const Vec2 probe = xy(spot.place_mm) + kProbe_mm * spot.normal;
  const Span span = record.look({probe.x, probe.y, face.look_z}, -1 * spot.normal, kFar_mm, t);
  if (!span.hit || span.gap_mm > kProbe_mm + std::max(1.0, 0.5 * web.w_mm))
    return Unsolved(unsolved::WebGone{});
  if (!span.through)
    return Unsolved(unsolved::NoWeb{kFar_mm});
  if (span.thickness_mm < record.voxel_mm())
    return Unsolved(unsolved::UnderAVoxel{span.thickness_mm, record.voxel_mm()});
  face.thickness_mm = span.thickness_mm;
  face.place = probe - span.gap_mm * spot.normal;
  return face;
}

void hold_cut_faces(BrickBox& box) {
  for (const auto cut :
       {BrickFace::x_low, BrickFace::x_high, BrickFace::y_low, BrickFace::y_high, BrickFace::z_low})
    box.fix(cut);
}

/// The planes of the mesh before they are divided, and what is laid out on them.
class Planes {
public:
  Planes(const RemovalRecord& record, const Scene& scene, const Spot& spot, const PatchOptions& options,
         const Face& face, const WebPatch& patch, Instant t)
      : record_(record), scene_(scene), q_(spot.question), options_(options), face_(face), patch_(patch),
        t_(t), root_(spot.place_mm.z), h_(q_.web.h_mm), most_(options.most_heights * h_),
        coarse_(std::min(q_.web.b_p_mm / kCoarse, h_ / 6)),
        across_(std::max(options.across, int(std::ceil(patch.w_mm / coarse_)))),
        edge_y_(patch.w_mm / across_) {
    lay_along();
    lay_out();
    lay_up();
  }

  Layers x, y, z;
  int load_x = 0, face_y = 0, under = 0; ///< layers before the load's middle, the wall's face, the root
  std::array<double, 3> edges_mm() const { return {coarse_, edge_y_, edge_z_}; }

private:
  /// Alike where the load is, then growing; the wall's own end is a plane of nodes too.
  void lay_along() {
    double along = (soft_foot(record_, scene_, face_.place, patch_, root_, t_) ? kSoftFoot : 1) *
                       options_.along_heights * h_ +
                   q_.web.b_p_mm;
    // A free end a little past the patch would be held by the cut: take it in, it costs little.
    for (const double d : {q_.web.d1_mm, q_.web.d2_mm})
      if (d > along - h_ && d <= along + h_)
        along = std::max(along, d + 0.5 * h_);
    const double inside = std::min(0.5 * patch_.w_mm, 0.5 * h_);
    for (const double way : {-1.0, 1.0}) {
      const Vec2 from = face_.place - inside * patch_.out;
      const std::vector<FoamPiece> ahead =
          foam_along(record_, {from.x, from.y, face_.look_z}, way * patch_.along, along, t_);
      const double end = !ahead.empty() && ahead[0].low < 1e-6 ? ahead[0].high : along;
      std::vector<double> edges = from_load(end, coarse_, 0.5 * q_.web.b_p_mm, most_, options_.growth);
      if (end < along - 0.25 * edges.back()) {
        const std::vector<double> past = growing(edges.back(), most_, along - end, options_.growth);
        edges.insert(edges.end(), past.begin(), past.end());
      }
      way < 0 ? x.outward_down(edges) : x.outward_up(edges);
      if (way < 0)
        load_x = x.count();
    }
  }

  /// Out of the wall: w/across, but fine enough for the contact on thick webs.
  void lay_out() {
    const std::vector<double> off_wall = growing(edge_y_, most_, options_.side_heights * h_, options_.growth);
    y.outward_down(off_wall); // behind the web
    const std::vector<double> steps = steps_behind_face(record_, face_.place, patch_, root_, t_);
    if (!steps.empty())
      for (std::size_t n = 0; n <= steps.size(); ++n) {
        const double far = n == 0 ? patch_.w_mm : steps[n - 1], near = n == steps.size() ? 0 : steps[n];
        const int count = std::max(1, int(std::ceil((far - near) / edge_y_ - 1e-9)));
        y.alike(count, (far - near) / count);
      }
    else if (across_ <= kAlike)
      y.alike(across_, edge_y_);
    else
      y.outward_down(growing(edge_y_ / options_.growth, most_, patch_.w_mm, options_.growth));
    face_y = y.count();
    y.outward_up(off_wall);
  }

  /// Up: the contact has at least three; joints of two foams are planes, as a brick of both would have the
  /// mean of their moduli.
  void lay_up() {
    const double reach = q_.contact.high_mm - q_.contact.low_mm, high = std::min(q_.contact.high_mm, h_);
    const double depth =
        std::min(std::max(root_ - record_.box().low.z, 0.0), std::max(h_, options_.least_depth_mm));
    const int in_reach = std::max(1, int(std::ceil(high / std::min(h_ / 8, reach / 3) - 1e-9)));
    edge_z_ = high / in_reach;
    if (depth > 0.25 * edge_z_)
      z.outward_down(growing(edge_z_ / options_.growth, most_, depth, options_.growth));
    under = z.count();
    z.alike(in_reach, edge_z_);
    if (h_ - high > 1e-6 * h_)
      z.outward_up(growing(edge_z_, h_ / 6, h_ - high, options_.growth));
    double joint = scene_.sheet.low.z;
    for (std::size_t i = 0; i + 1 < scene_.layers.size(); ++i) {
      joint += scene_.layers[i].thickness_mm;
      if (scene_.layers[i].foam.E_kPa.nominal != scene_.layers[i + 1].foam.E_kPa.nominal)
        z.move_plane_to(joint - (root_ - z.length_of(under)), under);
    }
  }

  const RemovalRecord& record_;
  const Scene& scene_;
  const SnagQuestion& q_;
  const PatchOptions& options_;
  const Face& face_;
  const WebPatch& patch_;
  Instant t_;
  double root_, h_, most_, coarse_;
  int across_;
  double edge_y_, edge_z_ = 0;
};

/// Bricks between the planes, and where they lie in the work coordinates; no foam yet.
void lay_bricks(WebPatch& patch, const Planes& planes, const Face& face, double root, double nu, int finer) {
  const std::array<double, 3> edges = planes.edges_mm();
  patch.box = BrickBox({planes.x.count() * finer, planes.y.count() * finer, planes.z.count() * finer},
                       {edges[0] / finer, edges[1] / finer, edges[2] / finer}, nu, 0);
  patch.box.graded_mm = {planes.x.divided(finer), planes.y.divided(finer), planes.z.divided(finer)};
  patch.load_x = planes.load_x * finer;
  patch.face_y = planes.face_y * finer;
  patch.root_z = planes.under * finer;
  const double middle_x = patch.box.planes_mm(0)[std::size_t(patch.load_x)],
               face_at = patch.box.planes_mm(1)[std::size_t(patch.face_y)],
               root_at = patch.box.planes_mm(2)[std::size_t(patch.root_z)];
  const Vec2 corner = face.place - middle_x * patch.along - face_at * patch.out;
  patch.origin_mm = {corner.x, corner.y, root - root_at};
}

/// The flutes' contact, slice by slice, and the top edge; false where no foam is.
bool find_contact(const RemovalRecord& record, WebPatch& patch, const SnagQuestion& q, double deep_mm,
                  Instant t) {
  const ContactFinder finder(record, patch, t, q.web.b_p_mm, deep_mm);
  const double root_at = patch.box.planes_mm(2)[std::size_t(patch.root_z)],
               top = patch.box.planes_mm(2).back();
  const double low = root_at + q.contact.low_mm, reach = q.contact.high_mm - q.contact.low_mm;
  double share = 0;
  for (int s = 0; s < kSlices; ++s) {
    const double own =
        finder.find(low + reach * s / kSlices, low + reach * (s + 1) / kSlices, s, patch.contact);
    patch.root_share[std::size_t(s)] = std::sqrt(own);
    share += own;
  }
  const std::size_t slices = patch.contact.size();
  finder.find(top - kEdge_mm, top, kSlices, patch.contact);
  for (std::size_t n = slices; n < patch.contact.size(); ++n)
    patch.contact[n].at_mm.z = top;
  return share > 0;
}

} // namespace

Vec3 WebPatch::node_mm(std::size_t node) const {
  const Vec3 p = box.node_mm(node);
  return {origin_mm.x + p.x * along.x + p.y * out.x, origin_mm.y + p.x * along.y + p.y * out.y,
          origin_mm.z + p.z};
}

OrUnsolved<WebPatch> cut_patch(const RemovalRecord& record, const Scene& scene, const Spot& spot,
                               const PatchOptions& options) {
  const SnagQuestion& q = spot.question;
  const double h = q.web.h_mm, root = spot.place_mm.z;
  const Instant t(spot.move, spot.move_share); // as in the watch
  if (!(h > 0) || !(q.web.b_p_mm > 0) || !(q.contact.high_mm > q.contact.low_mm))
    return Unsolved(unsolved::NoContact{});
  const OrUnsolved<Face> face = find_face(record, spot, t);
  if (!face)
    return face.why_not();
  WebPatch patch;
  patch.out = spot.normal;
  patch.along = {spot.normal.y, -spot.normal.x}; // x, y, z right-handed
  patch.h_mm = h;
  patch.w_mm = face->thickness_mm;
  const FoamCard& foam = scene.foam_between(root, root + h);
  patch.E_MPa = foam.E_kPa.nominal / 1000;
  if (!(patch.E_MPa > 0))
    return Unsolved(unsolved::NoModulus{});
  const Planes planes(record, scene, spot, options, *face, patch, t);
  lay_bricks(patch, planes, *face, root, foam.nu.nominal, options.finer);
  fill_bricks(record, scene, patch, t);
  hold_cut_faces(patch.box);
  if (!find_contact(record, patch, q, kDeep_bites * foam.bite_depth_mm.nominal, t))
    return Unsolved(unsolved::FaceElsewhere{});
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
