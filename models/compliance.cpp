#include "models/compliance.hpp"

#include "models/eigen.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr double kPi = 3.14159265358979323846;
// Constants without a name are fitted to our own three-dimensional finite elements of webs on a foam block.
constexpr double kImageDepth = 1.45;                     // cut-off of the local term, web thicknesses
constexpr double kShearSpread = 4.0, kShearWidth = 4.68; // growth of the width that carries shear
constexpr double kPlateRoot = 4.19;                      // clamped half-plane (Michell): 4 pi / 3
constexpr double kPlateFall = 2.20;                      // to 1.99 at a free edge (Jaramillo 1950)
constexpr double kRootTurn = 5.31, kRootShear = 0.32;    // root on foam: rotation (O'Donnell 1960), shear
constexpr double kEndFactor = 1.5;                       // load at a free end: 1.27 to 1.6
constexpr double kLeastAspect = 0.27, kMostAspect = 10;  // h/w of the fit
constexpr double kLeastReach = 0.25;                     // a/h of the fit
constexpr double kMostWidth = 6;                         // w/b_p of the fit; the least is 1

double clamp(double x, double low, double high) {
  return x < low ? low : x > high ? high : x;
}
double square(double x) {
  return x * x;
}

/// Thickest web of the fit; thicker ones fade to the solid block.
double thickest(const Web& web) {
  return std::max(web.b_p_mm, std::min(kMostWidth * web.b_p_mm, web.h_mm / kLeastAspect));
}
/// Thickness the fitted terms see.
double fitted_w(const Web& web) {
  return clamp(web.w_mm, web.b_p_mm, thickest(web));
}

/// Beam, plate and root terms of E * G, with what depends on the web alone worked out once.
struct Beam {
  double h, w, b, d1, d2, bend, shear, turn, root;

  explicit Beam(const Web& web)
      : h(web.h_mm), w(std::min(web.w_mm, thickest(web))), b(web.b_p_mm), d1(web.d1_mm), d2(web.d2_mm) {
    const double plane = 1 - web.nu * web.nu;                    // E/E'
    const double kappa = 10 * (1 + web.nu) / (12 + 11 * web.nu); // Cowper 1966, rectangle
    bend = 2 * plane / (w * w * w);
    shear = 2 * (1 + web.nu) / (kappa * w);
    turn = web.rigid_floor ? 0 : kRootTurn * plane / (w * w);
    root = web.rigid_floor ? 0 : kRootShear * plane / w;
  }
  /// Length of web that carries a load of spread B, cut at the web's ends (string on an elastic foundation):
  /// (B/2)(tanh(2 d1/B) + tanh(2 d2/B)), by one exponential for each end.
  double carrying(double B) const {
    const double inverse = 4 / B, lost = 1 / (1 + std::exp(d1 * inverse));
    return B * (1 - lost - (d1 == d2 ? lost : 1 / (1 + std::exp(d2 * inverse))));
  }
  double shear_at(double m) const { return shear * m / carrying(b + kShearSpread * m + kShearWidth * w); }
  double plate_carrying(double z, double s) const {
    return carrying(b + (kPlateRoot - kPlateFall * square(std::max(z, s) / h)) * std::sqrt(z * s));
  }
  double plate_at(double z, double s) const {
    const double m = std::min(z, s), M = std::max(z, s);
    return (bend * m * m * (3 * M - m) + turn * z * s + root * (z + s)) / plate_carrying(z, s);
  }
};

/// Integral of 1/r twice over x and twice over z, even in both: its second differences are means over pairs
/// of rectangles in parallel planes (Ruehli and Brennan 1973, IEEE Trans. Microwave Theory Tech. 21, 76). x,
/// z >= 0.
double rectangle_integral(double x, double z, double gap) {
  const double g2 = gap * gap, r = std::sqrt(x * x + z * z + g2);
  double sum = (2 * g2 - x * x - z * z) * r / 6;
  if (x > 0 && z * z + g2 > 0)
    sum += 0.5 * (z * z - g2) * x * std::log((x + r) / std::sqrt(z * z + g2));
  if (z > 0 && x * x + g2 > 0)
    sum += 0.5 * (x * x - g2) * z * std::log((z + r) / std::sqrt(x * x + g2));
  if (gap > 0)
    sum -= x * z * gap * std::atan(x * z / (r * gap));
  return sum;
}

