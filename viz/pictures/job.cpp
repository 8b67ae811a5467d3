// Maps of the whole job: the longest strands, and the walls after the foam has sprung back.
#include "sim/checks/job_checks.hpp"
#include "viz/pictures/map_page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr double kStep_mm = 0.5; // arcs of a strand's way are drawn in chords of this
constexpr Colour kLeft{30, 106, 138}, kOver{224, 140, 20}, kUnknown{98, 106, 116};

Colour risk_colour(StrandRisk risk) {
  return risk == StrandRisk::high ? kAlarm : cividis(risk == StrandRisk::raised ? 0.85 : 0.2);
}

/// The way of a run in plan.
std::vector<Vec2> way_of(const StrandRun& run, const Path& path, const MapPage& map) {
  std::vector<Vec2> way{map.pixel(xy(run.from_mm))};
  for (std::uint32_t i = run.from_move; i <= run.to_move && i < path.moves.size(); ++i) {
    const Move& move = path.moves[i];
    const int steps =
        move.kind == MoveKind::arc ? std::max(1, static_cast<int>(std::ceil(length_mm(move) / kStep_mm))) : 1;
    for (int k = 1; k <= steps; ++k)
      way.push_back(map.pixel(xy(point_at(move, static_cast<double>(k) / steps))));
  }
  way.back() = map.pixel(xy(run.to_mm)); // the last move ends the run part way
  return way;
}

/// A run, and how many of the listed ones go the same way at other depths.
struct WaySeen {
  const StrandRun* run;
  int passes;
};
std::vector<WaySeen> ways_of(const Strands& strands) {
  std::vector<WaySeen> ways;
  for (const std::size_t index : strands.longest) {
    const StrandRun& run = strands.runs[index];
    const auto same = std::find_if(ways.begin(), ways.end(), [&](const WaySeen& way) {
      return norm(xy(way.run->from_mm - run.from_mm)) < 1 &&
             std::abs(way.run->length_mm - run.length_mm) < 0.02 * run.length_mm;
    });
    if (same == ways.end())
      ways.push_back({&run, 1});
    else
      ++same->passes;
  }
  return ways;
}

/// Colour of a wall's error: within the tolerance pale, beyond it blue (foam left) or orange (cut into).
Colour error_colour(double error_mm, double tolerance_mm) {
  if (std::abs(error_mm) <= tolerance_mm)
    return kFoam;
  return error_mm > 0 ? kOver : kLeft;
}

std::string signed_number(double mm, const Shown& shown) {
  return (mm < 0 ? "-" : "+") + shown.number(std::abs(mm));
}

} // namespace

Picture strands_picture(PictureSource& source) {
  const Preview& preview = source.preview;
  const Shown& shown = source.shown;
  const Strands& strands = preview.checks->strands;
  const bool any = !strands.longest.empty();
  const std::string finding =
      any ? fmt::format("Longest {}, 95 % of {} runs are no longer than {}.",
                        shown.length(strands.longest_mm), strands.runs.size(), shown.length(strands.p95_mm))
          : "The cutter is never in the foam for long.";
  MapPage map = map_page(source, "Where strands grow: the longest ways without a break", finding);
  Page& page = map.page;
  const double u = page.u;
  // The longest last, so that it is never painted over.
  for (auto at = strands.longest.rbegin(); at != strands.longest.rend(); ++at) {
    const StrandRun& run = strands.runs[*at];
    page.drawing.line(way_of(run, preview.path, map), risk_colour(run.risk),
                      (run.risk == StrandRisk::high ? 4 : 3) * u);
  }
  for (const StrandBreak& cut : strands.breaks) {
    const Vec2 p = map.pixel(xy(cut.tip_mm));
    page.drawing.disc(p, 5 * u, {255, 255, 255});
    page.drawing.disc(p, 3.5 * u, kInk);
  }
  std::vector<Badge> badges;
  int rank = 0;
  page.heading("Longest runs");
  for (const WaySeen& way : ways_of(strands)) {
    const StrandRun& run = *way.run;
    if (++rank > 8)
      break;
    badges.push_back({map.pixel(xy(run.from_mm)), std::to_string(rank), risk_colour(run.risk)});
    page.note(fmt::format("{}  line {}: {}{}", rank, run.from_line, shown.length(run.length_mm),
                          way.passes > 1 ? fmt::format(", {} passes", way.passes) : ""));
  }
  draw_badges(page, badges);
  page.gap();
  page.swatch(kAlarm, "high risk of winding up");
  page.swatch(cividis(0.85), "raised");
  page.swatch(cividis(0.2), "low");
  page.swatch(kInk, "dot: a lift here breaks it");
  finish_map(map, source);
  Picture out;
  out.name = "map-strands";
  out.drawing = std::move(page.drawing);
  return out;
}

Picture walls_picture(PictureSource& source) {
  const Preview& preview = source.preview;
  const Shown& shown = source.shown;
  const WallTruth& walls = preview.checks->walls;
  const std::string finding = fmt::format("Cut into by up to {}, foam left up to {}; tolerance {}.{}",
                                          shown.length(walls.most_over_mm), shown.length(walls.most_left_mm),
                                          shown.length(walls.tolerance_mm),
                                          walls.unknown > 0 ? " Where a web snags nobody knows." : "");
  MapPage map = map_page(source, "Finished walls after the foam has sprung back", finding);
  Page& page = map.page;
  const double u = page.u;
  const auto dot = [&](Vec2 place_mm, Colour colour, double radius) {
    page.drawing.disc(map.pixel(place_mm), radius * u, colour);
  };
  // What nobody knows first, then the quiet, then the largest errors: none is painted over by a lesser one.
  for (const PocketFit& fit : walls.fits)
    if (!fit.known)
      dot(xy(fit.place_mm), kUnknown, 5);
  std::vector<const WallError*> errors;
  for (const WallError& error : walls.errors)
    errors.push_back(&error);
  std::stable_sort(errors.begin(), errors.end(), [](const WallError* a, const WallError* b) {
    return std::abs(a->error_mm) < std::abs(b->error_mm);
  });
  for (const WallError* error : errors)
    dot(xy(error->place_mm), error_colour(error->error_mm, walls.tolerance_mm), 3);
  std::vector<Badge> badges;
  int rank = 0;
  page.heading("Largest errors of a pocket's side");
  for (const PocketFit& fit : walls.fits) {
    if (!fit.known || rank == 8)
      continue;
    badges.push_back(
        {map.pixel(xy(fit.place_mm)), std::to_string(++rank),
         error_colour(std::abs(fit.floor_mm) > std::abs(fit.top_mm) ? fit.floor_mm : fit.top_mm, 0)});
    page.note(fmt::format("{}  line {}: {}, {}", rank, fit.line, signed_number(fit.floor_mm, shown),
                          signed_number(fit.top_mm, shown)));
  }
  draw_badges(page, badges);
  page.note(fmt::format("at floor and top in {}; + the pocket is wider than drawn", shown.unit()), kPale);
  page.gap();
  page.swatch(kOver, "cut into beyond the tolerance");
  page.swatch(kLeft, "foam left beyond the tolerance");
  page.swatch(kFoam, "within the tolerance");
  page.swatch(kUnknown, "snags: millimetres mean nothing");
  finish_map(map, source);
  Picture out;
  out.name = "map-walls";
  out.drawing = std::move(page.drawing);
  return out;
}

} // namespace snagmap
