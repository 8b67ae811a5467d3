// Lambda from a test piece: walls that held, were marked or tore, weighed by a stated likelihood.
#pragma once

#include "models/cards/foam.hpp"

#include <string>
#include <vector>

namespace snagmap {

enum class WallOutcome { held, marked, torn };

/// One wall of the test piece: what the model says of its shape, and what happened to it.
struct WallReading {
  double gamma = 0;
  WallOutcome outcome = WallOutcome::held;
};

/// What is believed before the readings: Lambda log-uniform between these.
struct LambdaPrior {
  double low = 0, high = 0;
};
/// Five times wider than the card's band either way, so that the readings, not the card, decide.
LambdaPrior wide_prior(const FoamCard& foam);

enum class Bounds { both, upper_only, lower_only, none };

struct LambdaFit {
  Bounds bounds = Bounds::none;
  double nominal = 0; ///< median; 0 when one-sided
  double low = 0,
         high = 0; ///< 5 % and 95 % points; one-sided: 0 and the 95 % bound, or the bound and infinity
  std::vector<int> disagree; ///< readings that the others make less likely than one in a hundred
};

/// Ordered outcomes with log-normal scatter: a wall holds while Lambda Gamma exp(noise e) < 1, is marked up
/// to m, tears beyond; e standard normal, independent from wall to wall. m is not known: averaged over,
/// log-uniform from 1.1 to 4. Exact on a grid. When every wall held, or none did, only a bound is given: the
/// Lambda at which that becomes less likely than 5 %; no prior enters there.
LambdaFit fit_lambda(const std::vector<WallReading>& readings, const LambdaPrior& prior, double noise = 0.1);

/// The scatter by which the readings are weighed: 0.1, or where a wider one makes them a hundred times
/// likelier the likeliest up to 1.5. What contradicts itself then bounds Lambda less.
double scatter_of(const std::vector<WallReading>& readings, const LambdaPrior& prior);

/// Share of the pairs of a wall that held and one that did not in which the weaker one held: 0 as it should
/// be, one half by chance, 1 when the order is reversed. 0 without such a pair.
double reversed_share(const std::vector<WallReading>& readings);

/// Logarithm of the readings' likelihood, averaged over the prior: two ways to read one test piece are
/// weighed by the difference of theirs.
double log_evidence(const std::vector<WallReading>& readings, const LambdaPrior& prior, double noise = 0.1);

/// Mean of the fitted band's width (high over low, as a logarithm) over the prior's: how much a test piece
/// with walls of these Gammas may be expected to narrow the band. Drawn with a fixed seed; 1 is no gain.
double expected_narrowing(const std::vector<double>& gammas, const LambdaPrior& prior, double noise = 0.1);

/// The card with the fitted Lambda and a line of history. One-sided fits move only the end they bound.
FoamCard with_fit(FoamCard card, const LambdaFit& fit, const std::string& what_was_cut);

} // namespace snagmap
