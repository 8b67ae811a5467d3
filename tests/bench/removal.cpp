// The removal record against three other ways to cut the same moves, and its growth, memory and roofs.
// All ratios are of one run on one machine; median of five, the ways taking turns.
//   bench_removal [--quick]   --quick leaves out the billion-voxel job and the slowest peer
#include "sim/engagement.hpp"
#include "sim/program.hpp"
#include "sim/record/data.hpp"
#include "sim/record_file.hpp"
#include "sim/scene.hpp"
#include "sim/stock_vdb.hpp"

#include <openvdb/openvdb.h>
#include <openvdb/tools/Composite.h>
#include <openvdb/tools/SignedFloodFill.h>
#include <tbb/global_control.h>
#include <tbb/parallel_for.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <functional>
#include <malloc.h>
#include <random>
#include <thread>

using namespace snagmap;

namespace {

double now_s() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}
double median(std::vector<double> v) {
  std::sort(v.begin(), v.end());
  return v[v.size() / 2];
}
double timed(const std::function<void()>& work) {
  const double start = now_s();
  work();
  return now_s() - start;
}
double peak_MB() {
  std::ifstream status("/proc/self/status");
  for (std::string word; status >> word;)
    if (word == "VmHWM:") {
      double kB = 0;
      status >> kB;
      return kB / 1024;
    }
  return 0;
}
void forget_peak() {
  malloc_trim(0);
  std::ofstream("/proc/self/clear_refs") << 5;
}
void goal(const char* name, double value, double bound, bool at_most) {
  const bool met = at_most ? value <= bound : value >= bound;
  std::printf("goal %s %.4g %.4g %s\n", name, value, bound, met ? "met" : "short");
}

struct Job {
  std::string name;
  Box3 sheet;
  std::vector<CutterCard> cutters;
  Path path;
};

CutterCard flat(double diameter, double flutes) {
  CutterCard card;
  card.name = "flat";
  card.diameter_mm = card.shank_diameter_mm = diameter;
  card.flute_length_mm = flutes;
  card.stick_out_mm = flutes + 20;
  return card;
}

/// A pocket in layers of 5 mm, rows 3 mm apart, moves of 1 mm: as many as asked for.
Job pocket(std::size_t moves, double width, double depth, double height) {
  Job job{"pocket of " + std::to_string(moves / 1000) + "k moves",
          {{0, 0, -height}, {width, depth, 0}},
          {flat(6.35, height)},
          {}};
  Vec3 at{10, 10, 5};
  const auto go = [&](Vec3 to) {
    Move move;
    move.from = at;
    move.to = at = to;
    if (job.path.moves.size() < moves)
      job.path.moves.push_back(move);
  };
  for (int layer = 0; job.path.moves.size() < moves; ++layer) {
    const double z = -5.0 * (layer % static_cast<int>(height / 5 - 1) + 1);
    go({10, 10, z});
    for (double y = 10; y < depth - 10 && job.path.moves.size() < moves; y += 3) {
      const bool right = static_cast<int>(y / 3) % 2 == 1;
      for (double x = 10; x < width - 10; ++x)
        go({right ? x : width - x, y, z});
    }
  }
  return job;
}

Job demo() {
  const auto scene = read_scene(std::string(SNAGMAP_ROOT) + "/scenes/bicycle-case/scene.toml");
  if (!scene)
    throw std::runtime_error(to_text(scene.faults()[0]));
  ProgramOptions options;
  options.start_mm = scene->start_mm;
  options.tool_index = scene->tool_index;
  const auto path = read_program(scene->program_file, options);
  if (!path)
    throw std::runtime_error(to_text(path.faults()[0]));
  return {"demo (a)", scene->sheet, scene->cutters, *path};
}

RemovalRecord cut(const Job& job, double voxel) {
  CutOptions options;
  options.voxel_mm = voxel;
  auto record = RemovalRecord::cut({job.sheet}, job.cutters, job.path, options);
  if (!record)
    throw std::runtime_error(to_text(record.faults()[0]));
  return std::move(*record);
}