/// The local surface term E * Gl of patches b x p at height offsets: Boussinesq's 1/r averaged over both
/// patches, less the same at the depth where the web ends (depth 0: a solid block, nothing is taken off).
struct Local {
  double b, patch, depth, scale;
  Local(const Web& web, double patch_mm, double depth_mm)
      : b(web.b_p_mm), patch(patch_mm), depth(depth_mm),
        scale((1 - web.nu * web.nu) / (kPi * square(web.b_p_mm * patch_mm))) {}
  /// Second difference along the wall.
  double across(double z) const {
    const double here = rectangle_integral(b, z, 0) - rectangle_integral(0, z, 0);
    return 2 * (depth > 0 ? here - rectangle_integral(b, z, depth) + rectangle_integral(0, z, depth) : here);
  }
  double at(double offset) const {
    return scale * (across(offset + patch) - 2 * across(offset) + across(std::abs(offset - patch)));
  }
  /// Under a uniform load over `reach`, read at its middle: no slice gives more.
  double under_middle(double reach) const {
    return scale * patch * 2 * (across((reach + patch) / 2) - across((reach - patch) / 2));
  }
  /// At the offsets 0, p, 2p ... between slices.
  std::array<double, kSlices> between_slices() const {
    std::array<double, kSlices> out;
    double here = across(0), above = across(patch), below = above;
    for (int k = 0; k < kSlices; ++k) {
      out[k] = scale * (above - 2 * here + below);
      below = here, here = above, above = across((k + 2) * patch);
    }
    return out;
  }
};

/// Correction of the eigenvalue to finite elements: log-linear, its inputs clamped to the range of the fit.
double correction(const Web& web, const Contact& contact, double w_mm) {
  const double X = std::log(clamp(web.h_mm / w_mm, kLeastAspect, kMostAspect));
  const double Y = std::log(clamp(contact.high_mm / web.h_mm, kLeastReach, 1));
  const double W = std::log(clamp(w_mm / web.b_p_mm, 1, kMostWidth));
  return std::exp(0.386 - 0.155 * X + 0.105 * Y - 0.016 * X * X - 0.078 * X * Y - 0.177 * W -
                  0.161 * std::tanh(web.length_mm() / (2 * web.h_mm)));
}

/// Near a free end the web gives more: full factor at half a contact length, none from two contact lengths on
/// (the elements needed none at that distance, and a fade that knew the thickness could make a thicker web
/// softer).
double end_factor(const Web& web) {
  double nearest = HUGE_VAL;
  if (web.end1 == WebEnd::free)
    nearest = web.d1_mm;
  if (web.end2 == WebEnd::free)
    nearest = std::min(nearest, web.d2_mm);
  return 1 + (kEndFactor - 1) * clamp((2 * web.b_p_mm - nearest) / (1.5 * web.b_p_mm), 0, 1);
}

/// Local give of a uniform load over the contact, times E, in a body `depth_mm` thick.
double local_give(const Web& web, const Contact& contact, double depth_mm) {
  const double reach = contact.high_mm - contact.low_mm;
  return reach * Local(web, reach, depth_mm).at(0);
}

/// Sideways give of the web as a beam along its length with one or both ends built in.
double span_give(const Web& web) {
  const bool in1 = web.end1 == WebEnd::built_in, in2 = web.end2 == WebEnd::built_in;
  const double d = in1 && in2 ? web.d1_mm * web.d2_mm / web.length_mm() : in1 ? web.d1_mm : web.d2_mm;
  const double kappa = 10 * (1 + web.nu) / (12 + 11 * web.nu);
  return 4 * square(d / web.w_mm) * (d / web.w_mm) + 2 * (1 + web.nu) * d / (kappa * web.w_mm);
}

/// Corrected eigenvalue from the raw one: fit, thick webs, free and built-in ends. Rises with `raw`; every
/// other thing in it that depends on w falls with w, so the answer falls with w wherever raw times the fit
/// does.
double corrected(const Web& web, const Contact& contact, double raw) {
  double value = raw * correction(web, contact, fitted_w(web));
  if (const double most = thickest(web); web.w_mm > most) {
    const double block = local_give(web, contact, 0) * correction(web, contact, web.h_mm / kLeastAspect);
    if (block < value)
      value = block + (value - block) * square(most / web.w_mm);
  }
  value *= end_factor(web);
  if (web.end1 == WebEnd::free && web.end2 == WebEnd::free)
    return value;
  const double local = local_give(web, contact, kImageDepth * web.h_mm);
  if (value <= local)
    return value;
  return local + 1 / (1 / (value - local) + 1 / span_give(web));
}

