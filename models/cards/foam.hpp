// Foam cards: what a soft foam is like, each value with its range and source.
#pragma once

#include "models/base/fault.hpp"
#include "models/cards/banded.hpp"

#include <optional>
#include <string>
#include <vector>

namespace snagmap {

enum class FoamKind { polyurethane, polyethylene, eva, polystyrene };

struct FoamCard {
  std::string name;  ///< key in scenes, e.g. "pu-22"
  std::string title; ///< "open-cell polyurethane, 22 kg/m3"
  FoamKind kind = FoamKind::polyurethane;
  bool open_cell = true;
  bool special = false; ///< a make of its own: not used to interpolate its kind by density
  double density_kg_m3 = 0;
  Banded E_kPa;   ///< small-strain static Young's modulus
  Banded nu;      ///< Poisson's ratio
  Banded Gc_N_mm; ///< fracture energy from tear data (1 N/mm = 1 kJ/m2)
  Banded tensile_kPa;
  Banded bite_depth_mm;  ///< delta: depth at which the bite load saturates
  Banded lambda;         ///< Lambda = k_s/E, dimensionless: the one number the band of S comes from
  Banded cell_mm;        ///< cell size
  Banded cut_force_N_mm; ///< saturated tangential cutting force per mm of engaged edge
  Banded severing_MJ_m3; ///< u_v, severing work per volume (MJ/m3 = N/mm2)
  Banded loss_factor;
  std::vector<std::string> history; ///< of a user's own card: what was measured, when
};

const char* to_text(FoamKind kind);

/// The catalogue, softest first.
const std::vector<FoamCard>& foam_cards();
std::optional<FoamCard> find_foam(const std::string& name);
/// A card for a kind and a density by interpolation between the ordinary cards of that kind, with a wider
/// band. Fault (no place) when the density lies too far outside the kind's cards.
Outcome<FoamCard> interpolated_foam(FoamKind kind, double density_kg_m3);
/// The card with the user's own modulus or fracture energy. Lambda follows as Gc/E and keeps its relative
/// band: the bite constant, not the modulus, is what the band is about.
FoamCard with_own_values(FoamCard card, const std::optional<Banded>& E_kPa,
                         const std::optional<Banded>& Gc_N_mm);

} // namespace snagmap
