// What was dropped into the page, made into a job's files: names of our own making, a scene of the values
// chosen.
#pragma once

#include "models/base/fault.hpp"
#include "viz/jobs/served_folder.hpp"

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace snagmap {

constexpr std::size_t kMostDropped_bytes = std::size_t{64} << 20; ///< of one request

struct PreparedJob {
  Job job;
  std::vector<std::pair<std::string, std::string>> files; ///< name of our making, content
};

/// Reads a request: one line of JSON, then the bytes of its files one behind the other.
///   {"kind": "preview", "files": [{"name", "bytes"}], "foam", "cutters": [{"tool", "cutter"}],
///    "sheet": {"size", "zero", "zero_on", "stands_on"}, "hold": {"kind", "area" | "pressure"}, "quick",
///    "advise"}
///   {"kind": "compare" | "coupon", "of": [result]}      {"kind": "fit", "of": [test piece], "walls":
///   [{"wall", "outcome"}]}
/// Beside a scene only the two flags count. `folder` gives the cards that a fit left there. Faults: what is
/// missing, too many or too long; a scene that names a file which was not dropped with it. Everything else is
/// the program's own to refuse.
Outcome<PreparedJob> prepare_job(const ServedFolder& folder, std::string_view body);

} // namespace snagmap