bool outside_fit(const Web& web, const Contact& contact) {
  const double aspect = web.h_mm / web.w_mm;
  return aspect > kMostAspect || web.w_mm < web.b_p_mm || web.w_mm > thickest(web) ||
         contact.high_mm < kLeastReach * web.h_mm || contact.high_mm > web.h_mm;
}

} // namespace

const char* to_text(WebEnd end) {
  return end == WebEnd::free ? "free" : "built in";
}

double contact_length_mm(double cutter_radius_mm, double bite_depth_mm) {
  if (bite_depth_mm >= cutter_radius_mm)
    return 2 * cutter_radius_mm;
  return 2 * std::sqrt(2 * cutter_radius_mm * bite_depth_mm - square(bite_depth_mm));
}

double compliance_E_per_mm(const Web& web, double z_mm, double s_mm, double patch_mm) {
  const Beam beam(web);
  return beam.plate_at(z_mm, s_mm) + beam.shear_at(std::min(z_mm, s_mm)) +
         Local(web, patch_mm, kImageDepth * fitted_w(web)).at(std::abs(z_mm - s_mm));
}

SliceMatrix compliance_matrix(const Web& web, const Contact& contact) {
  const Beam beam(web);
  const double patch = (contact.high_mm - contact.low_mm) / kSlices;
  const auto local = Local(web, patch, kImageDepth * fitted_w(web)).between_slices();
  SliceMatrix G;
  for (int i = 0; i < kSlices; ++i) {
    const double z = contact.low_mm + (i + 0.5) * patch, shear = beam.shear_at(z);
    for (int j = i; j < kSlices; ++j)
      G[i * kSlices + j] = G[j * kSlices + i] =
          beam.plate_at(z, contact.low_mm + (j + 0.5) * patch) + shear + local[j - i];
  }
  return G;
}

double carrying_length_mm(const Web& web, double spread_mm) {
  return Beam(web).carrying(spread_mm);
}

GammaAnswer gamma(const Web& web, const Contact& contact, unsigned in_reach) {
  return gamma(web, contact, compliance_matrix(web, contact), in_reach);
}

GammaAnswer gamma(const Web& web, const Contact& contact, const SliceMatrix& matrix, unsigned in_reach) {
  GammaAnswer answer;
  answer.clamped = outside_fit(web, contact);
  in_reach &= kAllSlices;
  if (!in_reach || !(contact.high_mm > contact.low_mm))
    return answer;
  const double patch = (contact.high_mm - contact.low_mm) / kSlices;
  const double raw = patch * largest_eigenvalue<kSlices>(matrix, in_reach, answer.mode);
  answer.value = corrected(web, contact, raw);
  answer.scale = answer.value / raw;
  return answer;
}

double gamma_bound(const Web& web, const Contact& contact) {
  if (!(contact.high_mm > contact.low_mm))
    return 0;
  // No row of the matrix sums to more than this: bending, shear and turning grow with height, so the top row
  // is their largest; (z + s)/T(B) has no peak between its ends, so the larger end counts; the local term is
  // largest in the middle.
  const Beam beam(web);
  const double reach = contact.high_mm - contact.low_mm, patch = reach / kSlices;
  const double low = contact.low_mm + patch / 2, top = contact.high_mm - patch / 2;
  double row = Local(web, patch, kImageDepth * fitted_w(web)).under_middle(reach);
  for (int j = 0; j < kSlices; ++j) {
    const double s = contact.low_mm + (j + 0.5) * patch;
    const double at_low = beam.root * (low + s) / beam.plate_carrying(low, s);
    const double at_top = beam.root * (top + s) / beam.plate_carrying(top, s);
    row += patch * (beam.plate_at(top, s) + beam.shear_at(s) + std::max(at_low - at_top, 0.0));
  }
  return corrected(web, contact, row);
}

} // namespace snagmap
