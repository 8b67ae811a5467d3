// Drawing in a process of its own: a display, a driver or the memory may fail there and cost the pictures
// only.
#pragma once

#include "models/base/fault.hpp"

#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace snagmap {

struct DrawnApart {
  std::vector<std::string> files; ///< that were told of, each whole
  std::optional<Fault> fault;     ///< why there are no more
  bool stopped = false;           ///< `go_on` said no
  std::size_t threads = 0;        ///< of this process when it forked: as many as when it began
};

/// Tells of a file that is finished.
using DrawnFile = std::function<void(const std::string& file)>;

/// Runs `draw` in a forked child, which sees everything as it is now and ends with this process. Worker
/// threads end first; four that liblog4cplus starts when OpenVDB loads it stay, asleep until somebody logs.
/// Whatever kills the child is a fault with the last words it wrote to stderr, as is five minutes without a
/// finished file. `go_on` is asked ten times a second; false ends the child.
DrawnApart draw_apart(const std::function<std::optional<Fault>(const DrawnFile&)>& draw,
                      const std::function<bool()>& go_on);

/// For a thread that lives as long as the process: how to end it before a fork and begin it again.
void around_forks(std::function<void()> end, std::function<void()> begin_again);

} // namespace snagmap
