#include "viz/skin/zones.hpp"

#include "sim/threads/parallel.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {
constexpr double kWhole_mm = 12,
                 kRim_mm = 3;     // webs up to the first are painted whole, of others a rim this wide
constexpr double kSlack_mm = 0.5; // skin this far off the wall's plane still belongs to it: curved walls
Vec2 toward_cutter(const PathSample& s) {
  const Vec2 d{s.x_mm - s.wall_x_mm, s.y_mm - s.wall_y_mm};
  return norm(d) > 0 ? (1 / norm(d)) * d : Vec2{1, 0};
}
constexpr double kMostAlong_mm = 4; // a strip reaches no further along the wall than this
double painted_mm(const PathSample& s) {
  return s.w_mm <= kWhole_mm ? s.w_mm : kRim_mm;
}
} // namespace

Level level_of_s(double s, double lean_mm, double tolerance_mm, bool tears) {
  if (s >= 1)
    return tears ? Level::tears : Level::snags;
  return s >= 0.5 || std::abs(lean_mm) > tolerance_mm ? Level::leans : Level::firm;
}

Zones::Zones(const Preview& preview) : preview_(&preview) {
  const Box3& sheet = preview.scene.sheet;
  corner_ = xy(sheet.low) - Vec2{20, 20};
  across_ = std::max(1, static_cast<int>((sheet.high.x - sheet.low.x + 40) / side_mm_) + 1);
  deep_ = std::max(1, static_cast<int>((sheet.high.y - sheet.low.y + 40) / side_mm_) + 1);
  buckets_.resize(static_cast<std::size_t>(across_) * static_cast<std::size_t>(deep_));
  double spacing = preview.scene.sample_mm;
  if (spacing <= 0)
    spacing = preview.scene.cutters.empty() ? 1.5 : preview.scene.cutters.front().diameter_mm / 4;
  half_along_mm_.assign(preview.samples.size(), static_cast<float>(std::max(0.75 * spacing, 0.6)));
  stands_.assign(preview.samples.size(), 0);
  parallel_pieces(stands_.size(), 64, [&](std::size_t first, std::size_t last) {
    for (std::size_t i = first; i < last; ++i) {
      const PathSample& s = preview.samples[i];
      if (s.web < 0 || s.s <= 0)
        continue;
      const double in = preview.record->voxel_mm();
      const Vec2 p = Vec2{s.wall_x_mm, s.wall_y_mm} - in * toward_cutter(s);
      stands_[i] = preview.record->solid({p.x, p.y, 0.5 * (s.root_z_mm + s.top_z_mm)}, preview.record->end());
    }
  });
  // Where the wall curves, samples stand further apart on it, and further still at the strip's back, than on
  // the path: strips reach halfway to their neighbours' there too.
  for (std::size_t i = 0; i + 1 < preview.samples.size(); ++i) {
    const PathSample &a = preview.samples[i], &b = preview.samples[i + 1];
    if (!stands_[i] || !stands_[i + 1] || a.web != b.web)
      continue;
    const Vec2 apart{b.wall_x_mm - a.wall_x_mm, b.wall_y_mm - a.wall_y_mm};
    const double back = norm(apart - painted_mm(b) * toward_cutter(b) + painted_mm(a) * toward_cutter(a));
    const double reach = 0.55 * std::max(norm(apart), back);
    if (reach > kMostAlong_mm)
      continue; // another stretch of wall
    for (const std::size_t k : {i, i + 1})
      half_along_mm_[k] = std::max(half_along_mm_[k], static_cast<float>(reach));
  }
  for (std::size_t i = 0; i < preview.samples.size(); ++i) {
    const PathSample& s = preview.samples[i];
    if (!stands_[i])
      continue;
    const double half = half_along_mm_[i];
    const Vec2 wall{s.wall_x_mm, s.wall_y_mm}, n = toward_cutter(s);
    // Every bucket the web's strip touches: step through it finer than a bucket.
    std::size_t last = buckets_.size();
    const double deep = painted_mm(s);
    const int steps = 1 + static_cast<int>(deep / (side_mm_ / 2));
    for (int k = 0; k <= steps; ++k)
      for (const double side : {-half, half}) {
        const Vec2 p = wall - (-kSlack_mm + (deep + 2 * kSlack_mm) * k / steps) * n + side * left_of(n);
        const std::size_t b = bucket(p.x, p.y);
        if (b == last || b >= buckets_.size())
          continue;
        if (buckets_[b].empty() || buckets_[b].back() != static_cast<int>(i))
          buckets_[b].push_back(static_cast<int>(i));
        last = b;
      }
  }
  int webs = 0;
  for (const Spot& spot : preview.spots)
    webs = std::max(webs, spot.web + 1);
  web_tears_.assign(static_cast<std::size_t>(webs), 0);
  for (const Spot& spot : preview.spots)
    if (spot.web >= 0 && spot.answer.level == Level::tears)
      web_tears_[static_cast<std::size_t>(spot.web)] = 1;
}

