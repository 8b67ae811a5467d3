// Looking through the stock of a moment: columns say where foam is, moves say exactly where it ends.
#include "models/base/finite.hpp"
#include "sim/record/mesh.hpp"
#include "sim/record/near.hpp"
#include "sim/swept/swept.hpp"

#include <cmath>
#include <optional>

namespace snagmap {
namespace {

constexpr double kSquare = 1e-6; ///< a part of a direction under this counts as none: such a ray on the line
                                 ///< between two columns could not be told to leave it (60 um in 60 m)
constexpr double kTouching_mm = 1e-7; ///< chords this near each other join
constexpr double kPiece_mm = 6; ///< moves are asked about this much of a ray at a time: about a block or two

/// Air on a horizontal ray at an instant. Blocks and columns tell where a wall must be; near it the air
/// chords of the moves tell exactly where.
class Ray {
public:
  Ray(const RecordData& data, Vec3 origin, Vec2 dir, Moment t, const PartSwept* under_way)
      : data_(data), grid_(data.grid), o_(xy(origin)), d_(dir), z_(origin.z), t_(t),
        done_(data.sweeps.count_at(t)), under_way_(under_way),
        slice_(grid_.slice_at(static_cast<float>(z_))) {
    near_ = 2 * std::max(grid_.dx, grid_.dy);
    step_i_ = d_.x > 0 ? 1 : -1;
    step_j_ = d_.y > 0 ? 1 : -1;
    step_x_ = d_.x != 0 ? grid_.dx / std::abs(d_.x) : 1e300;
    step_y_ = d_.y != 0 ? grid_.dy / std::abs(d_.y) : 1e300;
    clip();
  }
  bool meets_sheet() const { return enter_ < leave_; }
  double enter() const { return enter_; }
  double leave() const { return leave_; }

  /// End of the air that begins at u: u itself when there is foam, `leave()` when no foam follows.
  /// Past `limit` the answer is only a lower bound. The columns say how far to ask, the moves say what is
  /// there.
  double through_air(double u, double limit) {
    for (double from = u; from < leave_ - kTouching_mm && from <= limit;) {
      const double far = std::min(march(from, limit, false) + near_, from + kPiece_mm);
      gather(from, far);
      const double end = air_end(from);
      if (end < far || end >= leave_ - kTouching_mm)
        return std::min(end, leave_);
      from = end;
    }
    return leave_;
  }
  /// End of the foam that begins at u: a wall or the side of the sheet. Past `limit` only a lower bound.
  double through_foam(double u, double limit) {
    for (double from = u; from < leave_ - kTouching_mm && from <= limit;) {
      const double far = std::min(march(from, limit, true) + near_, from + kPiece_mm);
      gather(from, far);
      double end = 1e300;
      for (const Chord& air : air_)
        if (air.high > from + kTouching_mm)
          end = std::min(end, std::max(air.low, from));
      if (end <= far)
        return std::min(end, leave_);
      from = far;
    }
    return leave_;
  }

private:
  void clip() {
    enter_ = 0;
    leave_ = 1e300;
    const double low[2] = {grid_.box.low.x, grid_.box.low.y}, high[2] = {grid_.box.high.x, grid_.box.high.y};
    const double o[2] = {o_.x, o_.y}, d[2] = {d_.x, d_.y};
    for (int k = 0; k < 2; ++k) {
      if (d[k] == 0) {
        if (o[k] < low[k] || o[k] > high[k])
          leave_ = -1;
        continue;
      }
      const double a = (low[k] - o[k]) / d[k], b = (high[k] - o[k]) / d[k];
      enter_ = std::max(enter_, std::min(a, b));
      leave_ = std::min(leave_, std::max(a, b));
    }
  }