// ---- Peer 3: a dense map of float heights with the removed volume of each move. Same tiles and threads.

/// Piece of the row at height y (from x = 0) under a disc swept from a to b.
bool row_chord(Vec2 a, Vec2 b, double r, double y, double& low, double& high) {
  low = 1e300, high = -1e300;
  const double ya = y - a.y, yb = y - b.y;
  if (std::abs(ya) <= r) {
    const double k = std::sqrt(r * r - ya * ya);
    low = a.x - k, high = a.x + k;
  }
  if (std::abs(yb) <= r) {
    const double k = std::sqrt(r * r - yb * yb);
    low = std::min(low, b.x - k), high = std::max(high, b.x + k);
  }
  const double ex = b.x - a.x, ey = b.y - a.y, l2 = ex * ex + ey * ey;
  if (ey != 0) {
    const double side = r * std::sqrt(l2);
    for (const double s : {side, -side}) {
      const double x = a.x + (ex * ya + s) / ey, along = (x - a.x) * ex + ya * ey;
      if (along >= 0 && along <= l2)
        low = std::min(low, x), high = std::max(high, x);
    }
  }
  return high >= low;
}

class HeightMap {
public:
  HeightMap(const Job& job, double h)
      : job_(job), h_(h), nx_(static_cast<int>(std::lround((job.sheet.high.x - job.sheet.low.x) / h))),
        ny_(static_cast<int>(std::lround((job.sheet.high.y - job.sheet.low.y) / h))) {}

