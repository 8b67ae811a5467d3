// What a cut will take before it is made, and the name of the job a record belongs to.
#pragma once

#include "sim/record/data.hpp"

#include <optional>
#include <string>

namespace snagmap {

/// The refusal of a cut that would not fit into options.memory_limit_bytes; empty when it fits.
std::optional<Fault> over_limit(const StockShape& stock, const std::vector<CutterCard>& cutters,
                                const Path& path, const CutOptions& options);

/// Smallest voxel size, rounded up to 0.01 mm, at which what takes `by_column_bytes` at `voxel_mm` and goes
/// with 1 / voxel^2 fits into `left_bytes`; 0 when that is coarser than 5 mm.
double voxel_that_fits(double voxel_mm, double by_column_bytes, double left_bytes);
/// "voxels of 0.40 mm would fit"
std::string way_to_fit(double voxel_mm);

/// The same number for the same sheet, cutters, path and voxel size.
std::uint64_t record_key(const StockShape& stock, const std::vector<CutterCard>& cutters, const Path& path,
                         double voxel_mm);

/// FNV-1a over eight bytes at a time: tells apart what chance or a broken disk changed, not what malice did.
class Checksum {
public:
  void add(const void* bytes, std::size_t count);
  template <class T> void add_value(const T& value) { add(&value, sizeof value); }
  std::uint64_t value() const { return sum_; }

private:
  std::uint64_t sum_ = 0xcbf29ce484222325ull;
};

} // namespace snagmap
