// Changes that leave the sheet more to hold by.
#include "sim/path/edit.hpp"
#include "sim/path/writer.hpp"

#include <algorithm>
#include <cmath>
#include <map>

namespace snagmap {

std::optional<Path> with_skin(const Path& path, double least_z_mm) {
  Path out = path;
  bool any = false;
  for (Move& move : out.moves) {
    any = any || move.to.z < least_z_mm - kSamePlace_mm;
    move.from.z = std::max(move.from.z, least_z_mm);
    move.to.z = std::max(move.to.z, least_z_mm);
  }
  if (!any)
    return {};
  return out;
}

std::optional<Path> with_tabs(const Path& path, double top_mm, double through_z_mm, int count,
                              double width_mm, double height_mm) {
  std::map<std::size_t, std::size_t> loops; // first move -> one past the last
  for (const PathLayer& layer : path_layers(path, top_mm))
    if (layer.level_mm <= through_z_mm + kSamePlace_mm)
      for (const PathLoop& loop : closed_loops(path, layer))
        loops[loop.first] = loop.last;
  Path out = path;
  out.moves.clear();
  bool any = false;
  const auto add = [&](Move move, bool raised) {
    if (raised)
      move.from.z = move.to.z = through_z_mm + height_mm;
    if (!out.moves.empty() && !same_place(out.moves.back().to, move.from)) {
      Move upright = move;
      upright.kind = MoveKind::line;
      upright.from = out.moves.back().to;
      upright.to = move.from;
      out.moves.push_back(upright);
    }
    out.moves.push_back(move);
  };
  for (std::size_t i = 0; i < path.moves.size();) {
    const auto loop = loops.find(i);
    if (loop == loops.end()) {
      add(path.moves[i++], false);
      continue;
    }
    double total = 0;
    for (std::size_t k = i; k < loop->second; ++k)
      total += length_mm(path.moves[k]);
    const bool room = total > 2 * count * width_mm;
    any = any || room;
    for (double at = 0; i < loop->second; ++i) {
      const double length = length_mm(path.moves[i]);
      std::vector<double> shares{0, 1};
      for (int k = 0; k < count && room; ++k)
        for (const double side : {-0.5, 0.5}) {
          const double share = ((k + 0.5) * total / count + side * width_mm - at) / length;
          if (share > 0 && share < 1)
            shares.push_back(share);
        }
      std::sort(shares.begin(), shares.end());
      for (std::size_t k = 0; k + 1 < shares.size(); ++k) {
        const double middle = at + 0.5 * (shares[k] + shares[k + 1]) * length;
        const double off = std::abs(std::remainder(middle - 0.5 * total / count, total / count));
        add(shares.size() == 2 ? path.moves[i] : part_of(path.moves[i], shares[k], shares[k + 1]),
            room && off < 0.5 * width_mm);
      }
      at += length;
    }
  }
  if (!any)
    return {};
  return out;
}

} // namespace snagmap
