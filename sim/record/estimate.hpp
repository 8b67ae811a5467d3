// What a cut will take before it is made, and the name of the job a record belongs to.
#pragma once

#include "sim/record/data.hpp"

#include <optional>

namespace snagmap {

/// The refusal of a cut that would not fit into options.memory_limit_bytes; empty when it fits.
std::optional<Fault> over_limit(const StockShape& stock, const std::vector<CutterCard>& cutters,
                                const Path& path, const CutOptions& options);

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
