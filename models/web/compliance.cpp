#include "models/web/compliance.hpp"

#include "models/base/constants.hpp"
#include "models/base/eigen.hpp"
#include "models/base/finite.hpp"
#include "models/web/compliance_fit.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

// Constants without a name are fitted to our own three-dimensional finite elements of webs on a foam block.
constexpr double kImageDepth = 1.45;                    // cut-off of the local term, web thicknesses
constexpr double kShearSpread = 0.8, kShearWidth = 2.3; // growth of the width that carries shear
constexpr double kPlateRoot = 4.19;                     // clamped half-plane (Michell): 4 pi / 3
constexpr double kPlateFall = 2.20;                     // to 1.99 at a free edge (Jaramillo 1950)
constexpr double kRootTurn = 4.6, kRootShear = 0.80; // root on foam: rotation (5.31, O'Donnell 1960), shear

double clamp(double x, double low, double high) {
  return x < low ? low : x > high ? high : x;
}
double square(double x) {
  return x * x;
}

void require_web(const Web& web) {
  require_finite("a web's sizes", web.w_mm, web.h_mm, web.d1_mm, web.d2_mm, web.b_p_mm, web.nu, web.fill);
}
void require_web(const Web& web, const Contact& contact) {
  require_web(web);
  require_finite("a contact's heights", contact.low_mm, contact.high_mm);
}

bool is_built_in(const Web& web) {
  return web.end1 == WebEnd::built_in || web.end2 == WebEnd::built_in;
}
/// Thickest web of the fit; thicker ones fade to the solid block. Between built-in ends none was thicker than
/// long.
double thickest(const Web& web) {
  double most = std::min(kMostWidth * web.b_p_mm, web.h_mm / kLeastAspect);
  if (is_built_in(web))
    most = std::min(most, web.length_mm());
  return std::max(kLeastWidth * web.b_p_mm, most);
}
/// Thickness the fitted terms see.
double fitted_w(const Web& web) {
  return clamp(web.w_mm, kLeastWidth * web.b_p_mm, thickest(web));
}

/// How one end shares in carrying a load that spreads to B, as on a string on an elastic foundation: 1 when
/// far, less when free, more when built in.
double end_share(double d, WebEnd end, double B) {
  const double share = std::tanh(2 * d / B);
  return end == WebEnd::free ? share : 1 / share;
}

/// Beam, plate and root terms of E * G, with what depends on the web alone worked out once.
struct Beam {
  double h, w, b, d1, d2, fill, bend, shear, turn, root;
  WebEnd end1, end2;

