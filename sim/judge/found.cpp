#include "sim/judge/found.hpp"

namespace snagmap {

std::array<int, 4> spots_by_level(const std::vector<Spot>& spots) {
  std::array<int, 4> count{};
  for (const Spot& one : spots)
    ++count[static_cast<std::size_t>(one.level())];
  return count;
}

} // namespace snagmap
