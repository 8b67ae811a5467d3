#include "models/web/compliance_fit.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

double square(double x) {
  return x * x;
}
double log_within(double x, double low, double high) {
  return std::log(std::min(std::max(x, low), high));
}

} // namespace

WebShape::WebShape(const Web& web, const Contact& contact, double w_mm)
    : X(log_within(web.h_mm / w_mm, kLeastAspect, kMostAspect)),
      Y(log_within(contact.high_mm / web.h_mm, kLeastReach, 1)),
      W(log_within(w_mm / web.b_p_mm, kLeastWidth, kMostWidth)),
      Z(std::min(std::max(contact.low_mm / web.h_mm, 0.0), 1.0)), nu(web.nu), board(web.rigid_floor),
      in_reach(std::min(1.0, contact.high_mm / (kLeastReach * web.h_mm))) {
  // Nearness of an end, by the length over which a load at a height spreads: 0 far, 1 at the load.
  const auto nearness = [&](double d, double height) {
    return 1 - std::tanh(2 * d / (web.b_p_mm + 2 * height));
  };
  const bool built1 = web.end1 == WebEnd::built_in, built2 = web.end2 == WebEnd::built_in;
  const double near1 = nearness(web.d1_mm, web.h_mm), near2 = nearness(web.d2_mm, web.h_mm);
  const double top = std::max(contact.high_mm, kLeastReach * web.h_mm);
  const double low1 = nearness(web.d1_mm, top), low2 = nearness(web.d2_mm, top);
  const double free1 = built1 ? 0 : near1, free2 = built2 ? 0 : near2;
  lopsided = square((free1 - free2) / (2 - free1 - free2));
  either = 1 - (1 - free1) * (1 - free2);
  free_low = 0.5 * ((built1 ? 0 : low1) + (built2 ? 0 : low2));
  if (!built1 && !built2)
    return;
  const double at1 = std::exp(-web.d1_mm / web.b_p_mm), at2 = std::exp(-web.d2_mm / web.b_p_mm);
  near = near1 + near2 - free1 - free2;
  near_low = low1 + low2 - 2 * free_low;
  at = (built1 ? at1 : 0) + (built2 ? at2 : 0);
  if (built1 && built2)
    both = near1 * near2, both_low = low1 * low2, both_at = at1 * at2;
  else
    mixed = low1 * low2, stub = built1 ? std::exp(-web.d2_mm / web.d1_mm) : std::exp(-web.d1_mm / web.d2_mm);
}

// fit:begin (written by scripts/fit_gamma.py)
const double kSpanShear = 1.41;

double WebShape::web_factor() const {
  return std::exp(-0.024 - 0.067 * X + 0.061 * Y - 0.082 * W + 0.004 * W * W + 0.008 * X * X + 0.000 * X * W -
                  0.065 * X * Y - 0.014 * W * Y + 0.023 * Y * Y + 0.229 * nu + 0.105 * nu * nu -
                  0.082 * nu * X + 0.172 * nu * Y + 0.149 * Z + 0.059 * board + 0.103 * board * Y +
                  0.026 * board * X + 0.024 * board * W + 0.449 * lopsided - 0.082 * either -
                  0.075 * free_low + 0.060 * free_low * X + 0.239 * free_low * nu + 0.084 * lopsided * Y +
                  0.076 * free_low * W - 0.033 * Z * X);
}

double WebShape::ends_factor(double held, double local) const {
  const double left = 1 - held;
  return std::exp(in_reach *
                  (0.984 * left * held - 0.061 * left * held * held + 0.727 * held * stub - 0.010 * local +
                   0.090 * local * Z - 0.225 * held * stub * W - 1.097 * local * both +
                   0.379 * local * near_low + 0.778 * left * held * Y - 0.448 * left * held * at -
                   0.227 * left * near + 0.200 * left * near_low + 0.223 * left * near_low * X -
                   0.146 * left * near_low * Y - 0.195 * left * near * X - 0.485 * left * near * Y +
                   3.055 * left * both - 1.010 * left * both_low - 1.035 * left * near_low * near_low * X +
                   1.956 * left * both_low * X + 0.162 * left * near * board + 0.279 * left * at * X -
                   1.304 * left * near * near + 0.142 * left * at * Y + 0.242 * left * mixed * Y -
                   0.292 * left * near * near * nu + 0.375 * left * near * near * W -
                   0.282 * left * near_low * W + 0.881 * left * near_low * near_low +
                   0.210 * left * near * near_low * X - 0.149 * left * near * near * Y -
                   1.208 * left * both_at * X - 0.555 * left * both * W - 0.123 * left * at * board));
}
// fit:end

} // namespace snagmap
