// Looking through the stock of a moment: columns say where foam is, moves say exactly where it ends.
#include "sim/record/data.hpp"

#include <cmath>

namespace snagmap {
namespace {

constexpr double kTouching_mm = 1e-7;  ///< chords this near each other join
/// Foam thinner than this share of a voxel along a ray is a cusp between two moves, not a web.
constexpr double kSliver_voxel = 0.02;

const Tile* tile_at(const RecordData& data, Vec2 p, std::size_t& cell) {
  int i, j;
  if (!data.grid.column_at(p, i, j)) return nullptr;
  cell = static_cast<std::size_t>(ColumnGrid::cell_of(i, j));
  return &data.tiles[static_cast<std::size_t>(data.grid.tile_of(i, j))];
}

/// Chords of the air that move `sweep` leaves along the ray at height z.
void air_chords(const RecordData& data, const Sweep& sweep, double z, Vec2 o, Vec2 d, Chords& out) {
  const BodyZone& flutes = data.bodies[sweep.body].flutes;
  // The body spans z while the tip is within z - high .. z - low.
  double s0 = 0, s1 = 1;
  if (sweep.za == sweep.zb) {
    if (z < sweep.za + flutes.low || z >= sweep.za + flutes.high) return;
  } else {
    const double rise = 1 / (sweep.zb - sweep.za);
    const double sl = (z - flutes.low - sweep.za) * rise, sh = (z - flutes.high - sweep.za) * rise;
    s0 = std::max(0.0, std::min(sl, sh));
    s1 = std::min(1.0, std::max(sl, sh));
    if (s0 > s1) return;
  }
  switch (sweep.kind) {
  case SweepKind::none: return;
  case SweepKind::arc: return arc_chords(data.sweeps.arcs[sweep.arc], s0, s1, flutes.radius, o, d, out);
  case SweepKind::upright:
  case SweepKind::line: break;
  }
  const Vec2 e = sweep.b - sweep.a;
  Chord chord;
  if (Capsule(sweep.a + s0 * e, sweep.a + s1 * e, flutes.radius).chord(o, d, chord))
    out.add(chord.low, chord.high);
}

/// Walks a horizontal ray block by block; the air of a block comes from its moves, not from its columns.
class RayWalk {
public:
  RayWalk(const RecordData& data, Vec3 origin, Vec2 dir, Moment t)
      : data_(data), grid_(data.grid), o_(xy(origin)), d_(dir), z_(origin.z), t_(t) {
    width_ = grid_.dx * (1 << grid_.block_shift);
    depth_ = grid_.dy * (1 << grid_.block_shift);
    clip();
  }
  bool meets_sheet() const { return enter_ < leave_; }
  double enter() const { return enter_; }
  double leave() const { return leave_; }

  /// First place at or after u that is not in air, or `leave()` when air lasts to the end of the sheet.
  double through_air(double u) {
    while (u < leave_ - kTouching_mm) {
      load(u);
      double v = u;
      for (bool more = true; more;) {
        more = false;
        for (const Chord& air : air_) {
          if (air.low <= v + kTouching_mm && air.high > v) {
            v = air.high;
            more = true;
          }
        }
      }
      if (v <= u) return u;
      u = v;
    }
    return leave_;
  }
  /// First place after u where air begins: a wall or the side of the sheet. At most `limit` is looked at.
  double through_foam(double u, double limit) {
    double v = u;
    while (v < leave_ - kTouching_mm && v < limit) {
      load(v);
      double next = 1e300;
      for (const Chord& air : air_)
        if (air.low > u && air.low < next && air.high > air.low + kTouching_mm) next = air.low;
      if (next <= exit_) return next;
      v = exit_;
    }
    return v < leave_ - kTouching_mm ? 1e300 : leave_;
  }

private:
  void clip() {
    enter_ = 0;
    leave_ = 1e300;
    const double low[2] = {grid_.box.low.x, grid_.box.low.y}, high[2] = {grid_.box.high.x, grid_.box.high.y};
    const double o[2] = {o_.x, o_.y}, d[2] = {d_.x, d_.y};
    for (int k = 0; k < 2; ++k) {
      if (d[k] == 0) {
        if (o[k] < low[k] || o[k] > high[k]) leave_ = -1;
        continue;
      }
      const double a = (low[k] - o[k]) / d[k], b = (high[k] - o[k]) / d[k];
      enter_ = std::max(enter_, std::min(a, b));
      leave_ = std::min(leave_, std::max(a, b));
    }
  }
  /// Gathers the air chords of the block that holds the place u, and where the ray leaves it.
  void load(double u) {
    const double nudged = u + 10 * kTouching_mm;
    const int bx_most = (grid_.nx - 1) >> grid_.block_shift, by_most = (grid_.ny - 1) >> grid_.block_shift;
    const int bx = std::clamp(static_cast<int>((o_.x + nudged * d_.x - grid_.box.low.x) / width_), 0, bx_most);
    const int by = std::clamp(static_cast<int>((o_.y + nudged * d_.y - grid_.box.low.y) / depth_), 0, by_most);
    if (bx == bx_ && by == by_) return;
    bx_ = bx;
    by_ = by;
    double exit = leave_;
    if (d_.x > 0) exit = std::min(exit, (grid_.box.low.x + (bx + 1) * width_ - o_.x) / d_.x);
    if (d_.x < 0) exit = std::min(exit, (grid_.box.low.x + bx * width_ - o_.x) / d_.x);
    if (d_.y > 0) exit = std::min(exit, (grid_.box.low.y + (by + 1) * depth_ - o_.y) / d_.y);
    if (d_.y < 0) exit = std::min(exit, (grid_.box.low.y + by * depth_ - o_.y) / d_.y);
    exit_ = std::max(exit, nudged);
    air_.clear();
    const int shift = kTileShift - grid_.block_shift, side = grid_.blocks_a_side();
    const Tile& tile = data_.tiles[static_cast<std::size_t>((by >> shift) * grid_.tiles_x + (bx >> shift))];
    if (tile.runs.empty()) return;
    const std::size_t b = static_cast<std::size_t>((by & (side - 1)) * side + (bx & (side - 1)));
    const MoveRun* run = tile.runs.data() + tile.run_offset[b];
    const MoveRun* const last = tile.runs.data() + tile.run_offset[b + 1];
    const float z = static_cast<float>(z_);
    for (; run != last && run->first < t_; ++run) {
      if (z < run->low || z > run->high) continue;
      const std::uint32_t end = std::min(run->first + run->count, t_);
      for (std::uint32_t m = run->first; m < end; ++m) {
        Chords chords;
        air_chords(data_, data_.sweeps.moves[m], z_, o_, d_, chords);
        for (int n = 0; n < chords.count; ++n) {
          const Chord& chord = chords.at[static_cast<std::size_t>(n)];
          if (chord.high > u) air_.push_back(chord);
        }
      }
    }
  }

