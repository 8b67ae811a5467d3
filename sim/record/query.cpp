// Questions to single columns of the record.
#include "models/base/finite.hpp"
#include "sim/record/near.hpp"
#include "sim/swept/swept.hpp"

namespace snagmap {
namespace {

const Tile* tile_at(const RecordData& data, Vec2 p, std::size_t& cell) {
  int i, j;
  if (!data.grid.column_at(p, i, j))
    return nullptr;
  cell = static_cast<std::size_t>(ColumnGrid::cell_of(i, j));
  return &data.tiles[static_cast<std::size_t>(data.grid.tile_of(i, j))];
}

/// The cut that holds height z in a column; null where none does.
const CutInterval* interval_at(const Tile& tile, std::size_t cell, double height) {
  if (tile.cuts.empty())
    return nullptr;
  const CutInterval* const last = tile.cuts.data() + tile.offset[cell + 1];
  const float z = static_cast<float>(height);
  const CutInterval* const cut = first_over(tile.cuts.data() + tile.offset[cell], last, z);
  return cut != last && cut->low <= z ? cut : nullptr;
}

float top_of(const RecordData& data, const Tile& tile, std::size_t cell, Moment t) {
  float top = static_cast<float>(data.grid.box.high.z);
  if (tile.cuts.empty())
    return top;
  for (std::uint32_t n = tile.offset[cell + 1]; n > tile.offset[cell]; --n) {
    const CutInterval& cut = tile.cuts[n - 1];
    if (cut.high < top || cut.stamp > t)
      break;
    top = cut.low;
  }
  return top;
}

} // namespace

std::uint32_t RemovalRecord::removed_by(Vec3 p) const {
  require_finite("a place in the record", p.x, p.y, p.z);
  std::size_t cell;
  const Tile* tile = tile_at(*data_, xy(p), cell);
  const CutInterval* cut = tile ? interval_at(*tile, cell, p.z) : nullptr;
  return cut && cut->stamp > 0 ? cut->stamp - 1 : kNever;
}

bool RemovalRecord::solid(Vec3 p, Moment t) const {
  require_finite("a place in the record", p.x, p.y, p.z);
  const Box3& b = data_->grid.box;
  if (!(p.x >= b.low.x && p.x <= b.high.x && p.y >= b.low.y && p.y <= b.high.y && p.z >= b.low.z &&
        p.z < b.high.z))
    return false;
  std::size_t cell;
  const Tile* tile = tile_at(*data_, xy(p), cell);
  const CutInterval* cut = tile ? interval_at(*tile, cell, p.z) : nullptr;
  return !cut || cut->stamp > t;
}

std::vector<Slab> RemovalRecord::column(Vec2 p, Moment t) const {
  require_finite("a column of the record", p.x, p.y);
  std::vector<Slab> slabs;
  std::size_t cell;
  const Tile* tile = tile_at(*data_, p, cell);
  if (!tile)
    return slabs;
  const Box3& box = data_->grid.box;
  double low = box.low.z;
  if (!tile->cuts.empty()) {
    for (std::uint32_t n = tile->offset[cell]; n < tile->offset[cell + 1]; ++n) {
      const CutInterval& cut = tile->cuts[n];
      if (cut.stamp > t)
        continue;
      if (static_cast<double>(cut.low) > low)
        slabs.push_back({low, cut.low});
      low = std::max(low, static_cast<double>(cut.high));
    }
  }
  if (box.high.z > low)
    slabs.push_back({low, box.high.z});
  return slabs;
}

std::vector<Slab> RemovalRecord::standing(Vec2 p, Instant t) const {
  require_finite("an upright line in the record", p.x, p.y, t.share);
  std::vector<Slab> foam;
  const RecordData& data = *data_;
  const Box3& box = data.grid.box;
  std::size_t cell;
  const Tile* const tile = tile_at(data, p, cell);
  if (!tile)
    return foam;
  static thread_local std::vector<Slab> air;
  air.clear();
  if (!data.mesh.triangles.empty() && !tile->cuts.empty())
    for (std::uint32_t n = tile->offset[cell]; n < tile->offset[cell + 1]; ++n)
      if (tile->cuts[n].stamp == 0)
        air.push_back({tile->cuts[n].low, tile->cuts[n].high});
  const auto add = [&](const Sweep& sweep, const Sweeps& sweeps) {
    for (const BodyPart& part : data.bodies[sweep.body].flutes) {
      HeightsList list;
      heights_over(sweep, sweeps, part, p, list);
      for (int k = 0; k < list.count; ++k)
        air.push_back({list.at[static_cast<std::size_t>(k)].low, list.at[static_cast<std::size_t>(k)].high});
    }
  };
  for_sweeps_near(data, {{p.x, p.y, box.low.z}, {p.x, p.y, box.high.z}}, data.sweeps.count_at(t.done),
                  [&](std::uint32_t n) { add(data.sweeps[n], data.sweeps); });
  if (t.share > 0) {
    const PartSwept under_way = part_swept(data.sweeps, t.done, t.share);
    for (std::uint32_t n = under_way.first; n < under_way.end; ++n)
      add(data.sweeps[n], data.sweeps);
    add(under_way.part, under_way.part.kind == SweepKind::arc ? under_way.own : data.sweeps);
  }
  std::sort(air.begin(), air.end(), [](const Slab& a, const Slab& b) { return a.low_mm < b.low_mm; });
  double from = box.low.z;
  for (const Slab& gap : air) {
    if (gap.low_mm >= box.high.z)
      break;
    if (gap.low_mm > from + kSliver_mm)
      foam.push_back({from, gap.low_mm});
    from = std::max(from, gap.high_mm);
  }
  if (from + kSliver_mm < box.high.z)
    foam.push_back({from, box.high.z});
  return foam;
}

double RemovalRecord::top_mm(Vec2 p, Moment t) const {
  require_finite("a column of the record", p.x, p.y);
  const Box3& box = data_->grid.box;
  std::size_t cell;
  const Tile* tile = tile_at(*data_, p, cell);
  if (!tile)
    return box.low.z;
  const float top = top_of(*data_, *tile, cell, t);
  return top == static_cast<float>(box.high.z) ? box.high.z : std::max(static_cast<double>(top), box.low.z);
}

} // namespace snagmap
