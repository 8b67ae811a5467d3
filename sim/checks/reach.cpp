#include "sim/checks/reach.hpp"

#include "sim/path/moves.hpp"

#include <fmt/format.h>

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
    const Outcome<double> range = closing_range_mm(collet.series, collet.bore_mm);
    if (!range) {
      fit.collet_unknown = range.faults().front().what + "; " + range.faults().front().way_out;
      // Too large needs no range: no collet opens.
      if (refused(collet_fit(fit.shank_mm, collet.bore_mm, std::numeric_limits<double>::infinity())))
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

Finding about(const char* key, std::string words) {
  Finding finding;
  finding.kind = key;
  finding.words = std::move(words);
  return finding;
}

/// The same at the end of a move: there the tip is lowest, or first so fast.
Finding about(const char* key, std::string words, std::uint32_t m, const Path& path, const Motion& motion) {
  Finding finding = about(key, std::move(words));
  const Move& move = path.moves[m];
  finding.program_line = move.line;
  const bool begins_low = move.from.z < move.to.z;
  finding.time_s = motion.start_s[begins_low ? m : m + 1];
  finding.place_mm = begins_low ? move.from : move.to;
  return finding;
}

void say_collet(const ReachFit& fit, const Collet& collet, std::vector<Finding>& out) {
  if (!fit.collet_unknown.empty())
    out.push_back(about("collet-unknown", fmt::format("cutter {}: the shank fit is not judged: {}", fit.name,
                                                      fit.collet_unknown)));
  if (fit.fit && *fit.fit != Fit::ok) {
    Finding finding = about(refused(*fit.fit) ? "collet-refused" : "collet-closes", "");
    finding.stops_job = refused(*fit.fit);
    finding.words = fmt::format("cutter {}: its {:.3f} mm shank in the {:g} mm collet: {}", fit.name,
                                fit.shank_mm, collet.bore_mm, to_text(*fit.fit));
    if (*fit.fit == Fit::shank_too_small)
      finding.words += fmt::format("; it closes by {:.2f} mm, {:.2f} mm are needed: the shank would be held "
                                   "at one end, tilt and creep "
                                   "out. Use a collet made for this shank",
                                   fit.range_mm, fit.closes_mm);
    if (!refused(*fit.fit))
      finding.words += fmt::format("; it must close {:.3f} of {:.2f} mm, which costs grip and true running",
                                   fit.closes_mm, fit.range_mm);
    out.push_back(finding);
  }
  if (fit.clamp && *fit.clamp != Hold::good)
    out.push_back(
        about("clamp-short", fmt::format("cutter {}: {} ({:.1f} of {:.1f} mm)", fit.name, to_text(*fit.clamp),
                                         collet.clamped_length_mm, collet.length_mm)));
}

void say_reach(const ReachFit& fit, const CutterCard& cutter, const Path& path, const Motion& motion,
               std::vector<Finding>& out) {
  if (fit.nut_clear_mm && *fit.nut_clear_mm < 0)
    out.push_back(
        about("reach-short",
              fmt::format("cutter {}: it sticks out {:.1f} mm but cuts {:.1f} mm deep: the collet face goes "
                          "{:.1f} mm below the sheet's top",
                          fit.name, cutter.stick_out_mm, fit.depth_mm, -*fit.nut_clear_mm),
              fit.lowest_move, path, motion));
  if (fit.above_flutes_mm > 0)
    out.push_back(about(fit.neck_relief_mm > 0 ? "wall-above-flutes" : "shank-beside-wall",
                        fit.neck_relief_mm > 0
                            ? fmt::format("cutter {}: {:.1f} mm of the deepest wall stand above its flutes, "
                                          "{:.2f} mm beside the neck",
                                          fit.name, fit.above_flutes_mm, fit.neck_relief_mm)
                            : fmt::format("cutter {}: {:.1f} mm of the deepest wall stand above its flutes "
                                          "and touch a shank as wide as "
                                          "the cut: rubbing heats foam until it melts or burns",
                                          fit.name, fit.above_flutes_mm),
                        fit.lowest_move, path, motion));
  if (fit.spots_that_rub > 0) {
    out.push_back(about(
        "neck-rub",
        fit.most_lean_mm > 0
            ? fmt::format(
                  "cutter {}: {} webs lean up to {:.2f} mm, over the {:.2f} mm beside the neck, and rub it",
                  fit.name, fit.spots_that_rub, fit.most_lean_mm, fit.neck_relief_mm)
            : fmt::format("cutter {}: {} webs are drawn in past the {:.2f} mm beside the neck and rub it",
                          fit.name, fit.spots_that_rub, fit.neck_relief_mm)));
    out.back().program_line = fit.rub_line, out.back().time_s = fit.rub_time_s,
    out.back().place_mm = fit.rub_mm;
  }
  if (fit.critical_rpm && fit.whirl != Whirl::clear)
    out.push_back(about(
        fit.whirl == Whirl::refuse ? "whirl-refused" : "whirl-near",
        fmt::format("cutter {}: {:.0f} rpm is {}, {:.0f} rpm, at {:.0f} mm of stick-out: {}", fit.name,
                    fit.fastest_rpm, to_text(fit.whirl), *fit.critical_rpm, cutter.stick_out_mm,
                    fit.whirl == Whirl::refuse ? "it can bend and fly apart; shorten it or slow the spindle"
                                               : "keep it short and true"),
        fit.fastest_move, path, motion));
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
    findings.push_back(about(
        "collet-not-given", "no collet is given, so the shank fit is not judged; add [collet] to the scene"));
  std::stable_sort(findings.begin(), findings.end(),
                   [](const Finding& a, const Finding& b) { return a.stops_job > b.stops_job; });
  return findings;
}

} // namespace snagmap