  /// First place from `u` on where a column is air (or foam); `leave()` when there is none, past `limit`
  /// sooner.
  double march(double u, double limit, bool air) const {
    const double end = std::min(limit, leave_);
    const int shift = grid_.block_shift, side_bits = kTileShift - shift, side = 1 << side_bits;
    const float z = static_cast<float>(z_);
    while (u < end) {
      const Vec2 p = o_ + (u + kTouching_mm) * d_;
      int i = std::clamp(static_cast<int>((p.x - grid_.box.low.x) / grid_.dx), 0, grid_.nx - 1);
      int j = std::clamp(static_cast<int>((p.y - grid_.box.low.y) / grid_.dy), 0, grid_.ny - 1);
      const int bi = i >> shift, bj = j >> shift;
      const Tile& tile = data_.tiles[static_cast<std::size_t>(grid_.tile_of(i, j))];
      if (!tile.slices.empty()) {
        const int block = (bj & (side - 1)) * side + (bi & (side - 1));
        const BlockSlice& slice = tile.slices[static_cast<std::size_t>(block * grid_.slices() + slice_)];
        if (slice.last <= t_) { // all air; `last` is kNever where any foam stays
          if (air)
            return u;
        } else if (slice.first > t_) { // whole foam
          if (!air)
            return u;
        } else {
          // A step can end where it began: rounding puts the edge of the last column a hair inside the sheet.
          const double least = u + kTouching_mm;
          double ux = edge(o_.x, d_.x, grid_.box.low.x, grid_.dx, i);
          double uy = edge(o_.y, d_.y, grid_.box.low.y, grid_.dy, j);
          while (u < end && (i >> shift) == bi && (j >> shift) == bj) {
            const std::size_t cell = static_cast<std::size_t>(ColumnGrid::cell_of(i, j));
            const CutInterval* const last = tile.cuts.data() + tile.offset[cell + 1];
            const CutInterval* const cut = first_over(tile.cuts.data() + tile.offset[cell], last, z);
            const bool gone = cut != last && cut->low <= z && cut->stamp <= t_;
            if (gone == air)
              return u;
            if (ux < uy) {
              u = std::max(u, ux);
              i += step_i_;
              ux += step_x_;
            } else {
              u = std::max(u, uy);
              j += step_j_;
              uy += step_y_;
            }
          }
          u = std::max(u, least);
          continue;
        }
      } else if (!air) {
        return u;
      }
      const double ux = edge(o_.x, d_.x, grid_.box.low.x, grid_.dx * (1 << shift), bi);
      const double uy = edge(o_.y, d_.y, grid_.box.low.y, grid_.dy * (1 << shift), bj);
      u = std::max(u + kTouching_mm, std::min(ux, uy));
    }
    return u;
  }
  /// Where the ray leaves cell n of a row of cells of `step` from `low`.
  static double edge(double o, double d, double low, double step, int n) {
    if (d == 0)
      return 1e300;
    return (low + (d > 0 ? n + 1 : n) * step - o) / d;
  }

  double air_end(double u) const {
    for (bool more = true; more;) {
      more = false;
      for (const Chord& air : air_) {
        if (air.low <= u + kTouching_mm && air.high > u) {
          u = air.high;
          more = true;
        }
      }
    }
    return u;
  }

