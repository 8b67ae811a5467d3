#include "sim/trust/coupon_walls.hpp"

#include "models/base/crossing.hpp"

#include <algorithm>

namespace snagmap {
namespace {

constexpr int kMostWalls = 12;

/// Width at which the formula, times what finite elements make of it, gives a Gamma; 0 when none does.
double width_for(const TestPiece& piece, PieceWall wall, const SolidShare& share, double wanted) {
  const auto value = [&](double w) {
    wall.w_mm = w, wall.gamma = 0;
    return share(w) * gamma_of(piece, wall);
  };
  const Crossing at = crossing(
      kThinnest_cells * piece.foam.cell_mm.nominal, kThickest_mm, [&](double w) { return value(w) > wanted; },
      1e-6);
  return at.found ? std::round(20 * at.middle()) / 20 : 0; // to 0.05 mm
}

PieceWall wall_like(const CouponRow& row) {
  PieceWall wall;
  wall.cutter = row.cutter, wall.h_mm = row.depth_mm, wall.length_mm = row.y1_mm - row.y0_mm;
  wall.ends = WebEnd::built_in;
  return wall;
}

/// Puts walls into the rows, thickest first, each where most room is left; false when they do not fit.
bool spread_out(std::vector<double> widths, double room_mm, double slot_mm,
                std::vector<std::vector<double>>& rows) {
  std::vector<double> left(rows.size(), room_mm - slot_mm);
  std::sort(widths.rbegin(), widths.rend());
  for (auto& row : rows)
    row.clear();
  for (const double w : widths) {
    const auto at = std::max_element(left.begin(), left.end()) - left.begin();
    if ((left[static_cast<std::size_t>(at)] -= w + slot_mm) < 0)
      return false;
    rows[static_cast<std::size_t>(at)].push_back(w);
  }
  for (auto& row : rows)
    std::sort(row.begin(), row.end());
  return true;
}

/// Widths whose edges lie evenly over ln Lambda from low / k to high * k, as many as fit into the rows of one
/// cutter. The job's own web is one of them unless it is too thick for the piece.
std::vector<std::vector<double>> graded(const CouponPlan& plan, const std::vector<std::size_t>& rows,
                                        double k, double room_mm, double own_mm) {
  const Coupon& c = plan.coupon;
  const CouponRow& like = c.rows[rows.front()];
  const Banded& lambda = c.piece.foam.lambda;
  std::vector<std::vector<double>> best(rows.size()), tried(rows.size());
  std::size_t most = 0;
  for (const bool with_own : {true, false}) {
    if (most > 0 || (with_own && own_mm <= 0))
      continue;
    for (int n = 2; n <= kMostWalls; ++n) {
      std::vector<double> widths;
      for (int i = 0; i < n; ++i) {
        const double at = lambda.low / k * std::pow(lambda.high / lambda.low * k * k, (i + 0.5) / n);
        const double w = width_for(c.piece, wall_like(like), plan.share[rows.front()], 1 / at);
        if (w > 0 && (widths.empty() || w > widths.back() + 0.1) &&
            !(with_own && std::abs(w - own_mm) <= 0.1))
          widths.push_back(w);
      }
      if (with_own)
        widths.push_back(own_mm);
      if (widths.size() >= std::max<std::size_t>(most, 1) && spread_out(widths, room_mm, like.slot_mm, tried))
        best = tried, most = widths.size();
    }
  }
  return best;
}

std::vector<double> gammas_of(const CouponPlan& plan, const std::vector<std::vector<double>>& widths) {
  std::vector<double> gammas;
  for (std::size_t r = 0; r < widths.size(); ++r)
    for (const double w : widths[r]) {
      PieceWall wall = wall_like(plan.coupon.rows[r]);
      wall.w_mm = w;
      gammas.push_back(plan.share[r](w) * gamma_of(plan.coupon.piece, wall));
    }
  return gammas;
}

} // namespace

void choose_walls(CouponPlan& plan, double room_mm, double jobs_width_mm) {
  Coupon& c = plan.coupon;
  const LambdaPrior band{c.piece.foam.lambda.low, c.piece.foam.lambda.high};
  std::vector<std::vector<double>> best(c.rows.size());
  double narrowest = 2;
  for (const double k : {1.0, 1.2, 1.5, 2.0}) {
    std::vector<std::vector<double>> widths(c.rows.size());
    for (std::size_t cutter = 0; cutter < c.scene.cutters.size(); ++cutter) {
      std::vector<std::size_t> rows;
      for (std::size_t r = 0; r < c.rows.size(); ++r)
        if (c.rows[r].cutter == static_cast<int>(cutter))
          rows.push_back(r);
      const auto own =
          graded(plan, rows, k, room_mm, cutter == 0 && jobs_width_mm <= kThickest_mm ? jobs_width_mm : 0);
      for (std::size_t i = 0; i < rows.size(); ++i)
        widths[rows[i]] = own[i];
    }
    const std::vector<double> gammas = gammas_of(plan, widths);
    if (gammas.empty())
      continue;
    const double narrowing = expected_narrowing(gammas, band);
    if (narrowing < narrowest)
      narrowest = narrowing, best = widths;
  }
  c.walls.clear();
  for (std::size_t r = 0; r < best.size(); ++r) {
    CouponRow& row = c.rows[r];
    row.widths_mm = best[r];
    row.slot_low_mm = {kLeft_mm};
    row.numbers.clear();
    for (const double w : row.widths_mm) {
      CouponWall wall;
      wall.piece = wall_like(row);
      wall.piece.w_mm = w;
      wall.piece.number = static_cast<int>(c.walls.size()) + 1;
      const double x = row.slot_low_mm.back() + row.slot_mm;
      wall.low_mm = {x, row.y0_mm}, wall.high_mm = {x + w, row.y1_mm};
      wall.jobs_own = row.cutter == 0 && w == jobs_width_mm;
      row.numbers.push_back(wall.piece.number);
      row.slot_low_mm.push_back(x + w);
      c.walls.push_back(wall);
    }
  }
}

} // namespace snagmap
