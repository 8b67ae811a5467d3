#include "viz/skin/surfaces.hpp"

#include "sim/threads/parallel.hpp"

#include <algorithm>
#include <cmath>
#include <unordered_map>

namespace snagmap {

Mesh joined(const std::vector<SkinTile>& tiles) {
  Mesh mesh;
  std::unordered_map<std::uint64_t, std::uint32_t> known;
  std::size_t points = 0, triangles = 0, shared = 0;
  for (const SkinTile& tile : tiles) {
    points += tile.keys.size();
    triangles += tile.mesh.triangles.size();
    shared +=
        tile.keys.size() - static_cast<std::size_t>(std::count(tile.keys.begin(), tile.keys.end(), kAlone));
  }
  known.reserve(shared);
  mesh.points.reserve(points);
  mesh.triangles.reserve(triangles);
  for (const SkinTile& tile : tiles) {
    std::vector<std::uint32_t> index(tile.keys.size());
    for (std::size_t i = 0; i < tile.keys.size(); ++i) {
      index[i] = static_cast<std::uint32_t>(mesh.points.size());
      if (tile.keys[i] != kAlone) {
        const auto [at, fresh] = known.try_emplace(tile.keys[i], index[i]);
        index[i] = at->second;
        if (!fresh)
          continue;
      }
      mesh.points.push_back(tile.mesh.points[i]);
    }
    for (const Triangle& t : tile.mesh.triangles)
      mesh.triangles.push_back({index[t[0]], index[t[1]], index[t[2]]});
  }
  return mesh;
}

namespace {

constexpr double kSame_mm = 1e-6;        // heights closer than this are one depth
constexpr std::size_t kManyDepths = 256; // more depths than this: a shaped floor, so even levels

/// Middles of every step-th column between the sheet's faces that lie within low..high, the last one kept.
std::vector<double> node_places(double face_low, double face_high, double voxel, int step, double low,
                                double high) {
  std::vector<double> places;
  const auto columns = static_cast<long>(std::floor((face_high - face_low) / voxel + 1e-9));
  const auto first = std::max(0L, static_cast<long>(std::ceil((low - face_low) / voxel - 0.5)));
  const auto last = std::min(columns - 1, static_cast<long>(std::floor((high - face_low) / voxel - 0.5)));
  for (long i = first; i <= last; i += step)
    places.push_back(face_low + (static_cast<double>(i) + 0.5) * voxel);
  if (last > first && (last - first) % step != 0)
    places.push_back(face_low + (static_cast<double>(last) + 0.5) * voxel);
  return places;
}

Box3 common(const Box3& a, const Box3& b) {
  return {{std::max(a.low.x, b.low.x), std::max(a.low.y, b.low.y), std::max(a.low.z, b.low.z)},
          {std::min(a.high.x, b.high.x), std::min(a.high.y, b.high.y), std::min(a.high.z, b.high.z)}};
}

bool upright_cutter(const CutterCard& cutter) {
  return cutter.tip == TipShape::flat && cutter.own_profile.empty();
}

/// Depths of level floors: tips of level moves and ends of plunges, and the tops of flutes that pass under
/// foam. Ramps leave no level floor.
std::vector<double> depths(const Preview& preview, const Box3& box) {
  std::vector<double> z{box.low.z, box.high.z};
  for (const Move& move : preview.path.moves) {
    const bool level = move.from.z == move.to.z, plunge = norm(xy(move.to) - xy(move.from)) < kSame_mm;
    if (!level && !plunge)
      continue;
    for (const double tip : {move.from.z, move.to.z}) {
      z.push_back(tip);
      if (static_cast<std::size_t>(move.tool) < preview.scene.cutters.size())
        z.push_back(tip + preview.scene.cutters[static_cast<std::size_t>(move.tool)].flute_length_mm);
    }
  }
  z.erase(std::remove_if(z.begin(), z.end(), [&](double v) { return v < box.low.z || v > box.high.z; }),
          z.end());
  std::sort(z.begin(), z.end());
  z.erase(std::unique(z.begin(), z.end(), [](double a, double b) { return b - a < kSame_mm; }), z.end());
  if (z.size() > kManyDepths)
    return {box.low.z, box.high.z};
  return z;
}

/// Levels midway between depths, none further apart than `tallest`.
std::vector<double> levels_between(const std::vector<double>& depths, double tallest) {
  std::vector<double> levels{depths.front() - tallest / 2};
  for (std::size_t i = 0; i + 1 < depths.size(); ++i) {
    const double low = depths[i], span = depths[i + 1] - low;
    const int n = std::max(1, static_cast<int>(std::ceil(span / tallest)));
    for (int k = 0; k < n; ++k)
      levels.push_back(low + span * (k + 0.5) / n);
  }
  levels.push_back(depths.back() + tallest / 2);
  return levels;
}

} // namespace

Skin::Skin(const Preview& preview, const SkinOptions& options) : preview_(&preview), cut_(options.cut) {
  const RemovalRecord& record = *preview.record;
  const double voxel = record.voxel_mm();
  const int step = std::max(1, static_cast<int>(std::lround(options.cell_mm / voxel)));
  cell_mm_ = step * voxel;
  const Box3 sheet = record.box();
  field_.box = options.window ? common(sheet, *options.window) : sheet;
  field_.xs_mm = node_places(sheet.low.x, sheet.high.x, voxel, step, field_.box.low.x, field_.box.high.x);
  field_.ys_mm = node_places(sheet.low.y, sheet.high.y, voxel, step, field_.box.low.y, field_.box.high.y);
  field_.upright_walls = field_.level_floors =
      std::all_of(preview.scene.cutters.begin(), preview.scene.cutters.end(), upright_cutter);
  field_.keep_fine = options.keep_fine;
  const std::vector<double> z = depths(preview, field_.box);
  const bool shaped = !field_.upright_walls;
  const double tallest = options.tallest_mm > 0 ? options.tallest_mm : 16 * cell_mm_;
  field_.levels_mm = levels_between(z, shaped ? std::min(tallest, cell_mm_) : tallest);
  for (const Move& move : preview.path.moves)
    if (move.from.z != move.to.z && norm(xy(move.to) - xy(move.from)) > kSame_mm)
      field_.level_floors = false;
  const int nx = static_cast<int>(field_.xs_mm.size()) + 1, ny = static_cast<int>(field_.ys_mm.size()) + 1;
  const int n = std::max(8, options.tile_cells);
  for (int y = 0; y < ny; y += n)
    for (int x = 0; x < nx; x += n)
      ranges_.push_back({x, std::min(x + n, nx), y, std::min(y + n, ny)});
}

SkinTile Skin::tile(int index, Moment t) const {
  FoamField field = field_;
  const RemovalRecord& record = *preview_->record;
  const double low = field_.box.low.z, high = field_.box.high.z;
  const auto cut = cut_;
  const auto beyond = [cut](Vec2 p) { return cut ? dot(p, cut->normal) - cut->offset_mm : -1; };
  field.column = [&record, t, low, high, beyond](Vec2 p) {
    if (beyond(p) > 0)
      return std::vector<Slab>{};
    std::vector<Slab> column = record.column(p, t);
    for (Slab& slab : column)
      slab = {std::max(slab.low_mm, low), std::min(slab.high_mm, high)};
    return column;
  };
  field.gap = [&record, t, beyond, cut](Vec3 from, Vec2 dir, double cap) {
    // From beyond the cut the way leads through air up to the cut, whatever stands there.
    const double over = beyond(xy(from));
    double way = 0;
    if (over > 0) {
      const double closing = -dot(dir, cut->normal);
      if (closing * cap <= over)
        return cap;
      way = over / closing;
    }
    return way + record.look({from.x + way * dir.x, from.y + way * dir.y, from.z}, dir, cap - way, t).gap_mm;
  };
  return skin_tile(field, ranges_[static_cast<std::size_t>(index)]);
}

std::vector<int> Skin::changed(Moment a, Moment b) const {
  if (a > b)
    std::swap(a, b);
  const auto& moves = preview_->path.moves;
  b = std::min<Moment>(b, static_cast<Moment>(moves.size()));
  std::vector<char> hit(ranges_.size(), 0);
  const int nx = static_cast<int>(field_.xs_mm.size()) + 1;
  const int n = ranges_.front().x1 - ranges_.front().x0, across = (nx + n - 1) / n;
  const auto tile_of = [&](double place, double low, int limit) {
    return std::clamp(static_cast<int>(std::floor((place - low) / cell_mm_)), 0, limit - 1) / n;
  };
  const int ny = static_cast<int>(field_.ys_mm.size()) + 1;
  for (Moment m = a; m < b; ++m) {
    const Move& move = moves[m];
    const auto& cutters = preview_->scene.cutters;
    double reach = 3 * cell_mm_; // the mesher looks up to three cells beyond its own
    if (static_cast<std::size_t>(move.tool) < cutters.size())
      reach += cutters[static_cast<std::size_t>(move.tool)].diameter_mm / 2;
    Vec2 low = xy(move.from), high = low;
    const int pieces = move.kind == MoveKind::arc ? 16 : 1;
    if (move.kind == MoveKind::arc)
      reach += length_mm(move) / pieces / 2;
    for (int k = 1; k <= pieces; ++k) {
      const Vec3 p = point_at(move, static_cast<double>(k) / pieces);
      low = {std::min(low.x, p.x), std::min(low.y, p.y)};
      high = {std::max(high.x, p.x), std::max(high.y, p.y)};
    }
    const Vec3 corner = field_.box.low;
    for (int y = tile_of(low.y - reach, corner.y, ny); y <= tile_of(high.y + reach, corner.y, ny); ++y)
      for (int x = tile_of(low.x - reach, corner.x, nx); x <= tile_of(high.x + reach, corner.x, nx); ++x)
        hit[static_cast<std::size_t>(y * across + x)] = 1;
  }
  std::vector<int> list;
  for (std::size_t i = 0; i < hit.size(); ++i)
    if (hit[i])
      list.push_back(static_cast<int>(i));
  return list;
}

Mesh Skin::whole(Moment t) const {
  std::vector<SkinTile> parts(ranges_.size());
  parallel_each(parts.size(), [&](std::size_t i) { parts[i] = tile(static_cast<int>(i), t); });
  return joined(parts);
}

} // namespace snagmap
