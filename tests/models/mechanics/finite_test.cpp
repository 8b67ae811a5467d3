// Formulas refuse what is no number: our own rule (DEVELOPERS.md, Errors), so there is no outside source.
#include "models/cards/bench.hpp"
#include "models/cards/collet.hpp"
#include "models/mechanics/bite.hpp"
#include "models/mechanics/engagement.hpp"
#include "models/mechanics/hold_down.hpp"
#include "models/mechanics/strand.hpp"
#include "models/mechanics/wall_side.hpp"

#include <gtest/gtest.h>

#include <functional>
#include <limits>
#include <stdexcept>
#include <vector>

using namespace snagmap;

namespace {

TEST(Formulas, RefuseWhatIsNoNumberInEachPlace) {
  const double bad[] = {std::numeric_limits<double>::quiet_NaN(), std::numeric_limits<double>::infinity(),
                        -std::numeric_limits<double>::infinity()};
  const FoamCard& foam = foam_cards().front();
  const CutterCard& cutter = cutter_cards().front();
  const std::vector<std::function<void(double)>> calls = {
      [](double v) { chip_per_tooth_mm(v, 18000, 2); },
      [](double v) { chip_per_tooth_mm(2000, v, 2); },
      [](double v) { engaged_angle_rad(v, 3); },
      [](double v) { engaged_angle_rad(6, v); },
      [](double v) { mean_chip_mm(v, 1); },
      [](double v) { mean_chip_mm(0.1, v); },
      [](double v) { teeth_in_cut(2, v); },
      [](double v) { strip_per_travel(v, 6, 0.1); },
      [](double v) { strip_per_travel(1, v, 0.1); },
      [](double v) { strip_per_travel(1, 6, v); },
      [](double v) { exit_gap_mm(v, 18000, 1); },
      [](double v) { exit_gap_mm(2000, v, 1); },
      [](double v) { exit_gap_mm(2000, 18000, v); },
      [](double v) { neck_room_mm3(v, 3, 10); },
      [](double v) { neck_room_mm3(6, v, 10); },
      [](double v) { neck_room_mm3(6, 3, v); },
      [](double v) { strand_risk(v, false); },
      [](double v) { (void)closing_range_mm("ER11", v); },
      [](double v) { collet_fit(v, 6, 0.5); },
      [](double v) { collet_fit(6, v, 0.5); },
      [](double v) { collet_fit(6, 6, v); },
      [](double v) { clamp_hold(v, 18); },
      [](double v) { clamp_hold(12, v); },
      [](double v) { critical_speed_rpm(v, 50); },
      [](double v) { critical_speed_rpm(6, v); },
      [](double v) { slice_push(v); },
      [&](double v) {
        cut_force({0.1, 1, v}, cutter, foam, BandEnd::nominal);
      },
      [](double v) { thrust_ratio(v, 0.5); },
      [](double v) { thrust_ratio(10, v); },
      [](double v) { wall_pull(v, 0.5, true, EdgeForce::saturated); },
      [](double v) { wall_pull(1, v, true, EdgeForce::saturated); },
      [](double v) { pull_begins_rad(v, EdgeForce::saturated); },
      [](double v) {
        sag_mm({10, 20, v, 25, 0}, 100);
      },
      [](double v) {
        sag_mm({10, 20, 100, 25, 0}, v);
      },
      [](double v) {
        (void)modulus_from_sag_kPa({10, v, 100, 25, 0}, 20);
      },
      [](double v) { energy_from_peak_tear(v, 10); },
      [](double v) { energy_from_peak_tear(5, v); },
      [&](double v) {
        tape_safety(tape_on(foam), {v, 10, 10}, {1, 1, 1});
      },
      [&](double v) {
        tape_safety(tape_on(foam), {100, 10, 10}, {1, v, 1});
      },
      [](double v) {
        vacuum_safety({5, 4, 6, "", false}, {100, 10, v}, {1, 1, 1});
      },
      [&](double v) { clamping_kPa(foam, Film::on_top, v); },
      [](double v) { peel_energy_N_mm(v, 90); },
      [](double v) { peel_energy_N_mm(1, v); },
      [](double v) { peel_force_N_mm(v, 90); },
  };
  for (std::size_t n = 0; n < calls.size(); ++n)
    for (const double v : bad)
      EXPECT_THROW(calls[n](v), std::invalid_argument) << n << ' ' << v;
}

} // namespace
