// What finite elements of random webs say the handbook terms of models/web/compliance.cpp miss: smooth
// corrections. tests/long/web_study_test.cpp made the values, scripts/fit_gamma.py fitted them and wrote the
// constants.
#pragma once

#include "models/web/compliance.hpp"

namespace snagmap {

/// Edges of the fit; beyond them its terms see the nearest web inside.
constexpr double kLeastAspect = 0.25, kMostAspect = 10; ///< h/w
constexpr double kLeastReach = 0.25;                    ///< contact's top over h
constexpr double kLeastWidth = 0.4, kMostWidth = 12.5;  ///< w/b_p

/// The shape of a web and its contact as the fit sees it: logarithms of ratios, and how near the ends are.
struct WebShape {
  double X, Y, W, Z, nu, board;
  double in_reach; ///< 1, less where the contact ends lower than any of the fit: built-in ends are then
                   ///< forgotten
  double lopsided = 0, either = 0, free_low = 0; ///< free ends
  double near = 0, near_low = 0, at = 0;         ///< built-in ends, each counted
  double both = 0, both_low = 0, both_at = 0, mixed = 0,
         stub = 0; ///< both ends built in; one built in, one free

  WebShape(const Web& web, const Contact& contact, double w_mm);
  /// Factor on the eigenvalue of the web itself, its built-in ends as if far.
  double web_factor() const;
  /// Factor on what is left once built-in ends hold: `held` is the share of the bending that they took,
  /// `local` the share of the surface's own give in what is left, both 0 to 1. 1 where the ends take all:
  /// there the span rules.
  double ends_factor(double held, double local) const;
};

/// Shear of the span between built-in ends, times the beam's: the stock it runs into gives way.
extern const double kSpanShear;

} // namespace snagmap
