#include "sim/record.hpp"

#include "sim/record/tile_cut.hpp"

#include <fmt/format.h>
#include <tbb/blocked_range.h>
#include <tbb/enumerable_thread_specific.h>
#include <tbb/parallel_for.h>
#include <tbb/task_arena.h>

#include <chrono>
#include <condition_variable>
#include <map>
#include <mutex>
#include <thread>

namespace snagmap {
namespace {

Fault fault(std::string what, std::string way_out) { return {"", 0, 0, std::move(what), std::move(way_out), ""}; }

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
  grid.block_shift = std::clamp(static_cast<int>(std::lround(std::log2(kBlock_mm / voxel_mm))), 1, kTileShift - 1);
  return grid;
}

Outcome<Body> body_of(const CutterCard& card) {
  if (card.tip != TipShape::flat || !card.own_profile.empty())
    return fault(fmt::format("cutter '{}' is not a flat end cutter", card.name), "use a flat end cutter");
  if (!(card.diameter_mm > 0 && card.flute_length_mm > 0))
    return fault(fmt::format("cutter '{}' has no diameter or no flutes", card.name), "give both above 0");
  Body body;
  body.flutes = {Zone::flutes, 0.5 * card.diameter_mm, 0, card.flute_length_mm};
  double z = card.flute_length_mm;
  const auto add = [&](Zone zone, double diameter, double length) {
    if (diameter > 0 && length > 0) body.others.push_back({zone, 0.5 * diameter, z, z + length});
    z += std::max(0.0, length);
  };
  if (card.neck_diameter_mm > 0) add(Zone::neck, card.neck_diameter_mm, card.neck_length_mm);
  // Without a stick-out the shank has no end: nothing above it is known.
  const double shank = card.stick_out_mm > 0 ? card.stick_out_mm - z : 1e4;
  add(Zone::shank, card.shank_diameter_mm > 0 ? card.shank_diameter_mm : card.diameter_mm, shank);
  add(Zone::nut, card.nut_diameter_mm, card.nut_length_mm);
  add(Zone::holder, card.holder_diameter_mm, card.holder_length_mm);
  body.reach = body.flutes.radius;
  for (const BodyZone& zone : body.others) body.reach = std::max(body.reach, zone.radius);
  return body;
}

/// Slices of the sheet's height: they begin at the levels most moves run at, and none is thicker than a few mm.
/// Only the speed of looking depends on them.
void choose_slices(RecordData& data) {
  constexpr std::size_t kLevelsMost = 64;
  constexpr double kThickest_mm = 4;
  ColumnGrid& grid = data.grid;
  const float low = static_cast<float>(grid.box.low.z), high = static_cast<float>(grid.box.high.z);
  std::map<float, std::size_t> levels;
  float last = low;
  std::size_t* count = nullptr;
  for (const Sweep& sweep : data.sweeps.moves) {
    if (sweep.kind == SweepKind::none || sweep.za != sweep.zb) continue;
    const float z = static_cast<float>(sweep.za + data.bodies[sweep.body].flutes.low);
    if (!(z > low && z < high)) continue;
    if (!count || z != last) count = &levels[last = z];
    ++*count;
  }
  std::vector<std::pair<std::size_t, float>> order;
  for (const auto& [z, moves] : levels) order.emplace_back(moves, z);
  std::sort(order.begin(), order.end(), [](const auto& a, const auto& b) { return a > b; });
  order.resize(std::min(order.size(), kLevelsMost));
  std::vector<float> starts{low, high};
  for (const auto& [moves, z] : order) starts.push_back(z);
  std::sort(starts.begin(), starts.end());
  const double thickest = std::max(kThickest_mm, (high - low) / 64.0);
  for (std::size_t n = 0; n + 1 < starts.size(); ++n) {
    const double from = starts[n], to = starts[n + 1];
    const int parts = std::max(1, static_cast<int>(std::ceil((to - from) / thickest)));
    for (int k = 0; k < parts; ++k) grid.slice_low.push_back(static_cast<float>(from + (to - from) * k / parts));
  }
  const std::size_t hints = static_cast<std::size_t>((high - low) / ColumnGrid::kHint_mm) + 1;
  std::uint16_t k = 0;
  for (std::size_t n = 0; n < hints; ++n) {
    while (k + 1 < grid.slices() && grid.slice_low[k + 1u] <= low + static_cast<float>(n * ColumnGrid::kHint_mm)) ++k;
    grid.slice_hint.push_back(k);
  }
}

/// Moves of each tile in order, as offsets into one list: a move goes to every tile its box overlaps.
struct Bins {
  std::vector<std::size_t> offset;
  std::vector<std::uint32_t> moves;
};
Bins bin_moves(const RecordData& data) {
  const ColumnGrid& grid = data.grid;
  const double width = grid.dx * kTileSide, depth = grid.dy * kTileSide;
  const auto for_tiles = [&](const Sweep& sweep, const auto& visit) {
    if (sweep.kind == SweepKind::none) return;
    const Body& body = data.bodies[sweep.body];
    // Only zones that come below the top of the sheet matter; the flutes reach lowest.
    const double z_min = std::min(sweep.za, sweep.zb);
    if (z_min + body.flutes.low >= grid.box.high.z) return;
    double reach = body.flutes.radius;
    for (const BodyZone& zone : body.others)
      if (z_min + zone.low < grid.box.high.z) reach = std::max(reach, zone.radius);
    const Box2 plan = plan_box(sweep, data.sweeps);
    const auto tile = [](double v, int count) { return std::clamp(static_cast<int>(std::floor(v)), -1, count); };
    const int x0 = std::max(tile((plan.low.x - reach - grid.box.low.x) / width, grid.tiles_x), 0);
    const int x1 = std::min(tile((plan.high.x + reach - grid.box.low.x) / width, grid.tiles_x), grid.tiles_x - 1);
    const int y0 = std::max(tile((plan.low.y - reach - grid.box.low.y) / depth, grid.tiles_y), 0);
    const int y1 = std::min(tile((plan.high.y + reach - grid.box.low.y) / depth, grid.tiles_y), grid.tiles_y - 1);
    for (int y = y0; y <= y1; ++y)
      for (int x = x0; x <= x1; ++x) visit(static_cast<std::size_t>(y * grid.tiles_x + x));
  };
  Bins bins;
  bins.offset.assign(static_cast<std::size_t>(grid.tiles_x * grid.tiles_y) + 1, 0);
  for (const Sweep& sweep : data.sweeps.moves)
    for_tiles(sweep, [&](std::size_t tile) { ++bins.offset[tile + 1]; });
  for (std::size_t n = 1; n < bins.offset.size(); ++n) bins.offset[n] += bins.offset[n - 1];
  bins.moves.resize(bins.offset.back());
  std::vector<std::size_t> at(bins.offset.begin(), bins.offset.end() - 1);
  for (std::size_t m = 0; m < data.sweeps.moves.size(); ++m)
    for_tiles(data.sweeps.moves[m], [&](std::size_t tile) { bins.moves[at[tile]++] = static_cast<std::uint32_t>(m); });
  return bins;
}

/// Runs `work` in an arena of the caller's size while the calling thread reports progress and may stop it.
template <class Work>
bool run_watched(const std::function<bool(double)>& progress, std::size_t total, std::atomic<std::size_t>& done,
                 std::atomic<bool>& stop, const Work& work) {
  if (!progress) {
    work();
    return true;
  }
  tbb::task_arena arena(tbb::this_task_arena::max_concurrency());
  std::mutex mutex;
  std::condition_variable ready;
  bool finished = false;
  std::thread worker([&] {
    arena.execute(work);
    const std::lock_guard<std::mutex> lock(mutex);
    finished = true;
    ready.notify_one();
  });
  bool go_on = true;
  std::unique_lock<std::mutex> lock(mutex);
  while (!ready.wait_for(lock, std::chrono::milliseconds(50), [&] { return finished; })) {
    if (!go_on) continue;
    go_on = progress(total ? static_cast<double>(done.load()) / static_cast<double>(total) : 1.0);
    if (!go_on) stop = true;
  }
  lock.unlock();
  worker.join();
  return go_on;
}

/// One touch for each move and zone: the deepest, the lowest tile's when equal.
std::vector<Touch> merged(const std::vector<TileYield>& yields) {
  std::vector<Touch> all;
  for (const TileYield& yield : yields) all.insert(all.end(), yield.touches.begin(), yield.touches.end());
  std::stable_sort(all.begin(), all.end(), [](const Touch& a, const Touch& b) {
    return a.move != b.move ? a.move < b.move : a.zone < b.zone;
  });
  std::vector<Touch> out;
  for (const Touch& touch : all) {
    if (out.empty() || out.back().move != touch.move || out.back().zone != touch.zone) out.push_back(touch);
    else if (touch.depth_mm > out.back().depth_mm) out.back() = touch;
  }
  return out;
}

} // namespace

