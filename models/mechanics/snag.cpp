#include "models/mechanics/snag.hpp"

#include "models/base/crossing.hpp"
#include "models/base/eigen.hpp"
#include "models/base/finite.hpp"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <limits>
#include <stdexcept>

namespace snagmap {
namespace {

constexpr double kBaseShare =
    0.5;                      // base load over saturated bite load: a guess, worst case toward the cutter
constexpr double kFirm = 0.5; // snag number under which a web is firm
constexpr double kRootConcentration = 1.5; // stress at the re-entrant corner, from coarse finite elements
constexpr double kRootSpread = 1.96;       // 1/0.509: root moment under an edge load (Roark; MacGregor, Holl)
constexpr double kEnough = 1e-6;           // mm
constexpr int kMostSteps = 500;

using Slices = std::array<double, kSlices>;

/// The web against the flutes with everything divided by E: loads in mm, K dimensionless.
struct Stand {
  SliceMatrix K; ///< u = K q, corrected
  Slices top;    ///< of the web's top edge: u = top . q
  Slices base;   ///< share of each slice that lies within the pass depth
  Slices gap_mm;
  Slices bite;    ///< bite constant of each slice over that of the web's foam
  double bite_mm; ///< depth at which the load saturates
  double patch_mm;
};

Slices times(const SliceMatrix& K, const Slices& q) {
  Slices u{};
  for (int j = 0; j < kSlices; ++j)
    for (int i = 0; i < kSlices; ++i)
      u[i] += K[j * kSlices + i] * q[j];
  return u;
}

/// Load over E at the wall displacement u: base load, and the bite that rises with overlap until it
/// saturates.
Slices load(const Stand& stand, double lambda, double sign, const Slices& u) {
  Slices q;
  for (int i = 0; i < kSlices; ++i)
    q[i] = lambda * stand.bite[i] *
           (sign * kBaseShare * stand.bite_mm * stand.base[i] +
            std::clamp(u[i] - stand.gap_mm[i], 0.0, stand.bite_mm));
  return q;
}

struct Rest {
  Slices u{}, q{};
  int steps = 0;
  double residual = 0;
};

/// Where web and cutter come to rest. K is positive, so nothing swings and no damping is needed; while the
/// loop gain s is under 1 the slowest part of the answer lies along the mode and is put in first.
Rest come_to_rest(const Stand& stand, double lambda, double sign, double s, const Slices& mode) {
  Rest rest;
  for (int i = 0; i < kSlices; ++i)
    rest.q[i] = lambda * stand.bite[i] * sign * kBaseShare * stand.bite_mm * stand.base[i];
  rest.u = times(stand.K, rest.q);
  if (sign > 0 && s < 1) {
    double along = 0, length = 0;
    for (int i = 0; i < kSlices; ++i)
      along += mode[i] * rest.u[i], length += mode[i] * mode[i];
    const double growth = length > 0 ? std::min(s / (1 - s) * along / length, stand.bite_mm * s) : 0;
    for (int i = 0; i < kSlices; ++i)
      rest.u[i] += growth * mode[i];
  }
  for (rest.steps = 0; rest.steps < kMostSteps;) {
    rest.q = load(stand, lambda, sign, rest.u);
    const Slices next = times(stand.K, rest.q);
    rest.residual = 0;
    for (int i = 0; i < kSlices; ++i)
      rest.residual = std::max(rest.residual, std::abs(next[i] - rest.u[i]));
    rest.u = next, ++rest.steps;
    if (rest.residual < kEnough)
      break;
  }
  return rest;
}

double mean_over_pass(const Stand& stand, const Slices& u) {
  double sum = 0, weight = 0;
  for (int i = 0; i < kSlices; ++i)
    sum += stand.base[i] * u[i], weight += stand.base[i];
  return weight > 0 ? sum / weight : 0;
}

/// Hook load at which the root reaches its strength over the load at which the wall's surface tears.
double root_load_ratio(const SnagQuestion& question, const FoamCard& foam) {
  const double patch = (question.contact.high_mm - question.contact.low_mm) / kSlices;
  double moment = 0;
  for (int i = 0; i < kSlices; ++i) {
    const double s = question.contact.low_mm + (i + 0.5) * patch;
    moment += patch * s / carrying_length_mm(question.web, question.web.b_p_mm + kRootSpread * s);
  }
  const double strength = foam.tensile_kPa.nominal / 1000; // N/mm2
  return strength * question.web.w_mm * question.web.w_mm / (6 * kRootConcentration * moment) /
         foam.Gc_N_mm.nominal;
}

/// All but the compliance.
Stand stand_for(const SnagQuestion& question, const FoamCard& foam) {
  Stand stand{};
  stand.patch_mm = (question.contact.high_mm - question.contact.low_mm) / kSlices;
  stand.gap_mm = question.gap_mm, stand.bite = question.bite, stand.bite_mm = foam.bite_depth_mm.nominal;
  for (int i = 0; i < kSlices; ++i)
    stand.base[i] = std::clamp(question.pass_depth_mm / stand.patch_mm - i, 0.0, 1.0);
  return stand;
}

/// Compliance times bite, as a symmetric matrix with the same eigenvalues: entry (i, j) by the roots of both
/// bites.
SliceMatrix bitten(const SliceMatrix& matrix, const Slices& bite) {
  SliceMatrix out;
  for (int i = 0; i < kSlices; ++i)
    for (int j = 0; j < kSlices; ++j)
      out[i * kSlices + j] = matrix[i * kSlices + j] * std::sqrt(bite[i] * bite[j]);
  return out;
}
/// From that matrix's eigenvector to the shape of the wall, largest entry 1.
Slices shape_of(Slices mode, const Slices& bite) {
  double most = 0;
  for (int i = 0; i < kSlices; ++i)
    mode[i] /= std::sqrt(bite[i]), most = std::max(most, std::abs(mode[i]));
  for (double& entry : mode)
    entry /= most > 0 ? most : 1;
  return mode;
}

/// Slices that the base load alone brings against the flutes.
unsigned slices_touching(const Stand& stand, const FoamCard& foam) {
  const Slices bare =
      times(stand.K, load(stand, foam.lambda.nominal, 1, stand.gap_mm)); // no overlap: base load only
  unsigned touching = 0;
  for (int i = 0; i < kSlices; ++i)
    if (stand.gap_mm[i] <= bare[i])
      touching |= 1u << i;
  return touching;
}

void require_question(const SnagQuestion& question) {
  require_finite("heights, depth, relief and tolerance of a wall", question.contact.low_mm,
                 question.contact.high_mm, question.pass_depth_mm, question.neck_relief_mm,
                 question.tolerance_mm);
  for (const double gap_mm : question.gap_mm)
    require_finite("a gap beside a wall", gap_mm);
  for (const double bite : question.bite)
    if (!(bite > 0))
      throw std::invalid_argument("the bite constant of a slice must be positive");
}

/// The judgement once the compliance and its eigenvalues are known.
SnagAnswer settle(const SnagQuestion& question, const FoamCard& foam, const Stand& stand,
                  const Eigenvalue& full, const Eigenvalue& touch, const Slices& mode) {
  const double gamma_full = full.value, gamma_touch = touch.value;
  const Banded& lambda = foam.lambda;
  SnagAnswer answer;
  answer.gamma = gamma_full, answer.mode = mode;
  answer.gamma_residual = std::max(full.residual, touch.residual);
  answer.s = lambda.nominal * gamma_full;
  answer.s_low = lambda.low * gamma_full, answer.s_high = lambda.high * gamma_full;
  answer.s_touch = lambda.nominal * gamma_touch;
  answer.open = answer.s_low < 1 && answer.s_high >= 1;

  const auto rest_at = [&](double at_lambda, double sign, double s) {
    Rest rest = come_to_rest(stand, at_lambda, sign, s, mode);
    answer.iterations = std::max(answer.iterations, rest.steps);
    answer.residual = std::max(answer.residual, rest.residual);
    return rest;
  };
  const Rest rest = rest_at(lambda.nominal, 1, answer.s);
  double top = *std::max_element(rest.u.begin(), rest.u.end());
  if (question.contact.high_mm < question.web.h_mm) {
    double edge = 0;
    for (int j = 0; j < kSlices; ++j)
      edge += stand.top[j] * rest.q[j];
    answer.neck_rubs = edge > question.neck_relief_mm;
    top = std::max(top, edge);
  }
  answer.has_lean = answer.s < 1;
  if (answer.has_lean) {
    answer.u_max_mm = top;
    answer.lean_mm = mean_over_pass(stand, rest.u);
    answer.lean_high_mm = mean_over_pass(stand, rest_at(lambda.high, 1, answer.s_high).u);
    answer.lean_low_mm = question.climb ? mean_over_pass(stand, rest_at(lambda.high, -1, answer.s_high).u)
                                        : mean_over_pass(stand, rest_at(lambda.low, 1, answer.s_low).u);
  }

  answer.root_load_ratio = root_load_ratio(question, foam);
  if (answer.s >= 1)
    answer.level = answer.root_load_ratio < 1 ? Level::tears : Level::snags;
  else if (answer.s < kFirm && std::abs(answer.lean_mm) < question.tolerance_mm)
    answer.level = Level::firm;
  else
    answer.level = Level::leans;
  return answer;
}

} // namespace

std::string snag_text(double s) {
  if (s > 100)
    return "> 100";
  // Rounding must not carry a web that holds over the edge.
  if (s < 1)
    return fmt::format("{:.2f}", std::min(s, 0.99));
  return fmt::format("{:.{}f}", s, s < 9.995 ? 2 : s < 99.95 ? 1 : 0);
}

const char* to_text(Level level) {
  switch (level) {
  case Level::firm:
    return "firm";
  case Level::leans:
    return "leans";
  case Level::snags:
    return "snags";
  case Level::tears:
    return "tears";
  }
  return "";
}

ContactSides contact_sides(const Web& web) {
  const double half = 0.5 * web.b_p_mm;
  return {web.end1 == WebEnd::free ? std::min(half, web.d1_mm) : half,
          web.end2 == WebEnd::free ? std::min(half, web.d2_mm) : half};
}

double contact_shift_mm(const Web& web) {
  const ContactSides sides = contact_sides(web);
  constexpr double kMostOfWay = 0.9; // to an end that is built in: there nothing gives
  return std::clamp(0.5 * (sides.right_mm - sides.left_mm), -kMostOfWay * std::max(0.0, web.d1_mm),
                    kMostOfWay * std::max(0.0, web.d2_mm));
}

SnagQuestion cut_at_ends(SnagQuestion question) {
  Web& web = question.web;
  const ContactSides sides = contact_sides(web);
  const double length = sides.length_mm(), share = length / web.b_p_mm;
  if (!(share > 0 && share < 1))
    return question;
  const double toward_end2 = contact_shift_mm(web);
  web.d1_mm += toward_end2, web.d2_mm -= toward_end2;
  web.b_p_mm = length;
  for (double& bite : question.bite)
    bite *= share;
  return question;
}

SnagAnswer judge(const SnagQuestion& question, const FoamCard& foam) {
  require_question(question);
  const Contact& contact = question.contact;
  if (!(contact.high_mm > contact.low_mm))
    return {};
  const SliceMatrix matrix = compliance_matrix(question.web, contact),
                    with_bite = bitten(matrix, question.bite);
  const GammaAnswer full = gamma(question.web, contact, with_bite, kAllSlices);
  Stand stand = stand_for(question, foam);
  for (std::size_t k = 0; k < matrix.size(); ++k)
    stand.K[k] = full.scale * stand.patch_mm * matrix[k];
  for (int j = 0; j < kSlices && contact.high_mm < question.web.h_mm; ++j) {
    const double middle = contact.low_mm + (j + 0.5) * stand.patch_mm;
    stand.top[j] = full.scale * stand.patch_mm *
                   compliance_E_per_mm(question.web, question.web.h_mm, middle, stand.patch_mm);
  }
  const unsigned touching = slices_touching(stand, foam);
  const GammaAnswer touch = touching == kAllSlices ? full : gamma(question.web, contact, with_bite, touching);
  SnagAnswer answer = settle(question, foam, stand, {full.value, full.residual},
                             {touch.value, touch.residual}, shape_of(full.mode, question.bite));
  answer.clamped = full.clamped;
  answer.open = answer.open || question.laminate;
  return answer;
}

SnagAnswer judge(const SnagQuestion& question, const FoamCard& foam, const WallCompliance& wall) {
  require_question(question);
  if (!(question.contact.high_mm > question.contact.low_mm))
    return {};
  Stand stand = stand_for(question, foam);
  for (std::size_t k = 0; k < wall.slices.size(); ++k)
    stand.K[k] = stand.patch_mm * wall.slices[k];
  for (int j = 0; j < kSlices; ++j)
    stand.top[j] = stand.patch_mm * wall.top[j];
  Slices mode{}, unused{};
  const SliceMatrix with_bite = bitten(stand.K, question.bite);
  const Eigenvalue full = largest_eigenvalue<kSlices>(with_bite, kAllSlices, mode);
  const Eigenvalue touch = largest_eigenvalue<kSlices>(with_bite, slices_touching(stand, foam), unused);
  return settle(question, foam, stand, full, touch, shape_of(mode, question.bite));
}

NarrowestWidth narrowest_width(SnagQuestion question, double lambda) {
  require_finite("Lambda", lambda);
  const double low = 1.5, high = 80;
  const auto s_at = [&](double w) {
    question.web.w_mm = w;
    return lambda * gamma(question.web, question.contact).value;
  };
  const auto snags = [&](double w) { return s_at(w) >= 1; };
  if (!snags(low))
    return {};
  if (snags(high))
    return {std::numeric_limits<double>::infinity(), 0};
  const double width = crossing(low, high, snags, 1e-9 * low).middle();
  return {width, std::abs(s_at(width) - 1)};
}

} // namespace snagmap