  std::vector<double> cut() {
    constexpr int kTile = 64;
    const int tx = (nx_ + kTile - 1) / kTile, ty = (ny_ + kTile - 1) / kTile;
    map_.assign(static_cast<std::size_t>(nx_) * static_cast<std::size_t>(ny_),
                static_cast<float>(job_.sheet.high.z));
    const std::vector<Move>& moves = job_.path.moves;
    std::vector<std::vector<std::uint32_t>> bins(static_cast<std::size_t>(tx * ty));
    for (std::size_t m = 0; m < moves.size(); ++m) {
      const Move& move = moves[m];
      const double r = 0.5 * job_.cutters[static_cast<std::size_t>(move.tool)].diameter_mm;
      if (std::min(move.from.z, move.to.z) >= job_.sheet.high.z)
        continue;
      const auto tile = [&](double v, int count) {
        return std::clamp(static_cast<int>(std::floor(v / (kTile * h_))), 0, count - 1);
      };
      double x0 = std::min(move.from.x, move.to.x), x1 = std::max(move.from.x, move.to.x);
      double y0 = std::min(move.from.y, move.to.y), y1 = std::max(move.from.y, move.to.y);
      if (move.kind == MoveKind::arc) {
        const double ring = norm(xy(move.from) - move.centre);
        x0 = move.centre.x - ring, x1 = move.centre.x + ring, y0 = move.centre.y - ring,
        y1 = move.centre.y + ring;
      }
      for (int y = tile(y0 - r - job_.sheet.low.y, ty); y <= tile(y1 + r - job_.sheet.low.y, ty); ++y)
        for (int x = tile(x0 - r - job_.sheet.low.x, tx); x <= tile(x1 + r - job_.sheet.low.x, tx); ++x)
          bins[static_cast<std::size_t>(y * tx + x)].push_back(static_cast<std::uint32_t>(m));
    }
    std::vector<std::vector<double>> part(bins.size());
    tbb::parallel_for(std::size_t{0}, bins.size(), [&](std::size_t n) {
      part[n].resize(bins[n].size());
      const int i0 = kTile * static_cast<int>(n % static_cast<std::size_t>(tx)),
                j0 = kTile * static_cast<int>(n / static_cast<std::size_t>(tx));
      for (std::size_t k = 0; k < bins[n].size(); ++k)
        part[n][k] = stamp(moves[bins[n][k]], i0, j0, std::min(i0 + kTile, nx_), std::min(j0 + kTile, ny_));
    });
    std::vector<double> removed(moves.size(), 0);
    for (std::size_t n = 0; n < bins.size(); ++n)
      for (std::size_t k = 0; k < bins[n].size(); ++k)
        removed[bins[n][k]] += part[n][k] * h_ * h_;
    return removed;
  }

private:
  double stamp(const Move& move, int i0, int j0, int i1, int j1) {
    if (move.kind == MoveKind::arc) { // short chords, as a height map would do it
      const int count = std::max(1, static_cast<int>(length_mm(move) / h_));
      double sum = 0;
      Vec3 from = move.from;
      for (int n = 1; n <= count; ++n) {
        const Vec3 to = point_at(move, static_cast<double>(n) / count);
        sum += stamp_line(from, to, move.tool, i0, j0, i1, j1);
        from = to;
      }
      return sum;
    }
    return stamp_line(move.from, move.to, move.tool, i0, j0, i1, j1);
  }
  double stamp_line(Vec3 from, Vec3 to, int tool, int i0, int j0, int i1, int j1) {
    const double r = 0.5 * job_.cutters[static_cast<std::size_t>(tool)].diameter_mm;
    const Vec2 low = xy(job_.sheet.low), a = xy(from) - low, b = xy(to) - low;
    const float z = static_cast<float>(std::max(job_.sheet.low.z, std::min(from.z, to.z)));
    const int row0 = std::max(j0, static_cast<int>(std::ceil((std::min(a.y, b.y) - r) / h_ - 0.5)));
    const int row1 = std::min(j1 - 1, static_cast<int>(std::floor((std::max(a.y, b.y) + r) / h_ - 0.5)));
    double sum = 0;
    for (int row = row0; row <= row1; ++row) {
      double x0, x1;
      if (!row_chord(a, b, r, (row + 0.5) * h_, x0, x1))
        continue;
      const int first = std::max(i0, static_cast<int>(std::ceil(x0 / h_ - 0.5))),
                last = std::min(i1 - 1, static_cast<int>(std::floor(x1 / h_ - 0.5)));
      float* const heights = map_.data() + static_cast<std::size_t>(row) * static_cast<std::size_t>(nx_);
      for (int i = first; i <= last; ++i) {
        if (heights[i] > z) {
          sum += static_cast<double>(heights[i] - z);
          heights[i] = z;
        }
      }
    }
    return sum;
  }

  const Job& job_;
  double h_;
  int nx_, ny_;
  std::vector<float> map_;
};

// ---- Peers 1 and 2 on a sample of the moves, in the stock the moves before them left.

double swept_distance(Vec3 p, const Move& move, double radius, double top) {
  const Vec2 e = xy(move.to) - xy(move.from), ap = xy(p) - xy(move.from);
  const double l2 = dot(e, e), s = l2 > 0 ? std::clamp(dot(ap, e) / l2, 0.0, 1.0) : 0;
  const double dh = norm(ap - s * e) - radius, low = std::min(move.from.z, move.to.z),
               dv = std::max(low - p.z, p.z - top);
  return dh > 0 && dv > 0 ? std::hypot(dh, dv) : std::max(dh, dv);
}

struct IndexBox {
  openvdb::CoordBBox box;
  IndexBox(const Job& job, const Move& move, double h, double margin) {
    const double r = 0.5 * job.cutters[static_cast<std::size_t>(move.tool)].diameter_mm + margin;
    const auto at = [h](double v, double low) { return static_cast<int>(std::floor((v - low) / h)); };
    const Vec3& l = job.sheet.low;
    box = {{at(std::min(move.from.x, move.to.x) - r, l.x), at(std::min(move.from.y, move.to.y) - r, l.y),
            at(std::min(move.from.z, move.to.z) - margin, l.z)},
           {at(std::max(move.from.x, move.to.x) + r, l.x), at(std::max(move.from.y, move.to.y) + r, l.y),
            at(job.sheet.high.z + margin, l.z)}};
  }
};