RemovalRecord::RemovalRecord() : data_(std::make_unique<Data>()) {}
RemovalRecord::~RemovalRecord() = default;
RemovalRecord::RemovalRecord(RemovalRecord&&) noexcept = default;
RemovalRecord& RemovalRecord::operator=(RemovalRecord&&) noexcept = default;

Outcome<RemovalRecord> RemovalRecord::cut(const StockShape& stock, const std::vector<CutterCard>& cutters,
                                          const Path& path, const CutOptions& options) {
  Outcome<ColumnGrid> grid = grid_over(stock.box, options.voxel_mm);
  if (!grid) return grid.faults();
  RemovalRecord record;
  Data& data = *record.data_;
  data.grid = *grid;
  data.voxel_mm = options.voxel_mm;
  for (const CutterCard& card : cutters) {
    Outcome<Body> body = body_of(card);
    if (!body) return body.faults();
    data.bodies.push_back(std::move(*body));
  }
  if (path.moves.size() >= kNever) return fault("too many moves", "split the program");
  for (const Move& move : path.moves) {
    const bool still = move.kind == MoveKind::dwell || move.kind == MoveKind::stop || move.kind == MoveKind::tool_change;
    Fault bad = fault("", "");
    bad.line = move.line;
    if (!still && (move.tool < 0 || static_cast<std::size_t>(move.tool) >= cutters.size())) {
      bad.what = fmt::format("the move uses cutter {} of {}", move.tool, cutters.size());
      bad.way_out = "give the scene a cutter for each tool of the program";
      return bad;
    }
    if (!std::isfinite(norm(move.from) + norm(move.to)) || norm(move.from) + norm(move.to) > 1e6) {
      bad.what = "the move leads out of all bounds";
      bad.way_out = "keep the program within 1 km of its zero";
      return bad;
    }
    if (move.kind == MoveKind::arc && move.plane != ArcPlane::xy) {
      bad.what = "an arc outside the xy plane";
      bad.way_out = "write it as short straight moves";
      return bad;
    }
  }
  data.sweeps = sweeps_of(path);
  choose_slices(data);
  const Bins bins = bin_moves(data);
  const std::size_t tiles = static_cast<std::size_t>(data.grid.tiles_x * data.grid.tiles_y);
  data.tiles.resize(tiles);
  std::vector<TileYield> yields(tiles);
  std::atomic<bool> stop{false};
  std::atomic<std::size_t> done{0};
  const auto work = [&] {
    tbb::enumerable_thread_specific<TileCutter> cutter([&data] { return TileCutter(data); });
    tbb::parallel_for(tbb::blocked_range<std::size_t>(0, tiles, 1), [&](const tbb::blocked_range<std::size_t>& range) {
      TileCutter& own = cutter.local();
      for (std::size_t n = range.begin(); n < range.end(); ++n) {
        if (bins.offset[n] == bins.offset[n + 1]) continue;
        own.run(static_cast<int>(n), bins.moves.data() + bins.offset[n], bins.moves.data() + bins.offset[n + 1],
                data.tiles[n], yields[n], stop, done);
      }
    }, tbb::simple_partitioner());
  };
  if (!run_watched(options.progress, bins.moves.size(), done, stop, work))
    return fault("the cut was stopped", "run it again");
  // Sums in order of the tiles: the same bits on any number of threads.
  data.removed_mm3.assign(path.moves.size(), 0);
  for (std::size_t n = 0; n < tiles; ++n)
    for (std::size_t k = 0; k < yields[n].removed_mm3.size(); ++k)
      data.removed_mm3[bins.moves[bins.offset[n] + k]] += yields[n].removed_mm3[k];
  data.touches = merged(yields);
  return record;
}

const Box3& RemovalRecord::box() const { return data_->grid.box; }
double RemovalRecord::voxel_mm() const { return data_->voxel_mm; }
Moment RemovalRecord::end() const { return static_cast<Moment>(data_->sweeps.moves.size()); }
const std::vector<double>& RemovalRecord::removed_mm3() const { return data_->removed_mm3; }
const std::vector<Touch>& RemovalRecord::touches() const { return data_->touches; }

std::size_t RemovalRecord::bytes() const {
  const auto held = [](const auto& v) { return v.capacity() * sizeof(v[0]); };
  std::size_t sum = sizeof(Data) + held(data_->bodies) + held(data_->sweeps.moves) + held(data_->sweeps.arcs) +
                    held(data_->tiles) + held(data_->removed_mm3) + held(data_->touches);
  for (const Tile& tile : data_->tiles)
    sum += held(tile.offset) + held(tile.cuts) + held(tile.slices) + held(tile.run_offset) + held(tile.runs);
  return sum;
}

} // namespace snagmap
