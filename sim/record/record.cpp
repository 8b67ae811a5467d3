#include "sim/record/record.hpp"

#include "sim/record/estimate.hpp"
#include "sim/record/grid.hpp"
#include "sim/record/layers.hpp"
#include "sim/record/mesh.hpp"
#include "sim/record/tile_cut.hpp"
#include "sim/threads/parallel.hpp"

#include <fmt/format.h>
#include <tbb/enumerable_thread_specific.h>
#include <tbb/task_arena.h>

#include <algorithm>
#include <chrono>
#include <condition_variable>
#include <mutex>
#include <optional>
#include <system_error>
#include <thread>

namespace snagmap {
namespace {

Fault fault(std::string what, std::string way_out) {
  return Fault(std::move(what), std::move(way_out));
}

/// Arcs that cannot be swept whole become chords this near: a tenth of what a curved wall may be off.
constexpr double kChord_voxel = 0.002;

/// Moves that cannot be cut, each with its program line.
std::vector<Fault> faults_of(const Path& path, std::size_t cutters) {
  if (path.moves.size() >= kNever - 1)
    return {fault("too many moves", "split the program")};
  for (const Move& move : path.moves) {
    if (move.kind == MoveKind::dwell || move.kind == MoveKind::stop || move.kind == MoveKind::tool_change)
      continue;
    Fault bad;
    bad.line = move.line;
    if (move.tool < 0 || static_cast<std::size_t>(move.tool) >= cutters) {
      bad.what = fmt::format("the move uses cutter {} of {}", move.tool, cutters);
      bad.way_out = "give the scene a cutter for each tool of the program";
      return {bad};
    }
    constexpr double kFarthest_mm = 1e6;
    if (!(norm(move.from) < kFarthest_mm && norm(move.to) < kFarthest_mm &&
          norm(move.centre) < kFarthest_mm)) {
      bad.what = "the move leads out of all bounds";
      bad.way_out = "keep the program within 1 km of its zero";
      return {bad};
    }
  }
  return {};
}

/// Runs `work` in an arena of the caller's size while the calling thread reports progress and may stop it.
template <class Work>
bool run_watched(const std::function<bool(double)>& progress, std::size_t total,
                 std::atomic<std::size_t>& done, std::atomic<bool>& stop, const Work& work) {
  if (!progress) {
    work();
    return true;
  }
  tbb::task_arena arena(tbb::this_task_arena::max_concurrency());
  std::mutex mutex;
  std::condition_variable ready;
  bool finished = false;
  std::thread worker;
  try {
    worker = std::thread([&] {
      arena.execute(work);
      const std::lock_guard<std::mutex> lock(mutex);
      finished = true;
      ready.notify_one();
    });
  } catch (const std::system_error&) { // no thread is to be had: then nobody watches
    arena.execute(work);
    return progress(1.0);
  }
  bool go_on = true;
  std::unique_lock<std::mutex> lock(mutex);
  while (!ready.wait_for(lock, std::chrono::milliseconds(50), [&] { return finished; })) {
    if (!go_on)
      continue;
    go_on = progress(total ? static_cast<double>(done.load()) / static_cast<double>(total) : 1.0);
    if (!go_on)
      stop = true;
  }
  lock.unlock();
  worker.join();
  return go_on;
}

/// One touch for each move and zone: the deepest, the lowest tile's when equal.
std::vector<Touch> merged(const std::vector<TileYield>& yields) {
  std::vector<Touch> all;
  for (const TileYield& yield : yields)
    all.insert(all.end(), yield.touches.begin(), yield.touches.end());
  std::stable_sort(all.begin(), all.end(), [](const Touch& a, const Touch& b) {
    return a.move != b.move ? a.move < b.move : a.zone < b.zone;
  });
  std::vector<Touch> out;
  for (const Touch& touch : all) {
    if (out.empty() || out.back().move != touch.move || out.back().zone != touch.zone)
      out.push_back(touch);
    else if (touch.depth_mm > out.back().depth_mm)
      out.back() = touch;
  }
  return out;
}

/// Fills in the cutters' bodies. Says of each whether all of it is cylinders, which are swept exactly along
/// helices.
Outcome<std::vector<bool>> take_cutters(const std::vector<CutterCard>& cutters, RecordData& data) {
  std::vector<bool> cylinders;
  for (const CutterCard& card : cutters) {
    Outcome<Body> body = body_of(card);
    if (!body)
      return body.faults();
    cylinders.push_back(body->flat && std::all_of(body->others.begin(), body->others.end(),
                                                  [](const BodyPart& part) { return part.flat; }));
    data.profiles.push_back(card.profile());
    data.bodies.push_back(std::move(*body));
  }
  return cylinders;
}

/// Fills in what the moves sweep. Returns why they cannot be cut.
std::vector<Fault> take_path(const Path& path, const std::vector<bool>& cylinders, RecordData& data) {
  if (std::vector<Fault> faults = faults_of(path, cylinders.size()); !faults.empty())
    return faults;
  const double chord_mm = kChord_voxel * data.voxel_mm;
  for (const Move& move : path.moves)
    if (move.kind == MoveKind::arc &&
        arc_chords(move, cylinders[static_cast<std::size_t>(move.tool)], chord_mm) > kMostChords)
      return {Fault("the arc is too long to be followed in chords as fine as the cut needs",
                    "check its centre, its end and its turns", "", move.line)};
  data.moves = static_cast<Moment>(path.moves.size());
  data.sweeps = sweeps_of(path, cylinders, chord_mm);
  return {};
}

void take_mesh(const StockShape& stock, RecordData& data) {
  if (stock.triangles.empty())
    return;
  data.mesh.points = stock.points;
  data.mesh.triangles = stock.triangles;
  bin_triangles(data.grid, data.mesh);
}

/// Cuts every tile by its sweeps. Nothing when it was stopped, else what each tile yields.
std::optional<std::vector<TileYield>> cut_tiles(RecordData& data, const Bins& bins,
                                                const std::vector<float>& fresh,
                                                const std::function<bool(double)>& progress) {
  const std::size_t tiles = static_cast<std::size_t>(data.grid.tiles_x * data.grid.tiles_y);
  data.tiles.resize(tiles);
  std::vector<TileYield> yields(tiles);
  std::atomic<bool> stop{false};
  std::atomic<std::size_t> done{0};
  const auto work = [&] {
    tbb::enumerable_thread_specific<TileCutter> cutter([&] { return TileCutter(data, fresh); });
    parallel_each(tiles, [&](std::size_t n) {
      const SweepList list{bins.sweeps.data() + bins.offset[n], bins.sweeps.data() + bins.offset[n + 1]};
      if (list.first != list.last || !data.mesh.triangles.empty())
        cutter.local().run(static_cast<int>(n), list, data.tiles[n], yields[n], stop, done);
    });
  };
  if (!run_watched(progress, bins.sweeps.size(), done, stop, work))
    return {};
  return yields;
}

/// What each move removed by the columns, summed in order of the tiles: the same bits on any number of
/// threads.
std::vector<double> counted(const RecordData& data, const Bins& bins, const std::vector<TileYield>& yields) {
  std::vector<double> by_move(data.moves, 0);
  for (std::size_t n = 0; n < yields.size(); ++n)
    for (std::size_t k = 0; k < yields[n].removed_mm3.size(); ++k)
      by_move[data.sweeps.move_of(bins.sweeps[bins.offset[n] + k])] += yields[n].removed_mm3[k];
  return by_move;
}

} // namespace

RemovalRecord::RemovalRecord() : data_(std::make_unique<Data>()) {}
RemovalRecord::RemovalRecord(RecordData&& data) : data_(std::make_unique<Data>(std::move(data))) {}
RemovalRecord::~RemovalRecord() = default;
RemovalRecord::RemovalRecord(RemovalRecord&&) noexcept = default;
RemovalRecord& RemovalRecord::operator=(RemovalRecord&&) noexcept = default;

Outcome<RemovalRecord> RemovalRecord::cut(const StockShape& stock, const std::vector<CutterCard>& cutters,
                                          const Path& path, const CutOptions& options) {
  const auto start = std::chrono::steady_clock::now();
  Outcome<ColumnGrid> grid = grid_over(stock.box, options.voxel_mm);
  if (!grid)
    return grid.faults();
  if (options.memory_limit_bytes > 0) {
    if (auto refusal = over_limit(stock, cutters, path, options))
      return *refusal;
  }
  RemovalRecord record;
  Data& data = *record.data_;
  data.grid = *grid;
  data.voxel_mm = options.voxel_mm;
  const Outcome<std::vector<bool>> cylinders = take_cutters(cutters, data);
  if (!cylinders)
    return cylinders.faults();
  if (std::vector<Fault> faults = take_path(path, *cylinders, data); !faults.empty())
    return faults;
  take_mesh(stock, data);
  Bins bins;
  std::vector<float> fresh;
  parallel_each(4, [&](int step) { // each writes what no other reads
    if (step == 0)
      choose_slices(data);
    if (step == 1)
      fresh = fresh_heights(data);
    if (step == 2)
      bins = bin_sweeps(data);
    if (step == 3)
      data.key = record_key(stock, cutters, path, options.voxel_mm);
  });
  const auto yields = cut_tiles(data, bins, fresh, options.progress);
  if (!yields)
    return fault("the cut was stopped", "run it again");
  data.counted_mm3 = counted(data, bins, *yields);
  data.touches = merged(*yields);
  data.cut_s = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  return record;
}

const Box3& RemovalRecord::box() const {
  return data_->grid.box;
}
double RemovalRecord::voxel_mm() const {
  return data_->voxel_mm;
}
Moment RemovalRecord::end() const {
  return data_->moves;
}
double RemovalRecord::cut_s() const {
  return data_->cut_s;
}
const RecordData& RemovalRecord::data() const {
  return *data_;
}
const std::vector<Touch>& RemovalRecord::touches() const {
  return data_->touches;
}

std::size_t RemovalRecord::bytes() const {
  const auto held = [](const auto& v) { return v.capacity() * sizeof(v[0]); };
  std::size_t sum = sizeof(Data) + held(data_->bodies) + held(data_->sweeps.kept) +
                    held(data_->sweeps.starts) + held(data_->sweeps.first) + held(data_->sweeps.arcs) +
                    held(data_->tiles) + held(data_->counted_mm3) + held(data_->touches) +
                    held(data_->mesh.points) + held(data_->mesh.triangles) + held(data_->mesh.block_offset) +
                    held(data_->mesh.block_triangles);
  for (const Tile& tile : data_->tiles)
    sum += held(tile.offset) + held(tile.cuts) + held(tile.slices) + held(tile.run_offset) + held(tile.runs) +
           held(tile.groups) + held(tile.supers);
  return sum;
}

} // namespace snagmap
