// A program with stops put in: the cutter lifted clear, the spindle off, and back to the place it left.
#pragma once

#include "sim/path/path.hpp"

#include <cstddef>
#include <vector>

namespace snagmap {

/// The greatest height that a rapid of the program goes to over the sheet; 5 mm over it where none does.
double clear_height_mm(const Path& path, double top_mm);

struct StopAt {
  std::size_t move = 0; ///< the stop comes before it, or at a share of it
  double share = 0;
};
/// At each place, ascending: up to `clear_mm`, spindle and coolant off, M0; then the spindle as it was with
/// `run_up_s` of standing, a rapid down to half a millimetre over the sheet or to the place if that is
/// higher, and down into the foam at the slowest feed the program plunges with.
Path with_stops(const Path& path, double top_mm, double clear_mm, double run_up_s,
                const std::vector<StopAt>& places);

} // namespace snagmap
