#include "sim/findings/reach.hpp"

#include "sim/path/moves.hpp"

#include <algorithm>
#include <limits>

namespace snagmap {
namespace {

constexpr double kCoreShare =
    0.8; // of the diameter: steel left between the flutes, common practice, no source

/// The thickness that bends: the thinnest of what stands out. Flutes count when they make up half of it.
double thinnest_mm(const CutterCard& cutter) {
  double thin = cutter.shank_diameter_mm > 0 ? cutter.shank_diameter_mm : cutter.diameter_mm;
  if (cutter.neck_diameter_mm > 0)
    thin = std::min(thin, cutter.neck_diameter_mm);
  if (2 * cutter.flute_length_mm >= cutter.stick_out_mm)
    thin = std::min(thin, kCoreShare * cutter.diameter_mm);
  return thin;
}

void judge_collet(ReachFit& fit, const Collet& collet) {
  if (!collet.given || fit.shank_mm <= 0)
    return;
  if (collet.least_mm > 0) {
    fit.range_mm = collet.bore_mm - collet.least_mm;
  } else {
    const std::optional<double> range = closing_range_mm(collet.series, collet.bore_mm);
    if (!range) {
      fit.range_unknown = true;
      if (too_large(fit.shank_mm, collet.bore_mm))
        fit.fit = Fit::shank_too_large;
      return;
    }
    fit.range_mm = *range;
  }
  fit.closes_mm = collet.bore_mm - fit.shank_mm;
  fit.fit = collet_fit(fit.shank_mm, collet.bore_mm, fit.range_mm);
  if (collet.length_mm > 0 && collet.clamped_length_mm > 0)
    fit.clamp = clamp_hold(collet.clamped_length_mm, collet.length_mm);
}

/// At the end of a move: there the tip is lowest, or first so fast.
Finding at_end_of(std::uint32_t m, Fact what, const Path& path, const Motion& motion) {
  const Move& move = path.moves[m];
  const bool begins_low = move.from.z < move.to.z;
  return at_moment(std::move(what), move.line, motion.start_s[begins_low ? m : m + 1],
                   begins_low ? move.from : move.to);
}

void say_collet(const ReachFit& fit, const Collet& collet, std::vector<Finding>& out) {
  if (fit.range_unknown) {
    const ColletSeries& nearest = nearest_series(collet.series);
    out.push_back(whole_job(fact::ColletUnknown{fit.name, collet.series, collet.bore_mm, nearest.name,
                                                nearest.largest_shank_mm}));
  }
  if (fit.fit && refused(*fit.fit))
    out.push_back(whole_job(
        fact::ColletRefused{fit.name, fit.shank_mm, collet.bore_mm, *fit.fit, fit.closes_mm, fit.range_mm},
        true));
  else if (fit.fit && *fit.fit != Fit::ok)
    out.push_back(whole_job(
        fact::ColletCloses{fit.name, fit.shank_mm, collet.bore_mm, *fit.fit, fit.closes_mm, fit.range_mm}));
  if (fit.clamp && *fit.clamp != Hold::good)
    out.push_back(
        whole_job(fact::ClampShort{fit.name, *fit.clamp, collet.clamped_length_mm, collet.length_mm}));
}

void say_reach(const ReachFit& fit, const CutterCard& cutter, const Path& path, const Motion& motion,
               std::vector<Finding>& out) {
  const auto lowest = [&](Fact what) { return at_end_of(fit.lowest_move, std::move(what), path, motion); };
  if (fit.nut_clear_mm && *fit.nut_clear_mm < 0)
    out.push_back(lowest(fact::ReachShort{fit.name, cutter.stick_out_mm, fit.depth_mm, -*fit.nut_clear_mm}));
  if (fit.above_flutes_mm > 0 && fit.neck_relief_mm > 0)
    out.push_back(lowest(fact::WallAboveFlutes{fit.name, fit.above_flutes_mm, fit.neck_relief_mm}));
  else if (fit.above_flutes_mm > 0)
    out.push_back(lowest(fact::ShankBesideWall{fit.name, fit.above_flutes_mm}));
  if (fit.spots_that_rub > 0)
    out.push_back(at_moment(fact::NeckRub{fit.name, fit.spots_that_rub, fit.most_lean_mm, fit.neck_relief_mm},
                            fit.rub_line, fit.rub_time_s, fit.rub_mm));
  if (fit.critical_rpm && fit.whirl != Whirl::clear)
    out.push_back(at_end_of(
        fit.fastest_move,
        fit.whirl == Whirl::refuse
            ? Fact(fact::WhirlRefused{fit.name, fit.fastest_rpm, *fit.critical_rpm, cutter.stick_out_mm})
            : Fact(fact::WhirlNear{fit.name, fit.fastest_rpm, *fit.critical_rpm, cutter.stick_out_mm}),
        path, motion));
}

} // namespace

std::vector<ReachFit> check_reach(const Scene& scene, const Path& path, const std::vector<Spot>& spots) {
  std::vector<ReachFit> fits(scene.cutters.size());
  std::vector<char> used(scene.cutters.size(), 0);
  for (std::size_t n = 0; n < fits.size(); ++n) {
    fits[n].cutter = static_cast<int>(n);
    fits[n].lowest_tip_mm = std::numeric_limits<double>::infinity();
  }
  for (std::uint32_t m = 0; m < path.moves.size(); ++m) {
    const Move& move = path.moves[m];
    if (!is_feed(move))
      continue;
    const auto n = static_cast<std::size_t>(move.tool);
    used[n] = 1;
    const double rpm = std::abs(static_cast<double>(move.spindle_rpm));
    if (rpm > fits[n].fastest_rpm)
      fits[n].fastest_rpm = rpm, fits[n].fastest_move = m;
    const double low = std::min(move.from.z, move.to.z);
    if (low >= fits[n].lowest_tip_mm)
      continue;
    fits[n].lowest_tip_mm = low;
    fits[n].lowest_move = m;
  }
  for (const Spot& spot : spots) {
    if (!spot.answer.neck_rubs)
      continue;
    ReachFit& fit = fits[static_cast<std::size_t>(spot.cutter)];
    ++fit.spots_that_rub;
    if (fit.spots_that_rub > 1 && spot.answer.u_max_mm <= fit.most_lean_mm)
      continue;
    fit.most_lean_mm = spot.answer.u_max_mm;
    fit.rub_line = spot.program_line;
    fit.rub_time_s = spot.time_s;
    fit.rub_mm = spot.place_mm;
  }
  std::vector<ReachFit> in_use;
  for (std::size_t n = 0; n < fits.size(); ++n) {
    if (!used[n])
      continue;
    ReachFit& fit = fits[n];
    const CutterCard& cutter = scene.cutters[n];
    fit.name = cutter.name;
    fit.shank_mm = cutter.shank_diameter_mm;
    judge_collet(fit, scene.collet);
    fit.depth_mm = std::max(0.0, scene.sheet.high.z - fit.lowest_tip_mm);
    fit.above_flutes_mm = std::max(0.0, fit.depth_mm - cutter.flute_length_mm);
    const double body = cutter.neck_diameter_mm > 0 ? cutter.neck_diameter_mm : cutter.shank_diameter_mm;
    fit.neck_relief_mm = body > 0 ? 0.5 * (cutter.diameter_mm - body) : 0;
    if (cutter.stick_out_mm > 0) {
      fit.nut_clear_mm = cutter.stick_out_mm - fit.depth_mm;
      fit.holder_clear_mm = *fit.nut_clear_mm + cutter.nut_length_mm;
      fit.critical_rpm = critical_speed_rpm(thinnest_mm(cutter), cutter.stick_out_mm);
      fit.whirl = whirl_of(fit.fastest_rpm, *fit.critical_rpm);
    }
    in_use.push_back(fit);
  }
  return in_use;
}

std::vector<Finding> reach_findings(const std::vector<ReachFit>& fits, const Scene& scene, const Path& path,
                                    const Motion& motion) {
  std::vector<Finding> findings;
  for (const ReachFit& fit : fits)
    say_collet(fit, scene.collet, findings);
  for (const ReachFit& fit : fits)
    say_reach(fit, scene.cutters[static_cast<std::size_t>(fit.cutter)], path, motion, findings);
  if (!fits.empty() && !scene.collet.given)
    findings.push_back(whole_job(fact::ColletNotGiven{}));
  std::stable_sort(findings.begin(), findings.end(),
                   [](const Finding& a, const Finding& b) { return a.stops_job > b.stops_job; });
  return findings;
}

} // namespace snagmap