/// Moves of the sample, spread evenly over the program so that their lengths are the program's.
std::vector<Move> spread(const Job& job, std::size_t sample) {
  std::vector<Move> cutting;
  for (const Move& move : job.path.moves)
    if (move.kind != MoveKind::arc && std::min(move.from.z, move.to.z) < job.sheet.high.z)
      cutting.push_back(move);
  std::vector<Move> moves;
  for (std::size_t n = 0; n < sample; ++n)
    moves.push_back(cutting[n * cutting.size() / sample]);
  return moves;
}

/// Moves a second of csgDifference: for each move a narrow-band level set of its sweep, taken off the stock.
double csg_moves_per_s(const Job& job, double h, std::size_t sample) {
  const auto transform = openvdb::math::Transform::createLinearTransform(h);
  const float band = static_cast<float>(3 * h);
  const auto fill = [&](openvdb::FloatGrid& grid, const openvdb::CoordBBox& box, const auto& distance) {
    auto accessor = grid.getAccessor();
    for (auto it = box.begin(); it; ++it) {
      const openvdb::Coord c = *it;
      const Vec3 p{job.sheet.low.x + (c.x() + 0.5) * h, job.sheet.low.y + (c.y() + 0.5) * h,
                   job.sheet.low.z + (c.z() + 0.5) * h};
      const float d = static_cast<float>(distance(p));
      if (std::abs(d) < band)
        accessor.setValue(c, d);
    }
    openvdb::tools::signedFloodFill(grid.tree());
  };
  const std::vector<Move> moves = spread(job, sample);
  auto stock = openvdb::FloatGrid::create(band);
  stock->setTransform(transform);
  stock->setGridClass(openvdb::GRID_LEVEL_SET);
  const Vec3 size = job.sheet.high - job.sheet.low;
  const openvdb::Coord last(static_cast<int>(size.x / h) + 3, static_cast<int>(size.y / h) + 3,
                            static_cast<int>(size.z / h) + 3);
  { // the sheet: six slabs of the narrow band
    const auto distance = [&](Vec3 p) {
      const Vec3 c = 0.5 * (job.sheet.low + job.sheet.high);
      const double x = std::abs(p.x - c.x) - 0.5 * size.x, y = std::abs(p.y - c.y) - 0.5 * size.y,
                   z = std::abs(p.z - c.z) - 0.5 * size.z;
      return x <= 0 && y <= 0 && z <= 0 ? std::max({x, y, z})
                                        : norm(Vec3{std::max(x, 0.0), std::max(y, 0.0), std::max(z, 0.0)});
    };
    for (int axis = 0; axis < 3; ++axis)
      for (int end = 0; end < 2; ++end) {
        openvdb::CoordBBox slab({-3, -3, -3}, last);
        if (end == 0)
          slab.max()[axis] = 3;
        else
          slab.min()[axis] = last[axis] - 6;
        fill(*stock, slab, distance);
      }
  }
  const double seconds = timed([&] {
    for (const Move& move : moves) {
      const double r = 0.5 * job.cutters[static_cast<std::size_t>(move.tool)].diameter_mm;
      auto tool = openvdb::FloatGrid::create(band);
      tool->setTransform(transform);
      tool->setGridClass(openvdb::GRID_LEVEL_SET);
      fill(*tool, IndexBox(job, move, h, 3 * h).box,
           [&](Vec3 p) { return swept_distance(p, move, r, job.sheet.high.z); });
      openvdb::tools::csgDifference(*stock, *tool);
    }
  });
  return static_cast<double>(moves.size()) / seconds;
}

