#include "sim/hold/loose_pieces.hpp"

#include "sim/hold/break_up.hpp"

#include <algorithm>
#include <unordered_map>

namespace snagmap {
namespace {

using Node = BreakUp::Node;

/// A piece's numbers, from its members at the moment it comes free. `own` holds the true moves of the runs.
LoosePiece measured(const BreakUp& sheet, Node root, std::uint32_t move, const RunGrid& own) {
  LoosePiece piece;
  piece.freed_by = move;
  piece.gone_by = 0;
  float low = std::numeric_limits<float>::max(), high = std::numeric_limits<float>::lowest();
  std::vector<std::size_t> columns;
  sheet.for_members(root, [&](Node n) {
    const FoamRun& run = own.runs[n];
    const std::size_t c = sheet.column(n);
    const double volume = (static_cast<double>(run.high_mm) - run.low_mm) * own.cell_mm2();
    const Vec2 at = own.centre_mm(c);
    piece.volume_mm3 += volume;
    piece.centre_mm = piece.centre_mm + volume * Vec3{at.x, at.y, 0.5 * (run.low_mm + run.high_mm)};
    if (run.low_mm <= own.underside_mm)
      piece.base_mm2 += own.cell_mm2();
    low = std::min(low, run.low_mm);
    high = std::max(high, run.high_mm);
    piece.next_cut = std::min(piece.next_cut, run.move);
    piece.gone_by = std::max(piece.gone_by, run.move);
    columns.push_back(c);
  });
  piece.centre_mm = (1 / piece.volume_mm3) * piece.centre_mm;
  std::sort(columns.begin(), columns.end());
  columns.erase(std::unique(columns.begin(), columns.end()), columns.end());
  piece.plan_mm2 = static_cast<double>(columns.size()) * own.cell_mm2();
  int i0 = own.nx, i1 = 0;
  for (const std::size_t c : columns) {
    const int i = static_cast<int>(c % own.nx), j = static_cast<int>(c / own.nx);
    i0 = std::min(i0, i);
    i1 = std::max(i1, i + 1);
    if (!piece.rows.empty() && piece.rows.back().j == j && piece.rows.back().i1 == i)
      ++piece.rows.back().i1;
    else
      piece.rows.push_back({j, i, i + 1});
  }
  piece.box = {
      {own.corner_mm.x + i0 * own.dx_mm, own.corner_mm.y + piece.rows.front().j * own.dy_mm, low},
      {own.corner_mm.x + i1 * own.dx_mm, own.corner_mm.y + (piece.rows.back().j + 1) * own.dy_mm, high}};
  return piece;
}

/// Pieces of one view with what is needed to tell whose they are.
struct Released {
  LoosePiece piece;
  Node member, seed, rest_seed;
};
std::vector<Released> releases(BreakUp& sheet, const RunGrid& own, double crumb_mm3, std::size_t& crumbs,
                               double& crumbs_mm3) {
  std::vector<Released> all;
  sheet.grow([&](std::uint32_t move, Node root, Node rest_seed) {
    if (sheet.volume(root) < crumb_mm3) {
      ++crumbs;
      crumbs_mm3 += sheet.volume(root);
      return;
    }
    all.push_back({measured(sheet, root, move, own), root, sheet.seed(root), rest_seed});
  });
  std::stable_sort(all.begin(), all.end(), [](const Released& a, const Released& b) {
    if (a.piece.freed_by != b.piece.freed_by)
      return a.piece.freed_by < b.piece.freed_by;
    return a.piece.volume_mm3 > b.piece.volume_mm3;
  });
  return all;
}

} // namespace

LoosePieces find_loose_pieces(const RunGrid& grid, const LooseOptions& options) {
  LoosePieces found;
  found.floors = thin_floors(grid, options);
  if (grid.runs.empty())
    return found;
  BreakUp sheet(grid);
  const std::vector<Released> exact =
      releases(sheet, grid, options.crumb_mm3, found.crumbs, found.crumbs_mm3);
  std::unordered_map<Node, std::size_t> by_seed; // a body keeps its seed from the moment it comes free
  for (std::size_t p = 0; p < exact.size(); ++p)
    by_seed.emplace(exact[p].seed, p);
  for (const Released& released : exact) {
    found.pieces.push_back(released.piece);
    const auto rest = by_seed.find(released.rest_seed);
    if (rest != by_seed.end())
      found.pieces.back().from = rest->second;
  }

  bool changed = false;
  const RunGrid view = options.skin_mm > 0 ? without_skin(grid, options.skin_mm, changed) : RunGrid{};
  if (!changed)
    return found;
  // Apart in the view without skins, yet still one body in truth: a skin is all that joins them.
  BreakUp skinless(view);
  std::size_t crumbs = 0;
  double crumbs_mm3 = 0;
  for (Released& released : releases(skinless, grid, options.crumb_mm3, crumbs, crumbs_mm3)) {
    const Moment t = released.piece.freed_by + 1;
    if (sheet.root_at(released.member, t) != sheet.root_at(released.rest_seed, t))
      continue;
    released.piece.on_skin = true;
    found.pieces.push_back(std::move(released.piece));
  }
  std::stable_sort(found.pieces.begin() + static_cast<std::ptrdiff_t>(exact.size()), found.pieces.end(),
                   [](const LoosePiece& a, const LoosePiece& b) { return a.freed_by < b.freed_by; });
  return found;
}

} // namespace snagmap