  /// Gathers the air chords of all moves that touch the piece from..to of the ray.
  void gather(double from, double to) {
    air_.clear();
    known_ = {from, from};
    const Vec2 p = o_ + from * d_, q = o_ + to * d_;
    const Box3 box{{std::min(p.x, q.x), std::min(p.y, q.y), z_},
                   {std::max(p.x, q.x), std::max(p.y, q.y), z_}};
    // The latest turn of a helix first: the chords of those above lie within its air.
    if (under_way_) {
      gather_sweep(under_way_->part, under_way_->part.kind == SweepKind::arc ? under_way_->own : data_.sweeps,
                   from, to);
      for (std::uint32_t n = under_way_->end; n-- > under_way_->first;)
        gather_sweep(data_.sweeps[n], data_.sweeps, from, to);
    }
    if (data_.sweeps.first.empty()) { // no chords
      for_sweeps_near(data_, box, done_,
                      [&](std::uint32_t n) { gather_sweep(data_.sweeps[n], data_.sweeps, from, to); });
    } else {
      std::vector<std::uint32_t>& near = near_buffer();
      near.clear();
      for_sweeps_near(data_, box, done_, [&](std::uint32_t n) { near.push_back(n); });
      for (auto n = near.rbegin(); n != near.rend(); ++n)
        gather_sweep(data_.sweeps[*n], data_.sweeps, from, to);
    }
    if (!data_.mesh.triangles.empty())
      mesh_air(data_.mesh, grid_, z_, o_, d_, from, to, air_);
  }
  void gather_sweep(const Sweep& sweep, const Sweeps& sweeps, double from, double to) {
    const Body& body = data_.bodies[sweep.body];
    if (sweep.kind != SweepKind::arc) {
      const double r = body.flute_radius;
      const Vec2 oa = sweep.a - o_, ob = sweep.b - o_;
      const double ma = dot(oa, d_), mb = dot(ob, d_), ha = cross(d_, oa), hb = cross(d_, ob);
      if (std::max(ma, mb) + r < from || std::min(ma, mb) - r > to || std::min(ha, hb) > r ||
          std::max(ha, hb) < -r)
        return;
    }
    for (const BodyPart& part : body.flutes) {
      Chord bound;
      if (searched_within(sweep, part, z_, o_, d_, bound) &&
          (bound.high <= from || bound.low >= to || (bound.low >= known_.low && bound.high <= known_.high)))
        continue;
      Chords chords;
      air_chords(sweep, sweeps, part, z_, o_, d_, chords);
      for (int n = 0; n < chords.count; ++n) {
        const Chord& chord = chords.at[static_cast<std::size_t>(n)];
        if (chord.high > from && chord.low < to)
          know(chord);
      }
    }
  }

  void know(const Chord& air) {
    air_.push_back(air);
    if (known_.high == known_.low)
      known_ = air;
    else if (air.low <= known_.high && air.high >= known_.low)
      known_ = {std::min(air.low, known_.low), std::max(air.high, known_.high)};
  }

  const RecordData& data_;
  const ColumnGrid& grid_;
  Vec2 o_, d_;
  double z_;
  Moment t_;
  std::uint32_t done_;         // sweeps done at that moment
  const PartSwept* under_way_; // of the move that follows; the columns do not know of it, and need not
  int slice_;
  int step_i_ = 0, step_j_ = 0;
  double step_x_ = 0, step_y_ = 0; // along the ray from column to column
  double near_ = 0, enter_ = 0, leave_ = 0;
  // One buffer a thread, so that a ray allocates nothing.
  static std::vector<Chord>& buffer() {
    static thread_local std::vector<Chord> chords;
    return chords;
  }
  std::vector<Chord>& air_ = buffer();
  Chord known_{}; // one piece of air on the ray, joined of what is gathered so far
  static std::vector<std::uint32_t>& near_buffer() {
    static thread_local std::vector<std::uint32_t> near;
    return near;
  }
};

} // namespace

Span RemovalRecord::look(Vec3 origin, Vec2 dir, double cap_mm, Instant t) const {
  require_finite("a look's origin, direction and cap", origin.x, origin.y, origin.z, dir.x, dir.y, cap_mm,
                 t.share);
  if (dir.x == 0 && dir.y == 0)
    throw std::invalid_argument("a look needs a direction");
  Span span;
  span.gap_mm = cap_mm;
  const Box3& box = data_->grid.box;
  if (!(origin.z >= box.low.z && origin.z < box.high.z))
    return span;
  if (std::abs(dir.x) < kSquare)
    dir.x = 0;
  if (std::abs(dir.y) < kSquare)
    dir.y = 0;
  std::optional<PartSwept> under_way;
  if (t.share > 0)
    under_way = part_swept(data_->sweeps, t.done, t.share);
  Ray ray(*data_, origin, dir, t.done, under_way ? &*under_way : nullptr);
  if (!ray.meets_sheet())
    return span;
  for (double u = ray.enter(); u <= cap_mm;) {
    u = ray.through_air(u, cap_mm);
    if (u >= ray.leave() - kTouching_mm || u > cap_mm)
      return span;
    const double end = ray.through_foam(u, cap_mm);
    if (end - u >= kSliver_mm) {
      span.hit = true;
      span.gap_mm = u;
      span.through = end <= cap_mm;
      span.thickness_mm = std::min(end, cap_mm) - u;
      return span;
    }
    u = std::max(end, u + kTouching_mm);
  }
  return span;
}

} // namespace snagmap
