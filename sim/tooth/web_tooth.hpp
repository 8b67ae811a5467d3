// The tooth's judgement of a web: what side, feed, flutes, speed and width of cut do to it, by the chip law
// of models/tooth. It stands beside S and never enters it.
#pragma once

#include "models/tooth/toothed_web.hpp"
#include "sim/judge/judged_job.hpp"

#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace snagmap {

/// Which way the teeth's mean force moves the wall, over the whole band of friction; none: they cut nothing
/// of it there.
enum class ToothPush { pulled_in, pushed_off, either, none };
const char* to_text(ToothPush push);

/// How a web past its edge goes.
enum class ToothGrowth { none, drawn_in, swings };

/// A web at one moment, ready for the periodic system: everything it depends on.
struct ToothQuestion {
  ToothedWeb web;                             ///< at the nominal friction, the static modulus times `dynamic`
  double dynamic = 1;                         ///< dynamic over static modulus that is in the modes
  double severing_low = 1, severing_high = 1; ///< ends of the severing work's band over its nominal value
  double rake_deg = 0;                        ///< of the cutter
  int unknowns = 0;
};

struct WebTooth {
  int web = 0;                     ///< Spot::web
  std::size_t spot = 0;            ///< index into the spots: the web's worst on this side
  std::optional<Unsolved> why_not; ///< when not answered
  bool answered = false;
  bool climb = false;
  double engaged_rad = 0; ///< largest over the slices, from the wall's tangent point
  double width_mm = 0;    ///< of the cut there
  double feed_mm = 0;     ///< a tooth, as the machine reaches it
  double spindle_rpm = 0, tooth_Hz = 0;
  double f1_Hz = 0, f1_low_Hz = 0, f1_high_Hz = 0; ///< by the band of the dynamic modulus
  double pull_N = 0, pull_low_N = 0,
         pull_high_N = 0; ///< mean, + toward the cutter; by friction and severing work
  ToothPush push = ToothPush::either;
  /// The tooth number: by how much the tooth forces are over those at which a small motion neither grows nor
  /// dies out. 1 is the edge; proportional to the severing work. 0: dies out at 100 times the forces.
  double t = 0, t_low = 0, t_high = 0;
  double t_static = 0; ///< of the steady widening alone
  ToothGrowth growth = ToothGrowth::none;
  double rate_over_f1 = 0; ///< tooth rate over the first mode
  /// The same cut from the other side (a loop turned): its tooth number and the push.
  double t_turned = 0;
  ToothPush push_turned = ToothPush::either;
};

/// The question of a spot, or why it cannot be asked (no spindle speed, no wall to solve).
OrUnsolved<ToothQuestion> tooth_question(const JudgedJob& job, const Spot& spot);

/// What is asked about: of each web on each side the worst spot by S at which the teeth cut into the wall, or
/// the worst where they cut at none. Worst first; of one web (its id), or of all.
std::vector<std::size_t> tooth_spots(const JudgedJob& job, std::optional<int> web = std::nullopt);

/// Answers for those spots, in parallel; the same bits on any number of threads. `progress` false stops.
std::vector<WebTooth> tooth_answers(const JudgedJob& job, const std::vector<std::size_t>& spots,
                                    const std::function<bool(double)>& progress = {});

/// The question answered; what is known of the spot comes with `from`.
WebTooth answer_tooth(const ToothQuestion& question, WebTooth from);
/// Only the tooth number, nominal: WebTooth::t.
double tooth_number(const ToothQuestion& question);

} // namespace snagmap