  const RecordData& data_;
  const ColumnGrid& grid_;
  Vec2 o_, d_;
  double z_;
  Moment t_;
  double width_, depth_, enter_ = 0, leave_ = 0, exit_ = 0;
  int bx_ = -1, by_ = -1;
  // One buffer a thread, so that a ray allocates nothing.
  static std::vector<Chord>& buffer() {
    static thread_local std::vector<Chord> chords;
    return chords;
  }
  std::vector<Chord>& air_ = buffer();
};

} // namespace

std::uint32_t RemovalRecord::removed_by(Vec3 p) const {
  std::size_t cell;
  const Tile* tile = tile_at(*data_, xy(p), cell);
  if (!tile || tile->cuts.empty()) return kNever;
  const CutInterval* cut = tile->cuts.data() + tile->offset[cell];
  const CutInterval* const last = tile->cuts.data() + tile->offset[cell + 1];
  const float z = static_cast<float>(p.z);
  while (cut != last && cut->high <= z) ++cut;
  return cut != last && cut->low <= z ? cut->move : kNever;
}

bool RemovalRecord::solid(Vec3 p, Moment t) const {
  const Box3& b = data_->grid.box;
  if (!(p.x >= b.low.x && p.x <= b.high.x && p.y >= b.low.y && p.y <= b.high.y && p.z >= b.low.z &&
        p.z < b.high.z))
    return false;
  return removed_by(p) >= t;
}

Span RemovalRecord::look(Vec3 origin, Vec2 dir, double cap_mm, Moment t) const {
  Span span;
  span.gap_mm = cap_mm;
  const Box3& box = data_->grid.box;
  if (!(origin.z >= box.low.z && origin.z < box.high.z)) return span;
  RayWalk walk(*data_, origin, dir, t);
  if (!walk.meets_sheet()) return span;
  const double sliver = kSliver_voxel * data_->voxel_mm;
  double u = walk.enter();
  while (u <= cap_mm) {
    u = walk.through_air(u);
    if (u >= walk.leave() - kTouching_mm || u > cap_mm) return span;
    const double end = walk.through_foam(u, cap_mm);
    if (end - u >= sliver) {
      span.hit = true;
      span.gap_mm = u;
      span.through = end <= cap_mm;
      span.thickness_mm = std::min(end, cap_mm) - u;
      return span;
    }
    u = end;
  }
  return span;
}

std::vector<Slab> RemovalRecord::column(Vec2 p, Moment t) const {
  std::vector<Slab> slabs;
  std::size_t cell;
  const Tile* tile = tile_at(*data_, p, cell);
  if (!tile) return slabs;
  const Box3& box = data_->grid.box;
  double low = box.low.z;
  if (!tile->cuts.empty()) {
    for (std::uint32_t n = tile->offset[cell]; n < tile->offset[cell + 1]; ++n) {
      const CutInterval& cut = tile->cuts[n];
      if (cut.move >= t) continue;
      if (static_cast<double>(cut.low) > low) slabs.push_back({low, cut.low});
      low = std::max(low, static_cast<double>(cut.high));
    }
  }
  if (box.high.z > low) slabs.push_back({low, box.high.z});
  return slabs;
}

double RemovalRecord::top_mm(Vec2 p, Moment t) const {
  const Box3& box = data_->grid.box;
  std::size_t cell;
  const Tile* tile = tile_at(*data_, p, cell);
  if (!tile) return box.low.z;
  if (tile->cuts.empty()) return box.high.z;
  float top = static_cast<float>(box.high.z);
  for (std::uint32_t n = tile->offset[cell + 1]; n > tile->offset[cell]; --n) {
    const CutInterval& cut = tile->cuts[n - 1];
    if (cut.high < top) break;
    if (cut.move >= t) break;
    top = cut.low;
  }
  return top == static_cast<float>(box.high.z) ? box.high.z : std::max(static_cast<double>(top), box.low.z);
}

} // namespace snagmap
