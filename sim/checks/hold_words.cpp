// Hold-down in words for the person at the machine.
#include "sim/checks/hold.hpp"

#include <fmt/format.h>

#include <cmath>

namespace snagmap {
namespace {

std::string factor_words(const Safety& safety) {
  return fmt::format("{:.2g} times the pull ({:.2g} to {:.2g})", safety.nominal, safety.low, safety.high);
}

const char* holder(HoldDownKind kind) {
  return kind == HoldDownKind::tape ? "the tape" : "the vacuum";
}

Finding about(const char* key, std::string words) {
  Finding finding;
  finding.kind = key;
  finding.words = std::move(words);
  return finding;
}

} // namespace

std::vector<Finding> hold_findings(const HoldCheck& check, const LoosePieces& loose) {
  std::vector<Finding> findings;
  if (check.kind == HoldDownKind::none_given) {
    findings.push_back(about("hold-down-not-given",
                             "no hold-down is given, so nothing is said about whether the sheet and its "
                             "pieces stay down; add [hold_down] to the scene"));
    return findings;
  }
  if (check.kind == HoldDownKind::vacuum) {
    findings.push_back(about("clamping-pressure",
                             fmt::format("the vacuum clamps this foam with {:.3g} kPa ({:.3g} to {:.3g}): {}",
                                         check.clamping_kPa.nominal, check.clamping_kPa.low,
                                         check.clamping_kPa.high, check.clamping_kPa.source)));
    if (check.clamping_kPa.nominal <= 0)
      findings.back().words = "the vacuum sucks air through the open cells and holds next to nothing; bond a "
                              "film under the sheet "
                              "or use tape";
    if (check.seal_lost_line > 0) {
      findings.push_back(about(
          "seal-lost", fmt::format("the floor is cut through at line {}: from there on air leaks in, and how "
                                   "much hold is left is not known",
                                   check.seal_lost_line)));
      findings.back().program_line = check.seal_lost_line;
      findings.back().time_s = check.seal_lost_s;
      findings.back().place_mm = check.seal_lost_mm;
    }
  }
  for (const HoldMoment& moment : check.worst) {
    const Safety& safety = moment.safety;
    const bool weak = safety.low <= 1;
    if (!weak && &moment != &check.worst.front())
      continue; // the worst is always told, others when they may give
    Finding finding;
    finding.kind = weak ? "weak-hold" : "hold-down";
    finding.stops_job = weak && moment.expected;
    finding.program_line = moment.line;
    finding.time_s = moment.time_s;
    finding.place_mm = moment.tip_mm;
    const bool snag = moment.hold_case == HoldCase::snag;
    std::string what = "the sheet";
    if (moment.piece >= 0)
      what =
          fmt::format("the loose piece freed at line {} ({:.0f} mm2 on the table)",
                      loose.pieces[static_cast<std::size_t>(moment.piece)].line, moment.footprint.held_mm2);
    finding.words = fmt::format("{} holds {} at {} {}: {:.2g} N sideways, {:.2g} N up", holder(check.kind),
                                what, factor_words(safety), snag ? "if the cutter snags" : "of the cut",
                                moment.load.lateral_N, moment.load.lift_N);
    if (safety.give != Give::none)
      finding.words += fmt::format("; it {} first", to_text(safety.give));
    if (moment.piece < 0 && moment.edge_away_mm < 30)
      finding.words += fmt::format("; the nearest free edge is {:.0f} mm away", moment.edge_away_mm);
    if (snag && !moment.expected)
      finding.words += "; this snag is foreseen only by the upper end of its band";
    findings.push_back(std::move(finding));
  }
  return findings;
}

} // namespace snagmap
