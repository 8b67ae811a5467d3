// Which walls a test piece has: graded round the edge that the foam's band allows. Private to the coupon.
#pragma once

#include "sim/trust/coupon.hpp"

#include <cmath>

namespace snagmap {

constexpr double kLeft_mm = 16; ///< foam left of the piece's walls
constexpr double kThinnest_cells = 4, kThickest_mm = 30;
constexpr double kSolidShare =
    0.7; ///< finite elements over the formula, walls with built-in ends: the first guess

/// Gamma by finite elements over the formula's, as it goes with thickness.
struct SolidShare {
  double log_at_1_mm = std::log(kSolidShare), power = 0;
  double operator()(double w_mm) const { return std::exp(log_at_1_mm + power * std::log(w_mm)); }
};

struct CouponPlan {
  Coupon coupon;
  std::vector<SolidShare> share; ///< of each row
};

/// Chooses the walls of all rows together: the span round the card's band that is expected to narrow it most.
void choose_walls(CouponPlan& plan, double room_mm, double jobs_width_mm);

} // namespace snagmap
