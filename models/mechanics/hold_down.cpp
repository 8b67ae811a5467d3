#include "models/mechanics/hold_down.hpp"

#include "models/base/constants.hpp"
#include "models/base/finite.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace snagmap {
namespace {

constexpr double kInfinite = std::numeric_limits<double>::infinity();
constexpr double kPeelAngle = 90;        // deg: the edge of a piece that tips
constexpr double kCollapseStrain = 0.05; // Gibson and Ashby 1997: elastic collapse stress over E
const Banded kFriction{0.4, 0.3, 0.5, "foam on board, from memory", false};

double over(double strength, double load) {
  return load > 0 ? strength / load : kInfinite;
}

Banded at_most(Banded value, const Banded& cap) {
  value.nominal = std::min(value.nominal, cap.nominal);
  value.low = std::min(value.low, cap.low);
  value.high = std::min(value.high, cap.high);
  return value;
}

Banded times(const Banded& value, double factor) {
  return {value.nominal * factor, value.low * factor, value.high * factor, value.source, value.guess};
}

struct Modes {
  double slide, lift, peel;
  double least() const { return std::min({slide, lift, peel}); }
  Give first() const {
    if (least() == kInfinite)
      return Give::none;
    return least() == peel ? Give::peels : least() == lift ? Give::lifts : Give::slides;
  }
};

Modes tape_modes(double tension_kPa, double shear_kPa, double peel_N_mm, const Footprint& f,
                 const PieceLoad& load) {
  return {over(shear_kPa / 1000 * f.held_mm2, load.lateral_N),
          over(tension_kPa / 1000 * f.held_mm2, load.lift_N),
          over(peel_N_mm * f.edge_mm * f.base_mm, load.moment_N_mm)};
}

/// Vacuum and friction: lift takes away from the pressure that friction lives on, tipping works against the
/// clamping force at half the base.
Modes vacuum_modes(double clamp_kPa, double friction, const Footprint& f, const PieceLoad& load) {
  const double clamp = clamp_kPa / 1000 * f.held_mm2, lift = std::max(load.lift_N, 0.0);
  return {over(friction * clamp, load.lateral_N + friction * lift), over(clamp, lift),
          over(clamp * f.base_mm / 2, load.moment_N_mm)};
}

void require_finite(const Footprint& f, const PieceLoad& load) {
  snagmap::require_finite("footprint and load of a piece", f.held_mm2, f.edge_mm, f.base_mm, load.lateral_N,
                          load.lift_N, load.moment_N_mm);
}

} // namespace

const char* to_text(Give give) {
  switch (give) {
  case Give::none:
    return "holds";
  case Give::slides:
    return "slides";
  case Give::lifts:
    return "lifts";
  case Give::peels:
    return "peels from an edge";
  }
  return "";
}

TapeStrength tape_on(const FoamCard& foam) {
  const double share = foam.open_cell ? 0.5 : 1;
  const char* source = "design value for double-coated tape on clean foam, a guess";
  return capped_by(foam, {times({30, 15, 100, source, true}, share), times({20, 10, 60, source, true}, share),
                          times({0.1, 0.05, 0.32, source, true}, share)});
}

TapeStrength capped_by(const FoamCard& foam, TapeStrength tape) {
  tape.tension_kPa = at_most(tape.tension_kPa, foam.tensile_kPa);
  // Foam tears in shear at about half its tensile strength (from memory).
  tape.shear_kPa = at_most(tape.shear_kPa, times(foam.tensile_kPa, 0.5));
  tape.peel_N_mm = at_most(tape.peel_N_mm, times(foam.Gc_N_mm, peel_force_N_mm(1, kPeelAngle)));
  return tape;
}

Safety tape_safety(const TapeStrength& tape, const Footprint& footprint, const PieceLoad& load) {
  require_finite(footprint, load);
  const auto modes = [&](double Banded::*end) {
    return tape_modes(tape.tension_kPa.*end, tape.shear_kPa.*end, tape.peel_N_mm.*end, footprint, load);
  };
  const Modes nominal = modes(&Banded::nominal);
  return {nominal.least(), modes(&Banded::low).least(), modes(&Banded::high).least(), nominal.first()};
}

Banded clamping_kPa(const FoamCard& foam, Film film, double vacuum_kPa) {
  require_finite("vacuum", vacuum_kPa);
  Banded pump{vacuum_kPa, vacuum_kPa, vacuum_kPa, "the pump", false};
  if (!foam.open_cell)
    return pump;
  if (film == Film::on_top) {
    Banded collapse = times(foam.E_kPa, kCollapseStrain);
    collapse.source = "collapse stress 0.05 E (Gibson and Ashby 1997)";
    return vacuum_kPa < collapse.low ? pump : at_most(collapse, pump);
  }
  if (film == Film::under)
    return at_most(pump, tape_on(foam).tension_kPa);
  // What seeps through bare open cells drops a few hundred Pa at most (Darcy with flow resistivities of
  // Allard and Atalla 2009, 100 m3/h through 0.36 m2 of 50 mm foam): nothing that holds.
  return {0, 0, 0, "Darcy flow through open cells", false};
}

Safety vacuum_safety(const Banded& clamping_kPa, const Footprint& footprint, const PieceLoad& load) {
  require_finite(footprint, load);
  const auto modes = [&](double Banded::*end) {
    return vacuum_modes(clamping_kPa.*end, kFriction.*end, footprint, load);
  };
  const Modes nominal = modes(&Banded::nominal);
  return {nominal.least(), modes(&Banded::low).least(), modes(&Banded::high).least(), nominal.first()};
}

double peel_energy_N_mm(double force_N_mm, double angle_deg) {
  require_finite("peel force and angle", force_N_mm, angle_deg);
  return force_N_mm * (1 - std::cos(angle_deg * kRadPerDeg));
}

double peel_force_N_mm(double energy_N_mm, double angle_deg) {
  require_finite("peel energy", energy_N_mm);
  return energy_N_mm / peel_energy_N_mm(1, angle_deg);
}

} // namespace snagmap
