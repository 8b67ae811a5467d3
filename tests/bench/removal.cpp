// The removal record against three other ways to cut the same moves, and its growth, memory and roofs.
// All ratios are of one run on one machine; median of five, the ways taking turns.
//   bench_removal [--quick]   --quick leaves out the billion-voxel job and the slowest peer
#include "measure.hpp"
#include "removal/height_map.hpp"
#include "removal/studies.hpp"
#include "removal/voxel_peers.hpp"
#include "sim/probe/volumes.hpp"
#include "sim/record/data.hpp"

#include <openvdb/openvdb.h>

#include <thread>

using namespace snagmap;
using namespace snagmap::bench;

namespace {

struct Facts {
  double seconds, intervals, voxels, bytes;
};
Facts facts_of(const RemovalRecord& record, double seconds, double voxel) {
  Facts f{seconds, 0, 0, static_cast<double>(record.bytes())};
  for (const Tile& tile : record.data().tiles)
    f.intervals += static_cast<double>(tile.cuts.size());
  for (double v : record.data().counted_mm3)
    f.voxels += v;
  f.voxels /= voxel * voxel * voxel;
  return f;
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
  const Facts f = facts_of(record, seconds, voxel);
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
  std::vector<double> exact;
  const double volumes = timed([&] { exact = removed_mm3(record); });
  double exact_volume = 0;
  for (double v : exact)
    exact_volume += v;
  std::printf("  volumes     %.3f s for those from the moves, %.2f times the cut (%.1f cm3; not in the ratio "
              "above, where "
              "both count columns)\n",
              volumes, volumes / seconds, exact_volume * 1e-3);
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
    const double csg = csg_moves_per_s(job, voxel, 200);
    std::printf("  csg         %.1f moves/s on 200 moves\n", csg);
    goal(("times_csg_" + tag).c_str(), moves / seconds / csg, 5000, false);
  }
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
  stopping();
  return 0;
}
