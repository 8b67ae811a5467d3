#include "sim/record/estimate.hpp"

#include <fmt/format.h>

#include <cstring>

namespace snagmap {
namespace {

constexpr double kColumnsTried = 250000; ///< columns of the coarse cut: a few hundredths of a second

struct Parts {
  double by_column = 0; ///< bytes that scale with 1 / voxel^2
  double fixed = 0;
  double intervals = 0;
};

/// Bytes at a voxel size, from a coarse record of the same job.
Parts parts_at(const RemovalRecord& coarse, double voxel_mm) {
  const RecordData& data = coarse.data();
  const double scale = data.grid.dx * data.grid.dy / (voxel_mm * voxel_mm);
  Parts parts;
  std::size_t index = 0;
  for (const Tile& tile : data.tiles) {
    parts.intervals += scale * static_cast<double>(tile.cuts.size());
    index += tile.runs.size() * sizeof(BlockRun);
  }
  const double columns = scale * data.grid.nx * data.grid.ny;
  // Offsets of the columns, 8 bytes of slices for each block of about 4 mm, and the moves that pass it: the
  // coarse blocks are as large, so their lists are as long; tiles of one block hold a few times more.
  parts.by_column = sizeof(CutInterval) * parts.intervals + 4.2 * columns;
  const std::size_t sweeps = data.sweeps.size();
  const std::size_t a_sweep = sizeof(KeptSweep) + sizeof(float) + sizeof(double) + 3 * (sizeof(double) + 4);
  parts.fixed =
      static_cast<double>(2 * index + sweeps * a_sweep + coarse.touches().size() * sizeof(Touch) * 3) + 3e6;
  return parts;
}

Outcome<RemovalRecord> coarse_cut(const StockShape& stock, const std::vector<CutterCard>& cutters,
                                  const Path& path, double voxel_mm) {
  const Vec3 size = stock.box.high - stock.box.low;
  CutOptions options;
  options.voxel_mm = std::max(voxel_mm, std::sqrt(size.x * size.y / kColumnsTried));
  return RemovalRecord::cut(stock, cutters, path, options);
}

} // namespace

Outcome<RecordEstimate> RemovalRecord::estimate(const StockShape& stock,
                                                const std::vector<CutterCard>& cutters, const Path& path,
                                                double voxel_mm, std::size_t limit_bytes) {
  auto coarse = coarse_cut(stock, cutters, path, voxel_mm);
  if (!coarse)
    return coarse.faults();
  const Parts parts = parts_at(*coarse, voxel_mm);
  const Vec3 size = stock.box.high - stock.box.low;
  RecordEstimate out;
  out.bytes = static_cast<std::size_t>(parts.by_column + parts.fixed);
  out.intervals = static_cast<std::size_t>(parts.intervals);
  out.columns = static_cast<std::size_t>(size.x * size.y / (voxel_mm * voxel_mm));
  out.fixed_bytes = static_cast<std::size_t>(parts.fixed);
  if (limit_bytes > 0)
    out.voxel_that_fits_mm =
        voxel_that_fits(voxel_mm, parts.by_column, static_cast<double>(limit_bytes) - parts.fixed);
  return out;
}

double voxel_that_fits(double voxel_mm, double by_column_bytes, double left_bytes) {
  constexpr double kCoarsest_mm = 5; // as a scene allows
  const double fits = left_bytes > 0 ? voxel_mm * std::sqrt(by_column_bytes / left_bytes) : 2 * kCoarsest_mm;
  return fits > kCoarsest_mm ? 0 : std::ceil(fits * 100) / 100; // a size one would write
}

std::string way_to_fit(double voxel_mm) {
  return voxel_mm > 0 ? fmt::format("voxels of {:.2f} mm would fit", voxel_mm)
                      : "no voxel size would fit: split the program";
}

std::optional<Fault> over_limit(const StockShape& stock, const std::vector<CutterCard>& cutters,
                                const Path& path, const CutOptions& options) {
  const auto estimate =
      RemovalRecord::estimate(stock, cutters, path, options.voxel_mm, options.memory_limit_bytes);
  if (!estimate)
    return estimate.faults().front();
  if (estimate->bytes <= options.memory_limit_bytes)
    return std::nullopt;
  Fault fault;
  fault.what = fmt::format("the cut at {} mm voxels would take about {:.0f} MB; the limit is {:.0f} MB",
                           options.voxel_mm, static_cast<double>(estimate->bytes) / 1e6,
                           static_cast<double>(options.memory_limit_bytes) / 1e6);
  fault.way_out = way_to_fit(estimate->voxel_that_fits_mm);
  return fault;
}

void Checksum::add(const void* bytes, std::size_t count) {
  const auto* at = static_cast<const unsigned char*>(bytes);
  constexpr std::uint64_t kPrime = 0x100000001b3ull;
  while (count >= 8) {
    std::uint64_t word;
    std::memcpy(&word, at, 8);
    sum_ = (sum_ ^ word) * kPrime;
    sum_ ^= sum_ >> 29; // whole words need the high bits brought back down
    at += 8;
    count -= 8;
  }
  for (; count > 0; --count)
    sum_ = (sum_ ^ *at++) * kPrime;
}

std::uint64_t record_key(const StockShape& stock, const std::vector<CutterCard>& cutters, const Path& path,
                         double voxel_mm) {
  Checksum sum;
  sum.add_value(voxel_mm);
  const auto add_point = [&sum](Vec3 p) {
    const double v[3] = {p.x, p.y, p.z};
    sum.add(v, sizeof v);
  };
  add_point(stock.box.low);
  add_point(stock.box.high);
  for (const Vec3& p : stock.points)
    add_point(p);
  for (const auto& t : stock.triangles)
    sum.add(t.data(), sizeof t);
  for (const CutterCard& card : cutters) {
    for (const ProfilePiece& p : card.profile()) {
      const double v[8] = {p.r0_mm,           p.z0_mm,       p.r1_mm,       p.z1_mm,
                           p.arc ? 1.0 : 0.0, p.centre_r_mm, p.centre_z_mm, static_cast<double>(p.zone)};
      sum.add(v, sizeof v);
    }
    sum.add_value(std::uint64_t{0});
  }
  for (const Move& m : path.moves) {
    add_point(m.from);
    add_point(m.to);
    const double v[4] = {m.centre.x, m.centre.y, m.turn_rad,
                         static_cast<double>(static_cast<int>(m.kind) + 16 * static_cast<int>(m.plane) +
                                             256 * (m.full_turns + 256 * m.tool))};
    sum.add(v, sizeof v);
  }
  return sum.value();
}

} // namespace snagmap
