#include "sim/record/grid.hpp"

#include <fmt/format.h>

#include <map>

namespace snagmap {
namespace {

Fault fault(std::string what, std::string way_out) {
  return Fault(std::move(what), std::move(way_out));
}

} // namespace

Outcome<ColumnGrid> grid_over(const Box3& box, double voxel_mm) {
  if (!(voxel_mm > 0) || !std::isfinite(voxel_mm))
    return fault(fmt::format("the voxel size is {} mm", voxel_mm), "give a size above 0, for example 0.5 mm");
  const Vec3 size = box.high - box.low;
  if (!(size.x > 0 && size.y > 0 && size.z > 0) || !std::isfinite(norm(size)))
    return fault(fmt::format("the sheet is {} x {} x {} mm", size.x, size.y, size.z),
                 "give a sheet with a size above 0 in every direction");
  const double columns = size.x / voxel_mm * (size.y / voxel_mm);
  if (columns > 4e8)
    return fault(fmt::format("{:.3g} columns of {} mm are too many", columns, voxel_mm),
                 fmt::format("use voxels of {:.2g} mm or more", voxel_mm * std::sqrt(columns / 4e8)));
  ColumnGrid grid;
  grid.box = box;
  grid.nx = std::max(1, static_cast<int>(std::lround(size.x / voxel_mm)));
  grid.ny = std::max(1, static_cast<int>(std::lround(size.y / voxel_mm)));
  grid.dx = size.x / grid.nx;
  grid.dy = size.y / grid.ny;
  grid.tiles_x = (grid.nx + kTileSide - 1) >> kTileShift;
  grid.tiles_y = (grid.ny + kTileSide - 1) >> kTileShift;
  constexpr double kBlock_mm = 4;
  grid.codes_a_mm = 65535 / size.z;
  grid.block_shift =
      std::clamp(static_cast<int>(std::lround(std::log2(kBlock_mm / voxel_mm))), 1, kTileShift - 1);
  return grid;
}

void choose_slices(RecordData& data) {
  constexpr std::size_t kLevelsMost = 64;
  constexpr double kThickest_mm = 4;
  ColumnGrid& grid = data.grid;
  const float low = static_cast<float>(grid.box.low.z), high = static_cast<float>(grid.box.high.z);
  std::map<float, std::size_t> levels;
  float last = low;
  std::size_t* count = nullptr;
  for (std::size_t n = 0; n < data.sweeps.size(); ++n) {
    const Sweep sweep = data.sweeps[n];
    if (sweep.kind == SweepKind::none || sweep.za != sweep.zb)
      continue;
    const float z = static_cast<float>(sweep.za + data.bodies[sweep.body].flute_low);
    if (!(z > low && z < high))
      continue;
    if (!count || z != last)
      count = &levels[last = z];
    ++*count;
  }
  std::vector<std::pair<std::size_t, float>> order;
  for (const auto& [z, moves] : levels)
    order.emplace_back(moves, z);
  std::sort(order.begin(), order.end(), [](const auto& a, const auto& b) { return a > b; });
  order.resize(std::min(order.size(), kLevelsMost));
  std::vector<float> starts{low, high};
  for (const auto& [moves, z] : order)
    starts.push_back(z);
  std::sort(starts.begin(), starts.end());
  const double thickest = std::max(kThickest_mm, (high - low) / 64.0);
  for (std::size_t n = 0; n + 1 < starts.size(); ++n) {
    const double from = starts[n], to = starts[n + 1];
    const int parts = std::max(1, static_cast<int>(std::ceil((to - from) / thickest)));
    for (int k = 0; k < parts; ++k)
      grid.slice_low.push_back(static_cast<float>(from + (to - from) * k / parts));
  }
  const std::size_t hints = static_cast<std::size_t>((high - low) / ColumnGrid::kHint_mm) + 1;
  std::uint16_t k = 0;
  for (std::size_t n = 0; n < hints; ++n) {
    while (k + 1 < grid.slices() &&
           grid.slice_low[k + 1u] <= low + static_cast<float>(n * ColumnGrid::kHint_mm))
      ++k;
    grid.slice_hint.push_back(k);
  }
}

Bins bin_sweeps(const RecordData& data) {
  const ColumnGrid& grid = data.grid;
  const double width = grid.dx * kTileSide, depth = grid.dy * kTileSide;
  struct Range {
    int x0 = 0, x1 = -1, y0 = 0, y1 = -1; // none
  };
  const auto range_of = [&](const Sweep& sweep) -> Range {
    if (sweep.kind == SweepKind::none)
      return {};
    const Body& body = data.bodies[sweep.body];
    // Only parts that come below the top of the sheet matter; the flutes reach lowest.
    const double z_min = std::min(sweep.za, sweep.zb);
    if (z_min + body.flute_low >= grid.box.high.z)
      return {};
    double reach = body.flute_radius;
    for (const BodyPart& part : body.others)
      if (z_min + part.low < grid.box.high.z)
        reach = std::max(reach, part.radius);
    const Box2 plan = plan_box(sweep, data.sweeps);
    return {std::max(floor_of((plan.low.x - reach - grid.box.low.x) / width), 0),
            std::min(floor_of((plan.high.x + reach - grid.box.low.x) / width), grid.tiles_x - 1),
            std::max(floor_of((plan.low.y - reach - grid.box.low.y) / depth), 0),
            std::min(floor_of((plan.high.y + reach - grid.box.low.y) / depth), grid.tiles_y - 1)};
  };
  std::vector<Range> ranges(data.sweeps.size());
  const auto for_tiles = [&](const Range& range, const auto& visit) {
    for (int y = range.y0; y <= range.y1; ++y)
      for (int x = range.x0; x <= range.x1; ++x)
        visit(static_cast<std::size_t>(y * grid.tiles_x + x));
  };
  Bins bins;
  bins.offset.assign(static_cast<std::size_t>(grid.tiles_x * grid.tiles_y) + 1, 0);
  for (std::size_t n = 0; n < ranges.size(); ++n) {
    ranges[n] = range_of(data.sweeps[n]);
    for_tiles(ranges[n], [&](std::size_t tile) { ++bins.offset[tile + 1]; });
  }
  for (std::size_t n = 1; n < bins.offset.size(); ++n)
    bins.offset[n] += bins.offset[n - 1];
  bins.sweeps.resize(bins.offset.back());
  std::vector<std::size_t> at(bins.offset.begin(), bins.offset.end() - 1);
  for (std::size_t n = 0; n < ranges.size(); ++n)
    for_tiles(ranges[n], [&](std::size_t tile) { bins.sweeps[at[tile]++] = static_cast<std::uint32_t>(n); });
  return bins;
}

} // namespace snagmap