/// Moves a second when every voxel in reach of a move is asked and switched through an accessor.
double accessor_moves_per_s(const Job& job, double h, std::size_t sample) {
  const std::vector<Move> moves = spread(job, sample);
  openvdb::MaskTree tree;
  const Vec3 size = job.sheet.high - job.sheet.low;
  tree.fill({{0, 0, 0},
             {static_cast<int>(size.x / h), static_cast<int>(size.y / h), static_cast<int>(size.z / h) - 1}},
            true, true);
  openvdb::tree::ValueAccessor<openvdb::MaskTree> accessor(tree);
  std::size_t removed = 0;
  const double seconds = timed([&] {
    for (const Move& move : moves) {
      const double r = 0.5 * job.cutters[static_cast<std::size_t>(move.tool)].diameter_mm;
      const openvdb::CoordBBox box = IndexBox(job, move, h, 0).box;
      const Vec2 e = xy(move.to) - xy(move.from);
      const double l2 = dot(e, e), z_low = std::min(move.from.z, move.to.z);
      for (int x = box.min().x(); x <= box.max().x(); ++x)
        for (int y = box.min().y(); y <= box.max().y(); ++y) {
          const Vec2 ap =
              Vec2{job.sheet.low.x + (x + 0.5) * h, job.sheet.low.y + (y + 0.5) * h} - xy(move.from);
          const Vec2 off = ap - (l2 > 0 ? std::clamp(dot(ap, e) / l2, 0.0, 1.0) : 0.0) * e;
          if (dot(off, off) > r * r)
            continue;
          for (int z = box.min().z(); z <= box.max().z(); ++z) {
            if (job.sheet.low.z + (z + 0.5) * h < z_low)
              continue;
            const openvdb::Coord c(x, y, z);
            if (accessor.isValueOn(c)) {
              accessor.setValueOff(c);
              ++removed;
            }
          }
        }
    }
  });
  if (removed == 0)
    std::printf("(nothing removed)\n");
  return static_cast<double>(moves.size()) / seconds;
}

struct Facts {
  double seconds, intervals, voxels, bytes;
};
Facts facts_of(const Job& job, const RemovalRecord& record, double seconds, double voxel) {
  Facts f{seconds, 0, 0, static_cast<double>(record.bytes())};
  for (const Tile& tile : record.data().tiles)
    f.intervals += static_cast<double>(tile.cuts.size());
  for (double v : record.removed_mm3())
    f.voxels += v;
  f.voxels /= voxel * voxel * voxel;
  (void)job;
  return f;
}

double bandwidth_GB_s() {
  std::vector<double> a(1 << 24, 1.0), b(1 << 24, 2.0);
  std::vector<double> times;
  for (int n = 0; n < 5; ++n)
    times.push_back(timed([&] {
      tbb::parallel_for(0, 64, [&](int k) {
        std::memcpy(a.data() + k * (1 << 18), b.data() + k * (1 << 18), (1 << 18) * sizeof(double));
      });
    }));
  return 2.0 * (1 << 24) * sizeof(double) / median(times) * 1e-9;
}

