// Foam constants from tests anyone can make on a bench: a strip that sags, a strip that is torn.
#pragma once

#include "models/base/fault.hpp"
#include "models/cards/banded.hpp"

namespace snagmap {

/// A strip clamped level at one end, hanging free over `overhang_mm` under its own weight and a mass at its
/// tip.
struct Strip {
  double thickness_mm = 0, width_mm = 0, overhang_mm = 0;
  double density_kg_m3 = 0;
  double tip_mass_g = 0;
};

/// The same for any slope: the elastica (Bisshopp and Drucker 1945 for the tip load alone), by shooting with
/// fourth-order Runge-Kutta; within 1e-5 of the overhang.
double sag_mm(const Strip& strip, double E_kPa);
/// The modulus for which the strip sags by `sag_mm`. Fault (no place) when no modulus does.
Outcome<double> modulus_from_sag_kPa(const Strip& strip, double sag_mm);

/// Fracture energy from the greatest force of a split strip: the legs of foam stretch (adds to the 2) and the
/// peak stands above the mean (takes off): 1.7 (1.3 to 2.3) F/t.
Banded energy_from_peak_tear(double peak_N, double thickness_mm);

} // namespace snagmap
