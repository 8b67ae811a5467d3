// What the files of removed.hpp share: the rule along lines and ways, and what counts as rounding.
#pragma once

#include "models/base/vec.hpp"

#include <array>
#include <cstddef>
#include <vector>

namespace snagmap::removed_rule {

constexpr double kTwoPi = 6.283185307179586476925286766559;
constexpr double kOn_mm = 1e-7;       // nearer than this two places are one
constexpr double kThinnest_mm = 1e-9; // thinner is rounding

/// Gauss's places on 0..1 after x -> x^2 (3 - 2 x), which makes square roots at both ends smooth; weights
/// with the map's slope. Constants and straight lines stay exact: the map is even about the middle.
struct Rule {
  std::vector<double> at, weight;
};
inline Rule rule_of(const std::vector<double>& places, const std::vector<double>& weights) { // of -1..1
  Rule r;
  double sum = 0;
  for (std::size_t k = 0; k < places.size(); ++k) {
    const double x = 0.5 * (1 + places[k]);
    r.at.push_back(x * x * (3 - 2 * x));
    r.weight.push_back(weights[k] * x * (1 - x));
    sum += r.weight.back();
  }
  for (double& weight : r.weight)
    weight /= sum;
  return r;
}
// Abramowitz and Stegun, table 25.4.
inline const Rule kFive =
    rule_of({-0.906179845938664, -0.538469310105683, 0, 0.538469310105683, 0.906179845938664},
            {0.236926885056189, 0.478628670499366, 0.568888888888889, 0.478628670499366, 0.236926885056189});

// The rule of three on the first, third and fifth of the same places (weights by interpolation, the map's
// slope 6 x (1 - x) has the second moment 1/20): what it tells apart from the rule of five is an estimate of
// the error that costs no further place.
constexpr double kOuterOfThree = 0.05 / (0.5 * 0.906179845938664 * 0.906179845938664);
constexpr std::array<double, 5> kThreeOfFive{kOuterOfThree, 0, 1 - 2 * kOuterOfThree, 0, kOuterOfThree};

inline Vec2 unit(double angle) {
  return {std::cos(angle), std::sin(angle)};
}

} // namespace snagmap::removed_rule
