// Planes of a mesh along one axis: fine at the contact, growing away from it.
#pragma once

#include <vector>

namespace snagmap {

/// Edges that grow outward from one of `first_mm` by `growth` a brick up to `most_mm`, over `length_mm` in
/// all.
std::vector<double> growing(double first_mm, double most_mm, double length_mm, double growth);

/// Edges from the middle of a load outward: alike under the load and one further, then growing, to the end.
std::vector<double> from_load(double end_mm, double edge_mm, double half_load_mm, double most_mm,
                              double growth);

/// Layers of bricks along one axis, from low to high.
class Layers {
public:
  void alike(int count, double edge_mm);
  void outward_up(const std::vector<double>& edges);
  void outward_down(const std::vector<double>& edges);
  int count() const { return int(edges_.size()); }
  /// Of the first ones.
  double length_of(int count) const;
  /// Moves the nearest plane between two layers to a place, but for `kept`: no layer gets thinner than half.
  void move_plane_to(double place, int kept);
  /// Each in `finer` parts.
  std::vector<double> divided(int finer) const;

private:
  std::vector<double> edges_;
};

} // namespace snagmap
