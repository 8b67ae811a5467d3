#include "sim/study/narrowest.hpp"

#include "models/base/crossing.hpp"
#include "sim/study/straight_wall.hpp"
#include "sim/text/csv.hpp"
#include "sim/threads/parallel.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>
#include <limits>
#include <map>
#include <tuple>

namespace snagmap {
namespace {

constexpr int kKnots = 41;       // widths of a curve: 10 % apart
constexpr double kEnough = 1e-8; // of ln w

/// What Gamma depends on besides the width: contact length, Poisson's ratio, flutes, depth.
using CurveKey = std::tuple<double, double, double, double>;

/// Gamma over width of one shape, falling. Knots are worked out once; a width is then found within its
/// bracket.
class GammaCurve {
public:
  GammaCurve(const NarrowestSpec& spec, const CurveKey& key) {
    std::tie(wall_.web.b_p_mm, wall_.web.nu, wall_.flute_length_mm, wall_.web.h_mm) = key;
    wall_.web.end1 = wall_.web.end2 = spec.ends;
    wall_.web.rigid_floor = spec.rigid_floor;
    wall_.length_mm = spec.length_mm;
    wall_.cutter_radius_mm = 0.5 * spec.diameter_mm;
    wall_.pass_mm = std::min(spec.pass_mm, wall_.flute_length_mm); // no neck is drawn through foam
    for (int i = 0; i < kKnots; ++i)
      at_[static_cast<std::size_t>(i)] = log_gamma(log_width(i));
  }

  /// Width where lambda Gamma is 1; raises `residual` to the |ln S| that is left there.
  double width_mm(double lambda, double& residual) {
    const double aim = -std::log(lambda);
    if (at_.front() < aim)
      return 0;
    if (at_.back() >= aim)
      return std::numeric_limits<double>::infinity();
    int i = 0;
    while (at_[static_cast<std::size_t>(i) + 1] >= aim)
      ++i;
    const double ln_w =
        smooth_crossing(
            log_width(i), log_width(i + 1), [&](double x) { return aim - log_gamma(x); }, kEnough)
            .middle();
    residual = std::max(residual, std::abs(log_gamma(ln_w) - aim));
    return std::exp(ln_w);
  }

  std::size_t gammas() const { return gammas_; }

private:
  static double log_width(int i) {
    return std::log(kThinnestAsked_mm) + i * std::log(kThickestAsked_mm / kThinnestAsked_mm) / (kKnots - 1);
  }

  double log_gamma(double log_w) {
    wall_.web.w_mm = std::exp(log_w);
    const WorstGamma worst = worst_gamma(wall_);
    gammas_ += worst.asked;
    return std::log(worst.value);
  }

  StraightWall wall_;
  std::array<double, kKnots> at_{};
  std::size_t gammas_ = 0;
};

CurveKey key_of(const NarrowestSpec& spec, const NarrowestRow& row) {
  const FoamCard& foam = spec.foams[row.foam];
  return {contact_length_mm(0.5 * spec.diameter_mm, foam.bite_depth_mm.nominal), foam.nu.nominal,
          row.flute_length_mm, row.depth_mm};
}

} // namespace

NarrowestTable narrowest_table(const NarrowestSpec& spec, const std::function<bool()>& go_on) {
  NarrowestTable table;
  table.spec = spec;
  std::map<CurveKey, std::vector<std::size_t>> rows_of;
  for (std::size_t foam = 0; foam < spec.foams.size(); ++foam)
    for (const double depth : spec.depths_mm)
      for (const double flutes : spec.flute_lengths_mm) {
        table.rows.push_back({foam, flutes, depth, 0, 0, 0, 0});
        rows_of[key_of(spec, table.rows.back())].push_back(table.rows.size() - 1);
      }
  const std::vector<std::pair<CurveKey, std::vector<std::size_t>>> curves(rows_of.begin(), rows_of.end());
  std::vector<std::size_t> gammas(curves.size());
  std::atomic<bool> stop{false};
  parallel_each(curves.size(), [&](std::size_t c) {
    if (stop || (go_on && !go_on())) {
      stop = true;
      return;
    }
    GammaCurve curve(spec, curves[c].first);
    for (const std::size_t r : curves[c].second) {
      NarrowestRow& row = table.rows[r];
      const Banded& lambda = spec.foams[row.foam].lambda;
      row.w_mm = curve.width_mm(lambda.nominal, row.residual);
      row.w_low_mm = curve.width_mm(lambda.low, row.residual);
      row.w_high_mm = curve.width_mm(lambda.high, row.residual);
    }
    gammas[c] = curve.gammas();
  });
  table.stopped = stop;
  table.curves = curves.size();
  for (const std::size_t n : gammas)
    table.gammas += n;
  return table;
}

std::string narrowest_csv(const NarrowestTable& table) {
  const auto mm = [](double value) { return fmt::format("{:.3f}", value); };
  std::string text = csv_row({"foam", "flute_length_mm", "depth_mm", "w_mm", "w_low_mm", "w_high_mm"});
  for (const NarrowestRow& row : table.rows)
    text += csv_row({table.spec.foams[row.foam].name, mm(row.flute_length_mm), mm(row.depth_mm), mm(row.w_mm),
                     mm(row.w_low_mm), mm(row.w_high_mm)});
  return text;
}

} // namespace snagmap
