// How far a thin foam web gives way: the formula of sections 4 of the snag model, dimensionless.
#pragma once

#include <array>
#include <vector>

namespace snagmap {

enum class WebEnd { free, built_in };
const char* to_text(WebEnd end);

constexpr int kSlices =
    12; ///< slices of the flute contact; 12 give 0.4 % under 48 at most (checked in tests)
constexpr unsigned kAllSlices = (1u << kSlices) - 1;

/// A web as one set of numbers. Lengths in mm and all positive; only ratios matter to Gamma. What is not
/// finite is refused by every function here (models/base/finite.hpp).
struct Web {
  double w_mm = 0;             ///< thickness (mean over the lowest half: bending is governed by the root)
  double h_mm = 0;             ///< free height above the higher of the two floors
  double d1_mm = 0, d2_mm = 0; ///< from the load to each end of the web
  WebEnd end1 = WebEnd::free, end2 = WebEnd::free;
  double b_p_mm = 0; ///< contact length along the wall
  double nu = 0.3;
  bool rigid_floor = false; ///< stands on a board, not on foam
  double fill = 1;          ///< section of a short post over w x length: 0.79 when round
  double length_mm() const { return d1_mm + d2_mm; }
};

/// Heights of the flute contact over the root.
struct Contact {
  double low_mm = 0, high_mm = 0;
};

/// E * G(z,s): wall-face deflection at z for a unit load at s, times E. 1/mm; symmetric. Load and reading are
/// means over patches b_p wide and patch_mm high.
double compliance_E_per_mm(const Web& web, double z_mm, double s_mm, double patch_mm);

/// E * G between slice mid-heights, row-major, symmetric, without the correction C and the end rules. 1/mm.
using SliceMatrix = std::array<double, std::size_t{kSlices} * kSlices>;
SliceMatrix compliance_matrix(const Web& web, const Contact& contact);

/// Length of web that carries a load which spreads to `spread_mm` along it, cut short by the web's ends.
double carrying_length_mm(const Web& web, double spread_mm);

/// Contact length along the wall for a cutter radius and bite depth: min(D, 2 sqrt(2 R d - d^2)).
double contact_length_mm(double cutter_radius_mm, double bite_depth_mm);

struct GammaAnswer {
  double value = 0;     ///< E x largest eigenvalue of the compliance over the flute contact, corrected
  bool clamped = false; ///< inputs lay outside the fit's range and were clamped
  double residual = 0;  ///< of the eigenvalue, relative: what it may be off by
  double scale = 1;     ///< corrected / raw eigenvalue: multiply raw compliances by it to stay consistent
  std::array<double, kSlices> mode{}; ///< eigenvector over the slices, largest entry 1
};

/// Gamma of the web for the slices in `in_reach` (bit i = slice i takes part).
/// Monotone: falls with w, rises with the contact's reach; doubling all lengths changes nothing.
/// Outside the range of the fit the fitted terms see the nearest web inside it, and a web too thick for it
/// fades to the solid block with the square of its thickness, so that the order holds everywhere.
GammaAnswer gamma(const Web& web, const Contact& contact, unsigned in_reach = kAllSlices);
/// The same from a matrix already at hand.
GammaAnswer gamma(const Web& web, const Contact& contact, const SliceMatrix& matrix, unsigned in_reach);

/// Cheap upper bound of gamma (no eigenproblem): skip a web when Lambda times this is small.
double gamma_bound(const Web& web, const Contact& contact);

} // namespace snagmap
