// Hold-down of a sheet or a freed piece: tape and vacuum, and the factor of safety against the cutter's pull.
#pragma once

#include "models/cards/banded.hpp"
#include "models/cards/foam.hpp"

#include <string>

namespace snagmap {

/// What pulls at the piece, N and N mm.
struct PieceLoad {
  double lateral_N = 0;
  double lift_N = 0;      ///< up; negative presses the piece down and counts as none
  double moment_N_mm = 0; ///< of the lateral force about the piece's edge: force x height
};

/// The footprint that resists it.
struct Footprint {
  double held_mm2 = 0; ///< taped or sucked area
  double edge_mm = 0;  ///< length of the edge peel would start from
  double base_mm = 0;  ///< width of the base across that edge
};

/// The way a hold gives first.
enum class Give { none, slides, lifts, peels };
const char* to_text(Give give);

/// Strength over load: 1 is the edge. Infinite without load. The band comes from the hold's ranges, low with
/// low.
struct Safety {
  double nominal = 0, low = 0, high = 0;
  Give give = Give::none; ///< of the nominal factor
};

/// Strengths of a double-coated tape on this foam (design values, a guess; half for open-cell foam), capped
/// by the foam's own tensile strength and, for peel, by tearing the foam instead of the tape.
struct TapeStrength {
  Banded tension_kPa, shear_kPa, peel_N_mm;
};
TapeStrength tape_on(const FoamCard& foam);
/// The same caps on tape values given by the user.
TapeStrength capped_by(const FoamCard& foam, TapeStrength tape);

Safety tape_safety(const TapeStrength& tape, const Footprint& footprint, const PieceLoad& load);

/// Where the film is when foam is held by vacuum.
enum class Film { none, on_top, under };

/// Pressure that really clamps the foam, kPa, when the pump holds `vacuum_kPa` below the air's.
/// Closed cell: all of it on the sealed area. Film bonded under open cells: all of it, limited by the bond.
/// Film on top: the skeleton carries it, so no more than its collapse stress 0.05 E. Bare open cells:
/// none, air seeps through them.
Banded clamping_kPa(const FoamCard& foam, Film film, double vacuum_kPa);
Safety vacuum_safety(const Banded& clamping_kPa, const Footprint& footprint, const PieceLoad& load);

/// Kendall 1975: energy released when tape is peeled at `angle_deg` by a force per width, N/mm (= kJ/m2).
double peel_energy_N_mm(double force_N_mm, double angle_deg);
/// The force per width that peels at that energy.
double peel_force_N_mm(double energy_N_mm, double angle_deg);

} // namespace snagmap
