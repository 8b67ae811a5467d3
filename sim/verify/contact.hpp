// Where the flutes lie against the wall's true surface, and what the nodes round it carry of the load.
#pragma once

#include "sim/verify/patch.hpp"

#include <optional>
#include <vector>

namespace snagmap {

/// Finds the contact slice by slice: four places in each part of a slice between the mesh's planes. The load
/// of a millimetre of contact stays what it is where foam is missing, at an end or a hole: S is then that of
/// the share of the contact that has foam (its root on the load and its root on what is read).
class ContactFinder {
public:
  /// Foam further than `deep_mm` behind the face's foremost place is out of the flutes' reach.
  ContactFinder(const RemovalRecord& record, const WebPatch& patch, Instant t, double b_p_mm, double deep_mm);
  /// Between two heights over the patch's low plane; the share of it that has foam.
  double find(double low, double high, int slice, std::vector<ContactPlace>& places) const;

private:
  /// Of the foam next behind the face's plane.
  std::optional<double> surface(double x, double z, double deep_mm) const;
  /// From inside the cutter, whose half the contact is no wider than.
  double ahead_mm() const;
  /// How far behind the face's plane the wall stands in the middle of the load: no further than half its
  /// thickness; what is beyond is seen through a hole.
  double middle_mm(double z) const;

  const RemovalRecord& record_;
  const WebPatch& patch_;
  Instant t_;
  double deep_mm_, b_p_mm_;
  std::vector<double> along_, up_, x_;
  double face_;
};

/// Puts loads and readings on the nodes round the contact's places, and names the face's nodes.
void set_loads(WebPatch& patch);

} // namespace snagmap
