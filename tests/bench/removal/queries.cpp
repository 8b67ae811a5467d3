// What is asked of a record once it is cut, and keeping it.
#include "../measure.hpp"
#include "sim/probe/engagement.hpp"
#include "sim/probe/vdb.hpp"
#include "sim/record/file.hpp"
#include "studies.hpp"

#include <cmath>
#include <filesystem>
#include <random>

namespace snagmap::bench {

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
  const auto folder = std::filesystem::temp_directory_path() / "snagmap_bench_removal";
  std::filesystem::create_directories(folder);
  const std::string file = (folder / "record").string();
  const double save = timed([&] { static_cast<void>(save_record(record, file)); });
  const double load = timed([&] { static_cast<void>(load_record(file)); });
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

} // namespace snagmap::bench