void compare(const Job& job, double voxel, double bandwidth, bool quick) {
  std::vector<double> ours, map;
  for (int n = 0; n < 5; ++n) {
    ours.push_back(timed([&] { cut(job, voxel); }));
    HeightMap peer(job, voxel);
    map.push_back(timed([&] { peer.cut(); }));
  }
  const RemovalRecord record = cut(job, voxel);
  const double seconds = median(ours), moves = static_cast<double>(job.path.moves.size());
  const Facts f = facts_of(job, record, seconds, voxel);
  const std::vector<double> peer_removed = HeightMap(job, voxel).cut();
  double peer_volume = 0;
  for (double v : peer_removed)
    peer_volume += v;
  std::printf("\n%s at %.2f mm: %.0f moves, %.2f M intervals, %.1f M voxels removed\n", job.name.c_str(),
              voxel, moves, f.intervals * 1e-6, f.voxels * 1e-6);
  std::printf(
      "  record      %.3f s  %.3f M moves/s  %.2f Gvoxel/s  %.1f MB, %.3f bytes for each removed voxel\n",
      seconds, moves / seconds * 1e-6, f.voxels / seconds * 1e-9, f.bytes * 1e-6, f.bytes / f.voxels);
  std::printf("  height map  %.3f s  %.3f M moves/s  record / map %.2f  (volumes %.1f and %.1f cm3; arcs of "
              "the map are poses)\n",
              median(map), moves / median(map) * 1e-6, seconds / median(map),
              f.voxels * voxel * voxel * voxel * 1e-3, peer_volume * 1e-3);
  const double written = f.intervals * (sizeof(CutInterval) + 16.0); // log and sorted list
  std::printf("  roof        cuts written at %.2f GB/s, %.1f %% of the copy bandwidth\n",
              written / seconds * 1e-9, 100 * written / seconds * 1e-9 / bandwidth);
  const double per_interval =
      (f.bytes - 65536.0 * static_cast<double>(record.data().tiles.size())) / f.intervals;
  const std::string tag =
      (job.name == "demo (a)" ? "demo" : "pocket") + std::string(voxel < 0.4 ? "_025" : "_05");
  goal(("record_over_height_map_" + tag).c_str(), seconds / median(map), 1.5, true);
  goal(("bytes_an_interval_beyond_64KB_a_tile_" + tag).c_str(), per_interval, 16, true);
  const double accessor = accessor_moves_per_s(job, voxel, 2000);
  std::printf("  accessor    %.1f k moves/s on 2000 moves\n", accessor * 1e-3);
  goal(("times_accessor_" + tag).c_str(), moves / seconds / accessor, voxel < 0.4 ? 40 : 15, false);
  if (!quick) {
    const double csg = csg_moves_per_s(job, voxel, 20);
    std::printf("  csg         %.1f moves/s on 20 moves\n", csg);
    goal(("times_csg_" + tag).c_str(), moves / seconds / csg, 5000, false);
  }
}

void growth(double voxel) {
  std::printf("\nGrowth over four doublings at %.2f mm (moves and removed volume double together)\n", voxel);
  std::vector<double> x, y;
  for (int k = 0; k < 5; ++k) {
    // The same layers over twice the area each time.
    const Job job = pocket(static_cast<std::size_t>(25000) << k, 180.0 * std::sqrt(1 << k) + 20,
                           120.0 * std::sqrt(1 << k) + 20, 50);
    std::vector<double> times;
    for (int n = 0; n < 3; ++n)
      times.push_back(timed([&] { cut(job, voxel); }));
    std::printf("  %7zu moves %.3f s\n", job.path.moves.size(), median(times));
    x.push_back(std::log(static_cast<double>(job.path.moves.size())));
    y.push_back(std::log(median(times)));
  }
  double mx = 0, my = 0, sxy = 0, sxx = 0;
  for (std::size_t n = 0; n < x.size(); ++n)
    mx += x[n] / 5, my += y[n] / 5;
  for (std::size_t n = 0; n < x.size(); ++n)
    sxy += (x[n] - mx) * (y[n] - my), sxx += (x[n] - mx) * (x[n] - mx);
  std::printf("  time ~ moves^%.2f\n", sxy / sxx);
  goal("growth_exponent", sxy / sxx, 1.1, true);
}

