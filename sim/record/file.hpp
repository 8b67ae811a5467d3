// Keeping a removal record: a file that gives back every query bit for bit, or the cut again where that is
// faster.
#pragma once

#include "sim/record/record.hpp"

#include <string>

namespace snagmap {

/// Writes the record to a temporary file beside `file` and renames it: a killed run leaves no part of one.
/// Returns the bytes written. Faults: the file cannot be written.
Outcome<std::size_t> save_record(const RemovalRecord& record, const std::string& file);

/// Reads a record back. Nothing in the file is trusted: its checksum, every count and every index are
/// checked.
Outcome<RemovalRecord> load_record(const std::string& file);

struct Recall {
  RemovalRecord record;
  bool loaded = false; ///< from the file; else cut again
  double seconds = 0;  ///< what it took
  double other_s = 0;  ///< the cut's time when loaded, the expected loading time when cut; 0: not known
  std::string why;     ///< in words
};

/// The record of a job: from the file when it holds this very job and reading it is faster than the cut, else
/// by cutting. A missing or broken file is no fault; `why` says so.
Outcome<Recall> load_or_cut(const std::string& file, const StockShape& stock,
                            const std::vector<CutterCard>& cutters, const Path& path,
                            const CutOptions& options);

} // namespace snagmap
