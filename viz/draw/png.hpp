// Pixels as PNG.
#pragma once

#include <cstdint>
#include <vector>

namespace snagmap {

struct Pixels {
  int columns = 0, rows = 0;
  std::vector<std::uint8_t> rgb; ///< rows from the top
};

/// PNG (ISO/IEC 15948), eight bits a channel, its rows unfiltered: flat drawings come out a quarter smaller
/// than by the usual filters. The same pixels give the same bytes.
std::vector<std::uint8_t> png_of(const Pixels& pixels);

} // namespace snagmap
