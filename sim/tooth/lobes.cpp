#include "sim/tooth/lobes.hpp"

#include "models/base/constants.hpp"
#include "sim/threads/parallel.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace snagmap {

ToothLobes tooth_lobes(const ToothQuestion& question, const WebTooth& from, const CutterCard& cutter,
                       const MachineCard& machine, int speeds) {
  ToothLobes lobes;
  // A machine without limits is asked about from a third of the program's speed to three times it.
  lobes.rpm_low = machine.spindle_min_rpm > 0 ? machine.spindle_min_rpm : from.spindle_rpm / 3;
  lobes.rpm_high = machine.spindle_max_rpm > lobes.rpm_low ? machine.spindle_max_rpm : 3 * from.spindle_rpm;
  lobes.feed_limit_mm_min = std::max(machine.feed_mm_min[0], machine.feed_mm_min[1]);
  lobes.f1_rpm = 60 * from.f1_Hz / cutter.flutes;
  const double feed = from.feed_mm * cutter.flutes * from.spindle_rpm;
  for (const double share : {0.5, 1.0, 2.0})
    if (share * feed <= lobes.feed_limit_mm_min || !(lobes.feed_limit_mm_min > 0)) {
      LobeCurve curve;
      curve.feed_mm_min = share * feed;
      curve.rubs_from_rpm = cutter.least_chip_mm > 0
                                ? curve.feed_mm_min / (cutter.flutes * cutter.least_chip_mm)
                                : std::numeric_limits<double>::infinity();
      for (int n = 0; n < speeds; ++n) {
        const double rpm =
            lobes.rpm_low * std::pow(lobes.rpm_high / lobes.rpm_low, double(n) / std::max(1, speeds - 1));
        if (rpm < curve.rubs_from_rpm)
          curve.spindle_rpm.push_back(rpm);
      }
      curve.t.resize(curve.spindle_rpm.size());
      lobes.curves.push_back(std::move(curve));
    }
  std::vector<std::pair<std::size_t, std::size_t>> all;
  for (std::size_t c = 0; c < lobes.curves.size(); ++c)
    for (std::size_t n = 0; n < lobes.curves[c].t.size(); ++n)
      all.emplace_back(c, n);
  parallel_each(all.size(), [&](std::size_t k) {
    LobeCurve& curve = lobes.curves[all[k].first];
    const double rpm = curve.spindle_rpm[all[k].second];
    ToothQuestion other = question;
    other.web.tooth_time_s = 60 / (rpm * cutter.flutes);
    for (ToothSlice& slice : other.web.slices)
      slice.cut.feed_mm = curve.feed_mm_min / (cutter.flutes * rpm);
    curve.t[all[k].second] = tooth_number(other);
  });
  return lobes;
}

} // namespace snagmap
