#include "sim/verify/layers.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numeric>

namespace snagmap {

std::vector<double> growing(double first_mm, double most_mm, double length_mm, double growth) {
  std::vector<double> edges;
  double sum = 0;
  for (double edge = first_mm; sum < length_mm * (1 - 1e-9);) {
    edge = std::min(growth * edge, std::max(most_mm, first_mm));
    edges.push_back(edge), sum += edge;
  }
  for (double& edge : edges)
    edge *= length_mm / sum;
  return edges;
}

std::vector<double> from_load(double end_mm, double edge_mm, double half_load_mm, double most_mm,
                              double growth) {
  const double alike_mm = (std::ceil(half_load_mm / edge_mm - 1e-9) + 1) * edge_mm;
  if (end_mm <= alike_mm + edge_mm) {
    const int count = std::max(1, int(std::ceil(end_mm / edge_mm - 1e-9)));
    return std::vector<double>(std::size_t(count), end_mm / count);
  }
  std::vector<double> edges(std::size_t(std::lround(alike_mm / edge_mm)), edge_mm);
  const std::vector<double> off = growing(edge_mm, most_mm, end_mm - alike_mm, growth);
  edges.insert(edges.end(), off.begin(), off.end());
  return edges;
}

void Layers::alike(int count, double edge_mm) {
  edges_.insert(edges_.end(), std::size_t(count), edge_mm);
}
void Layers::outward_up(const std::vector<double>& edges) {
  edges_.insert(edges_.end(), edges.begin(), edges.end());
}
void Layers::outward_down(const std::vector<double>& edges) {
  edges_.insert(edges_.end(), edges.rbegin(), edges.rend());
}

double Layers::length_of(int count) const {
  return std::accumulate(edges_.begin(), edges_.begin() + count, 0.0);
}

void Layers::move_plane_to(double place, int kept) {
  double plane = 0;
  for (int n = 0; n + 1 < count(); ++n) {
    double &low = edges_[std::size_t(n)], &high = edges_[std::size_t(n) + 1];
    plane += low;
    const double by = place - plane;
    if (n + 1 == kept || std::abs(by) < 1e-6 || by > 0.5 * high + 1e-9 || by < -0.5 * low - 1e-9)
      continue;
    low += by, high -= by;
    return;
  }
}

std::vector<double> Layers::divided(int finer) const {
  std::vector<double> all;
  for (const double edge : edges_)
    all.insert(all.end(), std::size_t(finer), edge / finer);
  return all;
}

} // namespace snagmap