std::size_t Zones::bucket(double x, double y) const {
  const double bx = std::floor((x - corner_.x) / side_mm_), by = std::floor((y - corner_.y) / side_mm_);
  if (bx < 0 || by < 0 || bx >= across_ || by >= deep_)
    return buckets_.size();
  return static_cast<std::size_t>(by) * static_cast<std::size_t>(across_) + static_cast<std::size_t>(bx);
}

int Zones::at(Vec3 place, Vec3 normal) const {
  const std::size_t b = bucket(place.x, place.y);
  if (b >= buckets_.size())
    return -1;
  int best = -1;
  float most = 0;
  for (const int i : buckets_[b]) {
    const PathSample& s = preview_->samples[static_cast<std::size_t>(i)];
    if (s.s <= most || place.z > s.top_z_mm + 1e-3 || place.z < s.root_z_mm - 1e-3)
      continue;
    if (normal.z > 0.7 && place.z < s.root_z_mm + 0.25 * (s.top_z_mm - s.root_z_mm))
      continue;
    const Vec2 n = toward_cutter(s), d = xy(place) - Vec2{s.wall_x_mm, s.wall_y_mm};
    const double into = -dot(d, n);
    if (into < -kSlack_mm || into > painted_mm(s) + kSlack_mm ||
        std::abs(cross(n, d)) > half_along_mm_[static_cast<std::size_t>(i)])
      continue;
    best = i;
    most = s.s;
  }
  return best;
}

bool Zones::any(Vec2 low, Vec2 high) const {
  for (double y = low.y;; y = std::min(y + side_mm_, high.y)) {
    for (double x = low.x;; x = std::min(x + side_mm_, high.x)) {
      const std::size_t b = bucket(x, y);
      if (b < buckets_.size() && !buckets_[b].empty())
        return true;
      if (x >= high.x)
        break;
    }
    if (y >= high.y)
      break;
  }
  return false;
}

std::vector<int> Zones::of(const Mesh& mesh) const {
  std::vector<int> out(mesh.triangles.size(), -1);
  parallel_pieces(out.size(), 256, [&](std::size_t first, std::size_t last) {
    for (std::size_t i = first; i < last; ++i) {
      const Triangle& t = mesh.triangles[i];
      const Vec3 middle = (1.0 / 3) * (mesh.points[t[0]] + mesh.points[t[1]] + mesh.points[t[2]]);
      out[i] = at(middle, unit(area_vector(mesh, t)));
    }
  });
  return out;
}

Level Zones::level(int sample) const {
  const PathSample& s = preview_->samples[static_cast<std::size_t>(sample)];
  const auto web = static_cast<std::size_t>(s.web);
  return level_of_s(s.s, s.lean_mm, preview_->scene.tolerance_mm, web < web_tears_.size() && web_tears_[web]);
}

} // namespace snagmap
