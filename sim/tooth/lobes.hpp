// A web's tooth number over speed and feed: where another setting of the machine would stand.
#pragma once

#include "models/cards/machine.hpp"
#include "sim/tooth/web_tooth.hpp"

#include <vector>

namespace snagmap {

struct LobeCurve {
  double feed_mm_min = 0;
  std::vector<double> spindle_rpm, t; ///< speeds rising; those at which the edge would rub are not asked
  /// From this speed on the chip is thinner than the cutter's least: it rubs. Infinite: not checked.
  double rubs_from_rpm = 0;
};

struct ToothLobes {
  double rpm_low = 0, rpm_high = 0; ///< asked about: the machine's own limits where it has them
  double feed_limit_mm_min = 0;     ///< the machine's
  double f1_rpm = 0;                ///< speed at which the teeth come once in a swing of the first mode
  std::vector<LobeCurve> curves;    ///< half the feed, the feed, twice the feed
};

/// The question of one web at other speeds and feeds, everything else (width of cut, side, modes) as it was.
/// A feed over the machine's is left out. In parallel; the same bits on any number of threads.
ToothLobes tooth_lobes(const ToothQuestion& question, const WebTooth& from, const CutterCard& cutter,
                       const MachineCard& machine, int speeds = 25);

} // namespace snagmap