  explicit Beam(const Web& web)
      : h(web.h_mm), w(std::min(web.w_mm, thickest(web))), b(web.b_p_mm), d1(web.d1_mm), d2(web.d2_mm),
        fill(web.fill), end1(web.end1), end2(web.end2) {
    const double plane = 1 - web.nu * web.nu;                    // E/E'
    const double kappa = 10 * (1 + web.nu) / (12 + 11 * web.nu); // Cowper 1966, rectangle
    bend = 2 * plane / (w * w * w);
    shear = 2 * (1 + web.nu) / (kappa * w);
    turn = web.rigid_floor ? 0 : kRootTurn * plane / (w * w);
    root = web.rigid_floor ? 0 : kRootShear * plane / w;
  }
  double carrying(double B) const {
    const double first = end_share(d1, end1, B);
    return 0.5 * fill * B * (first + (d1 == d2 && end1 == end2 ? first : end_share(d2, end2, B)));
  }
  /// A built-in end's own part in the shear is the span's.
  double shear_at(double m) const {
    const double B = b + kShearSpread * m + kShearWidth * w;
    const double first = end1 == WebEnd::free ? end_share(d1, end1, B) : 1;
    return shear * m / (0.5 * fill * B * (first + (end2 == WebEnd::free ? end_share(d2, end2, B) : 1)));
  }
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
/// patches, less the same at the depth where the web ends (depth 0: a solid block, nothing is taken off). A
/// rigid floor mirrors the load with the opposite sign.
struct Local {
  double b, patch, depth, scale;
  bool mirrored;
  Local(const Web& web, double patch_mm, double depth_mm)
      : b(web.b_p_mm), patch(patch_mm), depth(depth_mm),
        scale((1 - web.nu * web.nu) / (kPi * square(web.b_p_mm * patch_mm))), mirrored(web.rigid_floor) {}
  /// Second difference along the wall.
  double across(double z) const {
    const double here = rectangle_integral(b, z, 0) - rectangle_integral(0, z, 0);
    return 2 * (depth > 0 ? here - rectangle_integral(b, z, depth) + rectangle_integral(0, z, depth) : here);
  }
  double apart(double offset) const {
    return scale * (across(offset + patch) - 2 * across(offset) + across(std::abs(offset - patch)));
  }
  double at(double z, double s) const { return apart(std::abs(z - s)) - (mirrored ? apart(z + s) : 0); }
  /// Under a uniform load over `reach`, read at its middle: no slice gives more.
  double under_middle(double reach) const {
    return scale * patch * 2 * (across((reach + patch) / 2) - across((reach - patch) / 2));
  }
  /// At the offsets first, first + p ...
  template <std::size_t n> std::array<double, n> at_steps(double first) const {
    std::array<double, n> out;
    double below = across(std::abs(first - patch)), here = across(first);
    for (std::size_t k = 0; k < n; ++k) {
      const double above = across(first + double(k + 1) * patch);
      out[k] = scale * (above - 2 * here + below);
      below = here, here = above;
    }
    return out;
  }
};

/// Local give of a uniform load over the contact, times E, in a body `depth_mm` thick.
double local_give(const Web& web, const Contact& contact, double depth_mm) {
  const double reach = contact.high_mm - contact.low_mm, middle = 0.5 * (contact.low_mm + contact.high_mm);
  return reach * Local(web, reach, depth_mm).at(middle, middle);
}

/// Sideways give of the web as a beam along its length with one or both ends built into stock of the same
/// foam.
double span_give(const Web& web) {
  const bool in1 = web.end1 == WebEnd::built_in, in2 = web.end2 == WebEnd::built_in;
  const double d = in1 && in2 ? web.d1_mm * web.d2_mm / web.length_mm() : in1 ? web.d1_mm : web.d2_mm;
  const double kappa = 10 * (1 + web.nu) / (12 + 11 * web.nu), x = d / web.w_mm;
  return 4 * x * x * x + kSpanShear * 2 * (1 + web.nu) * x / kappa;
}

/// Corrected eigenvalue from the raw one: fit, thick webs, built-in ends. Rises with `raw`; the fit kept it
/// falling with w.
double corrected(const Web& web, const Contact& contact, double raw) {
  const WebShape shape(web, contact, fitted_w(web));
  double value = raw * shape.web_factor();
  if (const double most = thickest(web); web.w_mm > most) {
    const double block =
        local_give(web, contact, 0) * WebShape(web, contact, web.h_mm / kLeastAspect).web_factor();
    if (block < value)
      value = block + (value - block) * square(most / web.w_mm);
  }
  if (!is_built_in(web))
    return value;
  // The span between the ends holds what of the give is not local.
  const double surface = local_give(web, contact, kImageDepth * web.h_mm);
  const double local = value * surface / (value + surface), bends = value - local;
  const double held = bends / (bends + span_give(web));
  const double left = local + (1 - held) * bends;
  return left * shape.ends_factor(held, local / left);
}

bool outside_fit(const Web& web, const Contact& contact) {
  const double aspect = web.h_mm / web.w_mm;
  return aspect > kMostAspect || web.w_mm < kLeastWidth * web.b_p_mm || web.w_mm > thickest(web) ||
         contact.high_mm < kLeastReach * web.h_mm || contact.high_mm > web.h_mm;
}

} // namespace

const char* to_text(WebEnd end) {
  return end == WebEnd::free ? "free" : "built in";
}

