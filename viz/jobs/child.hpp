// A job's process: this same program, started with a list of words, within limits, ending with its parent.
#pragma once

#include "models/base/fault.hpp"

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <string>
#include <sys/types.h>
#include <vector>

namespace snagmap {

/// The variable by which a process is told where to say how far it is: a file descriptor's number. Each line
/// there is a share from 0 to 1, a blank and the stage's name.
constexpr const char* kProgressVariable = "SNAGMAP_PROGRESS_FD";

struct ChildLimits {
  std::uint64_t memory_bytes = 0; ///< of data, hard; 0: none
  double seconds = 0;             ///< for the parent to keep
};

struct Child {
  pid_t process = -1; ///< leads a process group of its own
  int progress = -1;  ///< read end, not blocking
};

/// Starts this program in `folder` with `words` after its name; out.txt and err.txt there take what it says.
/// It gets SIGTERM when the thread that started it ends: start it from one that lives as long as the server.
/// No shell, no descriptor but these, no core file.
Outcome<Child> start_child(const std::vector<std::string>& words, const std::filesystem::path& folder,
                           const ChildLimits& limits);

} // namespace snagmap
