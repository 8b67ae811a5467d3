#include "sim/probe/run_grid.hpp"

#include "sim/threads/parallel.hpp"

#include <algorithm>

namespace snagmap {

RunGrid run_grid(const RemovalRecord& record) {
  const ColumnLayout layout = record.columns();
  RunGrid grid;
  grid.nx = layout.nx;
  grid.ny = layout.ny;
  grid.dx_mm = layout.dx_mm;
  grid.dy_mm = layout.dy_mm;
  grid.corner_mm = xy(record.box().low);
  grid.underside_mm = static_cast<float>(record.box().low.z);
  grid.top_mm = static_cast<float>(record.box().high.z);
  grid.moves = record.end();

  const auto rows = static_cast<std::size_t>(grid.ny), across = static_cast<std::size_t>(grid.nx);
  std::vector<std::vector<FoamRun>> of_row(rows);
  grid.offset.assign(rows * across + 1, 0);
  parallel_each(rows, [&](std::size_t j) {
    for (std::size_t i = 0; i < across; ++i) {
      const std::size_t before = of_row[j].size();
      record.append_runs(static_cast<int>(i), static_cast<int>(j), of_row[j]);
      grid.offset[j * across + i + 1] = static_cast<std::uint32_t>(of_row[j].size() - before);
    }
  });
  for (std::size_t c = 0; c < rows * across; ++c)
    grid.offset[c + 1] += grid.offset[c];
  grid.runs.resize(grid.offset.back());
  parallel_each(rows, [&](std::size_t j) {
    std::copy(of_row[j].begin(), of_row[j].end(), grid.runs.begin() + grid.offset[j * across]);
  });
  return grid;
}

RunGrid without_skin(const RunGrid& grid, double skin_mm, bool& changed) {
  RunGrid view = grid;
  changed = false;
  const float skin_top = grid.underside_mm + static_cast<float>(skin_mm);
  for (std::size_t c = 0; c + 1 < grid.offset.size(); ++c) {
    FoamRun* const first = view.runs.data() + grid.offset[c];
    FoamRun* const last = view.runs.data() + grid.offset[c + 1];
    if (first == last || first->low_mm > grid.underside_mm)
      continue;
    FoamRun* above = first + 1; // the lowest run that rises out of the skin, when the column reaches that far
    std::uint32_t least = first->move;
    while (above != last && above[-1].high_mm <= skin_top && above->low_mm <= above[-1].high_mm) {
      least = std::min(least, above->move);
      ++above;
    }
    for (FoamRun* run = first; run != above && run->high_mm <= skin_top; ++run) {
      changed = changed || run->move != least;
      run->move = least;
    }
  }
  return view;
}

} // namespace snagmap