void queries(const Job& job, double voxel) {
  const RemovalRecord record = cut(job, voxel);
  std::mt19937 random(1);
  std::uniform_real_distribution<double> u(0, 1);
  constexpr int kRays = 200000;
  struct Eye {
    Vec3 at;
    Vec2 dir;
    Moment t;
  };
  // As a watch looks: 16 directions at 4 heights from places along the path, in the stock of that move.
  std::vector<Eye> eyes;
  while (eyes.size() < kRays) {
    const auto m = static_cast<std::size_t>(u(random) * static_cast<double>(job.path.moves.size()));
    const Move& move = job.path.moves[m];
    if (move.to.z >= job.sheet.high.z)
      continue;
    const double r = 0.5 * job.cutters[0].diameter_mm;
    for (int k = 0; k < 64; ++k) {
      const double phi = 6.283185307 * (k % 16) / 16,
                   rise = (k / 16 + 0.5) / 4 * (job.sheet.high.z - move.to.z);
      const Vec2 d{std::cos(phi), std::sin(phi)};
      eyes.push_back(
          {{move.to.x + r * d.x, move.to.y + r * d.y, move.to.z + rise}, d, static_cast<Moment>(m)});
    }
  }
  double sum = 0;
  const double one = timed([&] {
    for (const Eye& eye : eyes)
      sum += record.look(eye.at, eye.dir, 60, eye.t).thickness_mm;
  });
  std::printf("\nQueries on %s at %.2f mm (mean thickness %.2f mm)\n", job.name.c_str(), voxel,
              sum / static_cast<double>(eyes.size()));
  std::printf("  look      %.3f M rays/s on one thread\n", static_cast<double>(eyes.size()) / one * 1e-6);
  Engagement e;
  const double engaged = timed([&] { e = engagement_of(record, job.path); });
  std::printf("  engaged   %zu samples in %.3f s, %.1f k/s\n", e.samples.size(), engaged,
              static_cast<double>(e.samples.size()) / engaged * 1e-3);
  std::printf("  top map   %.4f s\n", timed([&] { record.top_map(record.end() / 2); }));
  const auto folder = std::filesystem::temp_directory_path() / "snagmap_bench_removal";
  std::filesystem::create_directories(folder);
  const std::string file = (folder / "record").string();
  const double save = timed([&] { save_record(record, file); });
  const double load = timed([&] { load_record(file); });
  std::printf("  save %.3f s, load %.3f s, cut again %.3f s\n", save, load, record.cut_s());
  for (VdbForm form : {VdbForm::mask, VdbForm::level_set}) {
    const auto facts = write_stock_vdb(record, record.end(), form, file);
    if (facts)
      std::printf("  %s %.3f s, %.2f M voxels, %.2f MB\n", form == VdbForm::mask ? "mask     " : "level set",
                  facts->seconds, static_cast<double>(facts->foam_voxels) * 1e-6,
                  static_cast<double>(facts->file_bytes) * 1e-6);
  }
  std::filesystem::remove_all(folder);
}

void billion() {
  const Job job = pocket(500000, 600, 400, 75);
  forget_peak();
  const double before = peak_MB();
  double seconds = 0, bytes = 0, voxels = 0;
  {
    const double start = now_s();
    const RemovalRecord record = cut(job, 0.25);
    seconds = now_s() - start;
    bytes = static_cast<double>(record.bytes());
    for (double v : record.removed_mm3())
      voxels += v / 0.015625;
  }
  std::printf("\n600 x 400 x 75 mm at 0.25 mm (1.15 billion voxels), 500k moves: %.2f s, record %.0f MB, "
              "peak %.0f MB (%.0f MB before), %.0f M voxels removed\n",
              seconds, bytes * 1e-6, peak_MB(), before, voxels * 1e-6);
  goal("billion_voxels_s", seconds, 10, true);
  goal("billion_voxels_peak_MB", peak_MB(), 2048, true);
}

} // namespace

int main(int argc, char** argv) {
  const bool quick = argc > 1 && std::string(argv[1]) == "--quick";
  openvdb::initialize();
  const double bandwidth = bandwidth_GB_s();
  std::printf("threads %u, copy bandwidth %.1f GB/s\n", std::thread::hardware_concurrency(), bandwidth);
  if (!quick)
    billion();
  const Job a = demo(), long_pocket = pocket(200000, 300, 200, 50);
  for (double voxel : {0.5, 0.25}) {
    compare(a, voxel, bandwidth, quick);
    compare(long_pocket, voxel, bandwidth, quick);
  }
  growth(0.5);
  queries(a, 0.5);
  queries(long_pocket, 0.5);
  return 0;
}
