// From readings to a foam card of the user's own: Lambda, modulus, fracture energy, each with its band.
#pragma once

#include "sim/trust/fit_note.hpp"
#include "sim/trust/readings.hpp"

#include <functional>
#include <string>
#include <vector>

namespace snagmap {

struct BandChange {
  std::string name; ///< "Lambda", "modulus", "tear energy"
  Dimension dimension = Dimension::share;
  Banded before, after;
  /// Width of the band after over before, as logarithms: 0.4 says it shrank to 40 %. 1 when a one-sided bound
  /// did not move it; above 1 when the readings scatter more than the card supposed.
  double width_share = 1;
};

struct ReadingsFit {
  FoamCard card; ///< the user's own, with its history
  LambdaFit lambda;
  std::vector<BandChange> bands;
  std::vector<FitNote> disagree; ///< which readings contradict the model or each other
  std::vector<FitNote>
      notes; ///< what else to know: one-sided bounds, rows left empty, walls thinner than cut
  std::optional<Banded> peel_N_mm; ///< of the tape pull, for a scene's [hold_down]
};

/// E of a web from the lean of its top edge under a mass hung from it at mid length: the compliance formula
/// solved for E. Band: the formula's own against finite elements, 0.76 to 1.31 with free ends; with built-in
/// ends it is 1.1 to 2 times too soft.
Banded modulus_from_lean_kPa(const TestPiece& piece, const PieceWall& wall, double load_g, double lean_mm);

/// Lambda by fit_lambda from the walls as they were measured, with a scatter of 10 % in S or as much more as
/// they show (scatter_of); over both where two cutters contradict; not at all where the order of the walls is
/// reversed. Every warning goes into the card's history by `words`; modulus as the weighted mean of its
/// readings, its error widened by the Birge ratio where they scatter more than their own errors (Birge 1932);
/// tear energy as the geometric mean. Lambda follows a new modulus or tear energy as Gc/E only where no wall
/// was read.
ReadingsFit fit_readings(const Readings& readings, const std::function<std::string(const FitNote&)>& words);

} // namespace snagmap
