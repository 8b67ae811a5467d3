#include "sim/verify/low_rank.hpp"

#include <cmath>

namespace snagmap {

SliceVector times(const SliceMatrix& matrix, const SliceVector& pattern) {
  SliceVector out{};
  for (std::size_t i = 0; i < kSlices; ++i)
    for (std::size_t j = 0; j < kSlices; ++j)
      out[i] += matrix[i * kSlices + j] * pattern[j];
  return out;
}

double dot(const SliceVector& a, const SliceVector& b) {
  double sum = 0;
  for (std::size_t i = 0; i < kSlices; ++i)
    sum += a[i] * b[i];
  return sum;
}

void add_pattern(SliceVector pattern, std::vector<SliceVector>& patterns) {
  const double whole = std::sqrt(dot(pattern, pattern));
  for (int twice = 0; twice < 2; ++twice) // rounding
    for (const SliceVector& before : patterns) {
      const double along = dot(pattern, before);
      for (std::size_t i = 0; i < kSlices; ++i)
        pattern[i] -= along * before[i];
    }
  const double length = std::sqrt(dot(pattern, pattern));
  if (!(length > 1e-6 * whole))
    return;
  for (double& entry : pattern)
    entry /= length;
  patterns.push_back(pattern);
}

std::vector<SliceVector> smooth_patterns(int count, const SliceVector& weight) {
  std::vector<SliceVector> patterns;
  for (int power = 0; power < count; ++power) {
    SliceVector p;
    for (std::size_t i = 0; i < kSlices; ++i)
      p[i] = weight[i] * std::pow((2.0 * double(i) + 1) / kSlices - 1, power);
    add_pattern(p, patterns);
  }
  return patterns;
}

SliceMatrix with_known(const SliceMatrix& guess, const std::vector<SliceVector>& patterns,
                       const std::vector<SliceVector>& answers) {
  double known = 0, guessed = 0;
  for (std::size_t n = 0; n < patterns.size(); ++n) {
    known += dot(patterns[n], answers[n]);
    guessed += dot(patterns[n], times(guess, patterns[n]));
  }
  SliceMatrix matrix = guess;
  for (double& entry : matrix)
    entry *= guessed > 0 && known > 0 ? known / guessed : 1;
  std::vector<SliceVector> off; // of each pattern: what the guess misses
  for (std::size_t n = 0; n < patterns.size(); ++n) {
    off.push_back(answers[n]);
    const SliceVector by_guess = times(matrix, patterns[n]);
    for (std::size_t i = 0; i < kSlices; ++i)
      off[n][i] -= by_guess[i];
  }
  // K + D V' + V D' - V (V' D) V'
  for (std::size_t n = 0; n < patterns.size(); ++n)
    for (std::size_t i = 0; i < kSlices; ++i)
      for (std::size_t j = 0; j < kSlices; ++j)
        matrix[i * kSlices + j] += off[n][i] * patterns[n][j] + patterns[n][i] * off[n][j];
  for (std::size_t n = 0; n < patterns.size(); ++n)
    for (std::size_t m = 0; m < patterns.size(); ++m) {
      const double across = 0.5 * (dot(patterns[n], off[m]) + dot(patterns[m], off[n])); // the solve's rest
      for (std::size_t i = 0; i < kSlices; ++i)
        for (std::size_t j = 0; j < kSlices; ++j)
          matrix[i * kSlices + j] -= across * patterns[n][i] * patterns[m][j];
    }
  return matrix;
}

} // namespace snagmap
