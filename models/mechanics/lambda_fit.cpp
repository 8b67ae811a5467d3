#include "models/mechanics/lambda_fit.hpp"

#include "models/base/crossing.hpp"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <limits>
#include <random>

namespace snagmap {
namespace {

constexpr int kGrid = 300;     // points of ln Lambda
constexpr int kMarkedGrid = 8; // points of ln m
constexpr double kLeastMarked = 1.1, kMostMarked = 4;
constexpr double kTail = 0.05; // each side of the band
constexpr double kUnlikely = 0.01;
constexpr double kFloor = 1e-12; // least probability of an outcome: misreadings happen

double normal_below(double x) {
  return 0.5 * std::erfc(-x / std::sqrt(2.0));
}

/// Probability of an outcome when ln S is `log_s`.
double likelihood(WallOutcome outcome, double log_s, double log_m, double noise) {
  const double holds = normal_below(-log_s / noise);
  if (outcome == WallOutcome::held)
    return std::max(holds, kFloor);
  const double tears = normal_below((log_s - log_m) / noise);
  return std::max(outcome == WallOutcome::torn ? tears : 1 - holds - tears, kFloor);
}

std::vector<double> log_grid(double low, double high, int n) {
  std::vector<double> grid(n);
  for (int i = 0; i < n; ++i)
    grid[i] = std::log(low) + (std::log(high) - std::log(low)) * (i + 0.5) / n;
  return grid;
}

/// Lambda at which the chance that every wall held (or that none did) has fallen to the tail.
double bound_of(const std::vector<WallReading>& readings, double noise, bool all_held) {
  const auto below = [&](double log_lambda) {
    double log_chance = 0;
    for (const WallReading& r : readings) {
      const double log_s = log_lambda + std::log(r.gamma);
      log_chance += std::log(std::max(normal_below((all_held ? -log_s : log_s) / noise), 1e-300));
    }
    return all_held ? log_chance >= std::log(kTail) : log_chance <= std::log(kTail);
  };
  return std::exp(crossing(-30, 30, below).middle());
}

/// Log-likelihood of all readings over the grid of ln Lambda (rows) and ln m (columns).
struct Posterior {
  std::vector<double> grid, marks, log_sum;
  double noise;

