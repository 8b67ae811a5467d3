// Every lever that rewrites a path, tried on random programs, and what must hold of the file that comes of
// it.
#pragma once

#include "sim/path/edit.hpp"
#include "sim/program/written.hpp"
#include "tests/sim/path/random_programs.hpp"

#include <functional>
#include <optional>

namespace snagmap::witness {

enum class After { same_stock, more_stock }; ///< what the lever must leave of the sheet
struct TriedLever {
  const char* name;
  After after;
  std::function<std::optional<Path>(const Path&, const std::vector<CutterCard>&)> change;
};

/// Every lever of sim/path/edit.hpp, at places of the path that `seed` chooses.
inline std::vector<TriedLever> all_levers(unsigned seed) {
  const auto places = [seed](const Path& path) {
    std::mt19937 random(seed);
    std::vector<PathCutAt> at;
    for (int k = 0; k < 5; ++k)
      at.push_back({random() % path.moves.size(), random() / 4294967296.0});
    return at;
  };
  const auto in_foam = [](const Path& path, std::vector<PathCutAt> at) {
    const std::vector<PathLayer> layers = path_layers(path, kRandomTop_mm);
    std::vector<PathCutAt> kept;
    for (const PathCutAt& one : at)
      for (const PathLayer& layer : layers)
        if (layer.first <= one.move && one.move < layer.last)
          kept.push_back(one);
    return kept;
  };
  return {
      {"pass depth", After::same_stock,
       [](const Path& p, const auto&) { return with_pass_depth(p, kRandomTop_mm, 1.7); }},
      {"order", After::same_stock,
       [](const Path& p, const auto&) -> std::optional<Path> {
         const std::size_t n = path_layers(p, kRandomTop_mm).size();
         if (n < 2)
           return {};
         return with_order(p, kRandomTop_mm, {n - 1}, 0);
       }},
      {"finish last", After::same_stock,
       [](const Path& p, const auto&) { return with_finish_last(p, kRandomTop_mm); }},
      {"loops reversed", After::same_stock,
       [](const Path& p, const auto&) { return with_loops_reversed(p, kRandomTop_mm); }},
      {"feed", After::same_stock,
       [](const Path& p, const auto&) { return with_feed(p, kRandomTop_mm, 0.5); }},
      {"lifts", After::same_stock,
       [places](const Path& p, const auto&) { return with_lifts(p, kRandomTop_mm, places(p)); }},
      {"holes", After::same_stock,
       [places, in_foam](const Path& p, const auto&) {
         return with_holes(p, kRandomTop_mm, in_foam(p, places(p)));
       }},
      {"walls first", After::same_stock,
       [](const Path& p, const auto&) { return with_walls_first(p, kRandomTop_mm); }},
      {"cross-cuts", After::same_stock,
       [](const Path& p, const std::vector<CutterCard>& cutters) {
         std::vector<double> diameters;
         for (const CutterCard& c : cutters)
           diameters.push_back(c.diameter_mm);
         return with_cross_cuts(p, kRandomTop_mm, {{0, p.moves.size()}}, diameters, 10, 12);
       }},
      {"skin", After::more_stock,
       [](const Path& p, const auto&) { return with_skin(p, kRandomBottom_mm + 0.5); }},
      {"shallow skin", After::more_stock, [](const Path& p, const auto&) { return with_skin(p, -2.3); }},
      {"tabs", After::more_stock,
       [](const Path& p, const auto&) { return with_tabs(p, kRandomTop_mm, kRandomBottom_mm, 3, 9, 3); }},
  };
}

/// Heights of foam over a grid of the finished sheet: the sum of all slabs at each place.
struct FoamLeft {
  std::vector<double> height_mm;
};
inline FoamLeft foam_left(const std::vector<CutterCard>& cutters, const Path& path, double voxel_mm = 1) {
  CutOptions options;
  options.voxel_mm = voxel_mm;
  const StockShape stock = random_sheet();
  const Outcome<RemovalRecord> record = RemovalRecord::cut(stock, cutters, path, options);
  FoamLeft left;
  if (!record)
    return left;
  for (double y = stock.box.low.y + 0.5; y < stock.box.high.y; y += 1)
    for (double x = stock.box.low.x + 0.5; x < stock.box.high.x; x += 1) {
      double sum = 0;
      for (const Slab& slab : record->column({x, y}, record->end()))
        sum += slab.high_mm - slab.low_mm;
      left.height_mm.push_back(sum);
    }
  return left;
}
/// Places where the two differ by more than `by_mm` (`more` only: where b has less foam than a).
inline int places_unlike(const FoamLeft& a, const FoamLeft& b, double by_mm, bool less_only = false) {
  if (a.height_mm.size() != b.height_mm.size())
    return static_cast<int>(std::max(a.height_mm.size(), b.height_mm.size()));
  int count = 0;
  for (std::size_t i = 0; i < a.height_mm.size(); ++i) {
    const double less = a.height_mm[i] - b.height_mm[i];
    count += less_only ? less > by_mm : std::abs(less) > by_mm;
  }
  return count;
}

/// The way that was read beside the way that was meant: each move of the one ends where one of the other
/// does, and in between they are nowhere further apart than rounding to the last decimal takes them. Empty
/// when so.
inline std::string ways_unlike(const Path& meant, const Path& read) {
  const double decimal_mm = meant.inch ? 0.5e-5 * 25.4 : 0.5e-4;
  // An end is rounded in three axes; an arc's centre in two more.
  const double end_mm = std::sqrt(3.0) * decimal_mm, way_mm = end_mm + 2 * std::sqrt(2.0) * decimal_mm + 5e-4;
  std::size_t r = 0;
  for (std::size_t i = 0; i < meant.moves.size(); ++i) {
    const Move& move = meant.moves[i];
    if (move.kind == MoveKind::dwell || move.kind == MoveKind::stop || move.kind == MoveKind::tool_change ||
        length_mm(move) < 2 * end_mm)
      continue;
    const double length = length_mm(move);
    double done = 0;
    bool met = false;
    while (!met && r < read.moves.size()) {
      const Move& one = read.moves[r++];
      const double part = length_mm(one);
      if (part < 1e-12)
        continue;
      if ((move.kind == MoveKind::rapid) != (one.kind == MoveKind::rapid)) {
        if (part < 4 * end_mm)
          continue;
        return fmt::format("move {} of line {}: read as another kind", i, move.line);
      }
      if (move.tool != one.tool || move.tool_number != one.tool_number ||
          move.spindle_rpm != one.spindle_rpm || move.coolant != one.coolant ||
          move.length_on != one.length_on)
        return fmt::format("move {} of line {}: tool, spindle, coolant or length", i, move.line);
      for (const double share : {0.25, 0.5, 0.75, 1.0}) {
        const double s = std::min(1.0, (done + share * part) / length);
        const double apart = norm(point_at(move, s) - point_at(one, share));
        if (apart > way_mm + 1e-9 * length)
          return fmt::format("move {} of line {}: {:.6f} mm apart at {:.2f}", i, move.line, apart, s);
      }
      done += part;
      met =
          norm(one.to - move.to) <= end_mm + 1e-9 && done > length - 0.1 * std::min(length, 1.0) - 4 * end_mm;
    }
    if (!met)
      return fmt::format("move {} of line {}: its end is not read", i, move.line);
  }
  for (; r < read.moves.size(); ++r)
    if (length_mm(read.moves[r]) > 4 * end_mm)
      return "more is read than was meant";
  return "";
}

/// What went wrong with one lever on one program; empty: nothing. `tried` tells whether the lever applied.
inline std::string lever_fault(const TriedLever& lever, const RandomProgram& program, const Path& path,
                               const FoamLeft& before, bool& tried, WrittenProgram* kept = nullptr) {
  const std::optional<Path> changed = lever.change(path, program.cutters);
  tried = changed.has_value();
  if (!changed)
    return "";
  const Outcome<WrittenProgram> written = written_program(*changed, "changed.nc", program.how, {lever.name});
  if (!written)
    return to_text(written.faults().front());
  if (const std::string unlike = ways_unlike(*changed, written->path); !unlike.empty())
    return unlike;
  // Ends move by 2e-4 mm at most: along walls some 3 m long that sweeps under a square millimetre, one place
  // of the grid; floors are as high as they were but for the slope of an arc's side.
  const FoamLeft judged = foam_left(program.cutters, *changed),
                 file = foam_left(program.cutters, written->path);
  if (const int n = places_unlike(judged, file, 0.02); n > 6)
    return fmt::format("the file leaves other foam at {} places", n);
  const int n = places_unlike(before, file, 0.02, lever.after == After::more_stock);
  if (n > 6)
    return fmt::format("foam unlike that of the program before at {} places", n);
  const Outcome<WrittenProgram> again =
      written_program(written->path, "again.nc", program.how, {"another", "head"});
  if (!again || again->path.moves.size() != written->path.moves.size())
    return "written again it is another program";
  for (std::size_t i = 0; i < again->path.moves.size(); ++i)
    if (norm(again->path.moves[i].to - written->path.moves[i].to) > 1e-9)
      return "written again it moves elsewhere";
  if (kept)
    *kept = *written;
  return "";
}

} // namespace snagmap::witness
