// Floors cut through and skins left, gathered into places.
#include "sim/hold/loose_pieces.hpp"

#include <algorithm>

namespace snagmap {

std::vector<ThinFloor> thin_floors(const RunGrid& grid, const LooseOptions& options) {
  enum : char { sound, skin, through };
  const std::size_t count = grid.offset.size() - 1;
  std::vector<char> state(count, sound);
  std::vector<std::uint32_t> move(count, kNever);
  for (std::size_t c = 0; c < count; ++c) {
    const FoamRun* const first = grid.begin(c);
    if (first == grid.end(c) || first->low_mm > grid.underside_mm)
      continue;
    const bool thin = first->high_mm - first->low_mm <= static_cast<float>(options.skin_mm);
    if (first->move != kNever)
      state[c] = through, move[c] = first->move;
    else if (thin && first + 1 != grid.end(c))
      state[c] = skin, move[c] = first[1].move;
  }
  std::vector<ThinFloor> floors;
  std::vector<std::size_t> open;
  const auto across = static_cast<std::size_t>(grid.nx);
  for (std::size_t c = 0; c < count; ++c) {
    const char kind = state[c];
    if (kind == sound)
      continue;
    ThinFloor floor{kind == through, 0, kind == through ? 0 : options.skin_mm, {}, grid.underside_mm, kNever};
    state[c] = sound;
    open.assign(1, c);
    std::size_t columns = 0;
    while (!open.empty()) {
      const std::size_t at = open.back();
      open.pop_back();
      ++columns;
      floor.centre_mm = floor.centre_mm + grid.centre_mm(at);
      floor.move = std::min(floor.move, move[at]);
      if (kind == skin)
        floor.least_mm = std::min<double>(floor.least_mm, grid.begin(at)->high_mm - grid.begin(at)->low_mm);
      const auto enter = [&](std::size_t to) {
        if (state[to] != kind)
          return;
        state[to] = sound;
        open.push_back(to);
      };
      if (at % across > 0)
        enter(at - 1);
      if (at % across + 1 < across)
        enter(at + 1);
      if (at >= across)
        enter(at - across);
      if (at + across < count)
        enter(at + across);
    }
    floor.area_mm2 = static_cast<double>(columns) * grid.cell_mm2();
    floor.centre_mm = (1.0 / static_cast<double>(columns)) * floor.centre_mm;
    if (floor.area_mm2 >= options.least_floor_mm2)
      floors.push_back(floor);
  }
  std::stable_sort(floors.begin(), floors.end(),
                   [](const ThinFloor& a, const ThinFloor& b) { return a.area_mm2 > b.area_mm2; });
  return floors;
}

} // namespace snagmap