  Posterior(const std::vector<WallReading>& readings, const LambdaPrior& prior, double noise_share)
      : grid(log_grid(prior.low, prior.high, kGrid)), marks(log_grid(kLeastMarked, kMostMarked, kMarkedGrid)),
        log_sum(grid.size() * marks.size(), 0), noise(noise_share) {
    for (const WallReading& r : readings)
      for (std::size_t c = 0; c < log_sum.size(); ++c)
        log_sum[c] += std::log(chance(r, c));
  }
  double chance(const WallReading& r, std::size_t cell) const {
    return likelihood(r.outcome, grid[cell / marks.size()] + std::log(r.gamma), marks[cell % marks.size()],
                      noise);
  }
  /// Lambda below which the share of the posterior lies, m averaged over; between grid points linear in ln
  /// Lambda.
  double quantile(double share) const {
    const double most = *std::max_element(log_sum.begin(), log_sum.end());
    std::vector<double> weight(grid.size(), 0);
    double total = 0, below = 0;
    for (std::size_t c = 0; c < log_sum.size(); ++c)
      weight[c / marks.size()] += std::exp(log_sum[c] - most);
    for (double w : weight)
      total += w;
    for (std::size_t i = 0; i < grid.size(); ++i) {
      if (below + weight[i] >= share * total)
        return std::exp(grid[i] + (grid[1] - grid[0]) * ((share * total - below) / weight[i] - 0.5));
      below += weight[i];
    }
    return std::exp(grid.back());
  }
  /// How likely all the other readings make this one.
  double from_the_others(const WallReading& r) const {
    std::vector<double> own(log_sum.size());
    double best = -std::numeric_limits<double>::infinity(), with = 0, without = 0;
    for (std::size_t c = 0; c < own.size(); ++c)
      own[c] = chance(r, c), best = std::max(best, log_sum[c] - std::log(own[c]));
    for (std::size_t c = 0; c < own.size(); ++c) {
      const double weight = std::exp(log_sum[c] - best) / own[c];
      without += weight, with += weight * own[c];
    }
    return with / without;
  }
};

/// The fit without the check of each reading against the others.
LambdaFit bounds_of(const std::vector<WallReading>& readings, const LambdaPrior& prior, double noise) {
  LambdaFit fit;
  if (readings.empty())
    return fit;
  std::size_t held = 0;
  for (const WallReading& r : readings)
    held += r.outcome == WallOutcome::held;
  if (held == readings.size() || held == 0) {
    fit.bounds = held ? Bounds::upper_only : Bounds::lower_only;
    const double bound = bound_of(readings, noise, held > 0);
    fit.low = held ? 0 : bound, fit.high = held ? bound : std::numeric_limits<double>::infinity();
    return fit;
  }

  const Posterior posterior(readings, prior, noise);
  fit.bounds = Bounds::both;
  fit.nominal = posterior.quantile(0.5);
  fit.low = posterior.quantile(kTail), fit.high = posterior.quantile(1 - kTail);
  return fit;
}

} // namespace

LambdaPrior wide_prior(const FoamCard& foam) {
  return {foam.lambda.low / 5, foam.lambda.high * 5};
}

LambdaFit fit_lambda(const std::vector<WallReading>& readings, const LambdaPrior& prior, double noise) {
  LambdaFit fit = bounds_of(readings, prior, noise);
  if (fit.bounds != Bounds::both)
    return fit;
  const Posterior posterior(readings, prior, noise);
  for (std::size_t r = 0; r < readings.size(); ++r)
    if (posterior.from_the_others(readings[r]) < kUnlikely)
      fit.disagree.push_back(static_cast<int>(r));
  return fit;
}

double scatter_of(const std::vector<WallReading>& readings, const LambdaPrior& prior) {
  constexpr double kUsual = 0.1, kWider[] = {0.15, 0.2, 0.3, 0.45, 0.7, 1, 1.5};
  const double as_usual = log_evidence(readings, prior, kUsual);
  double best = kUsual, most = as_usual + std::log(100);
  for (const double scatter : kWider) {
    const double evidence = log_evidence(readings, prior, scatter);
    if (evidence > most)
      most = evidence, best = scatter;
  }
  return best;
}

double reversed_share(const std::vector<WallReading>& readings) {
  double reversed = 0, pairs = 0;
  for (const WallReading& held : readings)
    for (const WallReading& went : readings) {
      if (held.outcome != WallOutcome::held || went.outcome == WallOutcome::held)
        continue;
      ++pairs;
      reversed += held.gamma > went.gamma ? 1 : held.gamma == went.gamma ? 0.5 : 0;
    }
  return pairs > 0 ? reversed / pairs : 0;
}

double log_evidence(const std::vector<WallReading>& readings, const LambdaPrior& prior, double noise) {
  const Posterior posterior(readings, prior, noise);
  const double most = *std::max_element(posterior.log_sum.begin(), posterior.log_sum.end());
  double sum = 0;
  for (const double l : posterior.log_sum)
    sum += std::exp(l - most);
  return most + std::log(sum / static_cast<double>(posterior.log_sum.size()));
}

double expected_narrowing(const std::vector<double>& gammas, const LambdaPrior& prior, double noise) {
  constexpr int kDraws = 64;
  std::mt19937_64 random(1);
  // Own uniform and normal numbers: the library's distributions differ between compilers.
  const auto uniform = [&] { return (static_cast<double>(random() >> 11) + 0.5) / 9007199254740992.0; };
  const auto normal = [&] {
    return std::sqrt(-2 * std::log(uniform())) * std::cos(6.28318530717958647692 * uniform());
  };
  const double width = std::log(prior.high / prior.low);
  double sum = 0;
  for (int k = 0; k < kDraws; ++k) {
    const double log_lambda = std::log(prior.low) + width * (k + 0.5) / kDraws;
    const double log_m = std::log(kLeastMarked) + std::log(kMostMarked / kLeastMarked) * uniform();
    std::vector<WallReading> readings;
    for (double gamma : gammas) {
      const double log_s = log_lambda + std::log(gamma) + noise * normal();
      readings.push_back({gamma, log_s < 0       ? WallOutcome::held
                                 : log_s < log_m ? WallOutcome::marked
                                                 : WallOutcome::torn});
    }
    const LambdaFit fit = bounds_of(readings, prior, noise);
    const double low = std::max(fit.low, prior.low), high = std::min(fit.high, prior.high);
    sum += fit.bounds == Bounds::none ? 1 : std::log(std::max(high / low, 1.0)) / width;
  }
  return sum / kDraws;
}

FoamCard with_fit(FoamCard card, const LambdaFit& fit, const std::string& what_was_cut) {
  Banded& lambda = card.lambda;
  const Banded before = lambda;
  switch (fit.bounds) {
  case Bounds::none:
    return card;
  case Bounds::both:
    lambda.nominal = fit.nominal, lambda.low = fit.low, lambda.high = fit.high;
    break;
  case Bounds::upper_only:
    lambda.high = std::min(lambda.high, fit.high);
    lambda.low = std::min(lambda.low, lambda.high), lambda.nominal = std::min(lambda.nominal, lambda.high);
    break;
  case Bounds::lower_only:
    lambda.low = std::max(lambda.low, fit.low);
    lambda.high = std::max(lambda.high, lambda.low), lambda.nominal = std::max(lambda.nominal, lambda.low);
    break;
  }
  lambda.source = "measured: " + what_was_cut, lambda.guess = false;
  card.history.push_back(fmt::format("{}: Lambda {:.4g} ({:.4g} to {:.4g}), before {:.4g} ({:.4g} to {:.4g})",
                                     what_was_cut, lambda.nominal, lambda.low, lambda.high, before.nominal,
                                     before.low, before.high));
  return card;
}

} // namespace snagmap
