// The cutter as bodies of revolution: what height its surface has at a distance from the axis.
#pragma once

#include "models/base/fault.hpp"
#include "models/cards/cutter.hpp"

#include <vector>

namespace snagmap {

/// Underside of a body over the distance d from the axis: a flat base, then rising lines and circular arcs.
/// The upper side is kept as the underside of the body turned upside down (heights negated).
class ProfileCurve {
public:
  ProfileCurve() = default;
  ProfileCurve(double base_radius, double base_z)
      : base_r_(base_radius), base_z_(base_z), radius_(base_radius) {}
  /// Straight on to (r, z), outward and up.
  void line_to(double r, double z);
  /// On to (r, z) by the lower right quarter of a circle about (centre_r, centre_z), or part of it: bulging.
  void bulge_to(double r, double z, double centre_r, double centre_z);

  double radius() const { return radius_; }
  bool flat() const { return pieces_.empty(); }
  /// Distance in the half plane from (r, z) to the curve, flat base included; never negative.
  double distance(double r, double z) const;
  /// Height at distance d, 0 <= d <= radius().
  double at(double d) const;
  /// Largest distance whose height is not above z; negative when there is none.
  double radius_at(double z) const;
  /// Least of slope * x + at(sqrt(h^2 + x^2)) over x0..x1, to 1e-9 mm: closed forms for flats, cones and
  /// balls, the root of the (rising) derivative for tori. The distance must stay within radius().
  double lowest(double slope, double h, double x0, double x1) const;

private:
  struct Piece {
    double r0, z0, r1, z1;
    bool arc;
    double cr, cz, rho; // arcs: z = cz - sqrt(rho^2 - (d - cr)^2)
    /// Where an arc at a distance h from the way rises as steeply as the way falls (k), between two places.
    double as_steep_as(double k, double h, double near, double far) const;
  };
  static double on(const Piece& piece, double d);
  double base_r_ = 0, base_z_ = 0, radius_ = 0, end_z_ = 0;
  std::vector<Piece> pieces_;
};

/// A part of a zone that every vertical line meets in one piece at most.
struct BodyPart {
  Zone zone = Zone::flutes;
  double radius = 0;        ///< largest
  double low = 0, high = 0; ///< lowest and highest point over the tip
  bool flat = true;         ///< a cylinder
  bool convex = true;
  bool ball = false;        ///< a half ball under a cylinder of its own radius, at least as long
  ProfileCurve under, over; ///< `over` upside down
  /// Radius of the cut at a height over the tip; negative when the height misses the part.
  double radius_at(double z) const;
  /// Signed distance in the half plane (r, z over the tip) to the part's surface, negative inside.
  double distance(double r, double z) const;
};

/// The flutes cut, the rest may only touch.
struct Body {
  std::vector<BodyPart> flutes, others;
  double flute_radius = 0, flute_low = 0, flute_high = 0; ///< around all flute parts
  bool flat = true;                                       ///< all flute parts are cylinders
};

/// Faults: no flutes, a profile that does not rise, arcs that turn back.
Outcome<Body> body_of(const CutterCard& card);

} // namespace snagmap