double contact_length_mm(double cutter_radius_mm, double bite_depth_mm) {
  require_finite("cutter radius and bite depth", cutter_radius_mm, bite_depth_mm);
  if (bite_depth_mm >= cutter_radius_mm)
    return 2 * cutter_radius_mm;
  return 2 * std::sqrt(2 * cutter_radius_mm * bite_depth_mm - square(bite_depth_mm));
}

double compliance_E_per_mm(const Web& web, double z_mm, double s_mm, double patch_mm) {
  require_web(web);
  require_finite("heights and patch of a compliance", z_mm, s_mm, patch_mm);
  const Beam beam(web);
  return beam.plate_at(z_mm, s_mm) + beam.shear_at(std::min(z_mm, s_mm)) +
         Local(web, patch_mm, kImageDepth * fitted_w(web)).at(z_mm, s_mm);
}

SliceMatrix compliance_matrix(const Web& web, const Contact& contact) {
  require_web(web, contact);
  const Beam beam(web);
  const double patch = (contact.high_mm - contact.low_mm) / kSlices;
  const Local local(web, patch, kImageDepth * fitted_w(web));
  const auto apart = local.at_steps<kSlices>(0);
  std::array<double, 2 * kSlices - 1> mirrored{};
  if (web.rigid_floor)
    mirrored = local.at_steps<2 * kSlices - 1>(2 * contact.low_mm + patch);
  SliceMatrix G;
  for (int i = 0; i < kSlices; ++i) {
    const double z = contact.low_mm + (i + 0.5) * patch, shear = beam.shear_at(z);
    for (int j = i; j < kSlices; ++j)
      G[i * kSlices + j] = G[j * kSlices + i] =
          beam.plate_at(z, contact.low_mm + (j + 0.5) * patch) + shear + apart[j - i] - mirrored[i + j];
  }
  return G;
}

double carrying_length_mm(const Web& web, double spread_mm) {
  require_web(web);
  require_finite("the spread of a load", spread_mm);
  return Beam(web).carrying(spread_mm);
}

GammaAnswer gamma(const Web& web, const Contact& contact, unsigned in_reach) {
  return gamma(web, contact, compliance_matrix(web, contact), in_reach);
}

GammaAnswer gamma(const Web& web, const Contact& contact, const SliceMatrix& matrix, unsigned in_reach) {
  require_web(web, contact);
  GammaAnswer answer;
  answer.clamped = outside_fit(web, contact);
  in_reach &= kAllSlices;
  if (!in_reach || !(contact.high_mm > contact.low_mm))
    return answer;
  const double patch = (contact.high_mm - contact.low_mm) / kSlices;
  const Eigenvalue largest = largest_eigenvalue<kSlices>(matrix, in_reach, answer.mode);
  const double raw = patch * largest.value;
  answer.residual = largest.residual;
  answer.value = corrected(web, contact, raw);
  answer.scale = answer.value / raw;
  return answer;
}

double gamma_bound(const Web& web, const Contact& contact) {
  require_web(web, contact);
  if (!(contact.high_mm > contact.low_mm))
    return 0;
  // No row of the matrix sums to more than this: bending and turning grow with height, so the top row is
  // their largest; shear has one peak, near built-in ends, so the largest so far counts; (z + s)/T(B) has no
  // peak between its ends, so the larger end counts; the local term is largest in the middle.
  const Beam beam(web);
  const double reach = contact.high_mm - contact.low_mm, patch = reach / kSlices;
  const double low = contact.low_mm + patch / 2, top = contact.high_mm - patch / 2;
  double row = Local(web, patch, kImageDepth * fitted_w(web)).under_middle(reach), shear = 0;
  for (int j = 0; j < kSlices; ++j) {
    const double s = contact.low_mm + (j + 0.5) * patch;
    const double at_low = beam.root * (low + s) / beam.plate_carrying(low, s);
    const double at_top = beam.root * (top + s) / beam.plate_carrying(top, s);
    shear = std::max(shear, beam.shear_at(s));
    row += patch * (beam.plate_at(top, s) + shear + std::max(at_low - at_top, 0.0));
  }
  return corrected(web, contact, row);
}

} // namespace snagmap
