// Volumes by move of random jobs against a count: the plan in squares, over each square's middle the lowest
// height that the cutter reaches, found by search along the move. The formulas of the profiles are those of
// any handbook (circle, cone), the count is the definition of a volume.
#include "sim/probe/volumes.hpp"
#include "tests/sim/record_fixture.hpp"

#include <algorithm>
#include <random>

using namespace snagmap;
using namespace snagmap::testing;

namespace {

constexpr double kSide_mm = 24, kDepth_mm = 12, kSquare_mm = 0.04;
constexpr double kKnown = 0.005; // sim/checks/run_numbers.hpp says so of every volume that is printed

/// Height of the cutter's surface over its tip at a distance from the axis.
double height_mm(const CutterCard& card, double d) {
  const double r = 0.5 * card.diameter_mm;
  if (card.tip == TipShape::ball)
    return r - std::sqrt(std::max(0.0, r * r - d * d));
  if (card.tip == TipShape::drill_point)
    return d; // half of a right angle
  if (card.tip == TipShape::bull_nose) {
    const double c = card.corner_radius_mm, x = std::max(0.0, d - (r - c));
    return c - std::sqrt(std::max(0.0, c * c - x * x));
  }
  return 0;
}

/// Lowest height over p that a straight move reaches; 1e300 where it does not pass. Along a line the height
/// over a place is convex, for the cutters here are.
double lowest_mm(const CutterCard& card, const Move& move, Vec2 p) {
  const Vec2 way = xy(move.to) - xy(move.from);
  const double r = 0.5 * card.diameter_mm, length = norm(way);
  if (!(length > 0))
    return norm(p - xy(move.from)) < r
               ? std::min(move.from.z, move.to.z) + height_mm(card, norm(p - xy(move.from)))
               : 1e300;
  const Vec2 along = (1 / length) * way;
  const double m = dot(p - xy(move.from), along), aside = cross(along, p - xy(move.from));
  if (!(std::abs(aside) < r))
    return 1e300;
  const double half = std::sqrt(r * r - aside * aside);
  double a = std::max(0.0, m - half), b = std::min(length, m + half);
  if (!(a < b))
    return 1e300;
  const auto height = [&](double x) {
    return move.from.z + x / length * (move.to.z - move.from.z) +
           height_mm(card, std::hypot(std::min(std::abs(x - m), half), aside));
  };
  for (int n = 0; n < 24; ++n) {
    const double x = a + (b - a) / 3, y = b - (b - a) / 3;
    if (height(x) < height(y))
      b = y;
    else
      a = x;
  }
  return std::min({height(a), height(b), height(0.5 * (a + b))});
}

class Count {
public:
  Count() : top_(static_cast<std::size_t>(kSquares * kSquares), 0) {}
  double take(const CutterCard& card, const Move& move) {
    const double r = 0.5 * card.diameter_mm;
    double sum = 0;
    if (move.kind == MoveKind::line) {
      const Vec3 a = move.from, b = move.to;
      over({std::min(a.x, b.x) - r, std::min(a.y, b.y) - r}, {std::max(a.x, b.x) + r, std::max(a.y, b.y) + r},
           [&](Vec2 p, double& top) { sum += lower(top, lowest_mm(card, move, p)); });
    } else {
      // Steps of 0.01 rad: with up to 6 mm of arm the scallop between two is under 1e-3 mm.
      const int steps = static_cast<int>(std::abs(arc_turn_rad(move)) / 0.01) + 1;
      for (int n = 0; n <= steps; ++n) {
        const Vec3 tip = point_at(move, static_cast<double>(n) / steps);
        over({tip.x - r, tip.y - r}, {tip.x + r, tip.y + r}, [&](Vec2 p, double& top) {
          const double d = norm(p - xy(tip));
          if (d < r && tip.z < top)
            sum += lower(top, tip.z + height_mm(card, d));
        });
      }
    }
    return sum * kSquare_mm * kSquare_mm;
  }

private:
  static constexpr int kSquares = static_cast<int>(kSide_mm / kSquare_mm);
  static double lower(double& top, double height) {
    height = std::max(height, -kDepth_mm);
    const double taken = std::max(0.0, top - height);
    top -= taken;
    return taken;
  }
  template <class F> void over(Vec2 low, Vec2 high, const F& visit) {
    const auto square = [](double at) {
      return std::clamp(static_cast<int>((at + 0.5 * kSide_mm) / kSquare_mm), 0, kSquares - 1);
    };
    for (int y = square(low.y); y <= square(high.y); ++y)
      for (int x = square(low.x); x <= square(high.x); ++x)
        visit({(x + 0.5) * kSquare_mm - 0.5 * kSide_mm, (y + 0.5) * kSquare_mm - 0.5 * kSide_mm},
              top_[static_cast<std::size_t>(y * kSquares + x)]);
  }
  std::vector<double> top_;
};

} // namespace

TEST(RemovedVolume, OfRandomJobsIsWhatACountFinds) {
  std::mt19937 random(27);
  const auto draw = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  const TipShape tips[] = {TipShape::flat, TipShape::ball, TipShape::drill_point, TipShape::bull_nose};
  for (int job = 0; job < 12; ++job) {
    CutterCard card = flat_cutter(draw(2, 6), 40);
    card.tip = tips[job % 4];
    card.taper_deg = 45;
    card.corner_radius_mm = 0.25 * card.diameter_mm;
    std::vector<Move> moves;
    Vec3 at{draw(-8, 8), draw(-8, 8), -draw(0.5, 8)};
    for (int n = 0; n < 4; ++n) {
      if (job % 3 == 2 && n % 2 == 1) { // an arc, on a level or sinking
        const double arm = draw(0.5, 5), angle = draw(0, 2 * kPi);
        moves.push_back(arc(at, {at.x + arm * std::cos(angle), at.y + arm * std::sin(angle)}, draw(1, 6),
                            n % 4 == 1 ? 0 : -draw(0.2, 1)));
      } else { // a line on a level or a slope, some beyond the border
        moves.push_back(line(at, {draw(-13, 13), draw(-13, 13), job % 3 == 0 ? at.z : -draw(0, 8)}));
      }
      at = moves.back().to;
    }
    const Box3 sheet{{-0.5 * kSide_mm, -0.5 * kSide_mm, -kDepth_mm}, {0.5 * kSide_mm, 0.5 * kSide_mm, 0}};
    const std::vector<double> removed = removed_mm3(cut(sheet, {card}, path_of(moves)));
    Count count;
    double whole = 0, noise2 = 0;
    for (std::size_t m = 0; m < moves.size(); ++m) {
      const double counted = count.take(card, moves[m]);
      // A rim of this length crosses as many squares, each wrong by an even share of its area times at most
      // the depth of the move: the sum has this standard deviation.
      const double rim_mm = 2 * length_mm(moves[m]) + kPi * card.diameter_mm;
      const double deep_mm = -std::min(moves[m].from.z, moves[m].to.z);
      const double noise = deep_mm * std::sqrt(rim_mm / kSquare_mm / 12) * kSquare_mm * kSquare_mm;
      EXPECT_NEAR(removed[m], counted, kKnown * counted + 4 * noise) << job << ' ' << m;
      whole += counted;
      noise2 += noise * noise;
    }
    EXPECT_NEAR(sum(removed), whole, kKnown * whole + 4 * std::sqrt(noise2)) << job;
  }
}

// Down and up, round a middle that the cutter covers and round one that it leaves, beside a slot of the same
// depth.
TEST(RemovedVolume, OfHelicesOfPointedCuttersIsWhatACountFinds) {
  struct Job {
    TipShape tip;
    double arm_mm, turns, sink_mm;
  };
  for (const Job& job : {Job{TipShape::ball, 1.5, 3.3, 4}, Job{TipShape::drill_point, 4, 2.6, 3},
                         Job{TipShape::bull_nose, 4, 3, 3.5}, Job{TipShape::ball, 3, 1.5, -3}}) {
    CutterCard card = flat_cutter(5, 40);
    card.tip = job.tip;
    card.taper_deg = 45;
    card.corner_radius_mm = 1.2;
    const double top_mm = job.sink_mm > 0 ? -0.5 : -4;
    const std::vector<Move> moves{line({-10, 2, -2}, {6, 3, -2}),
                                  arc({job.arm_mm, 0, top_mm}, {0, 0}, 2 * kPi * job.turns, -job.sink_mm)};
    const Box3 sheet{{-0.5 * kSide_mm, -0.5 * kSide_mm, -kDepth_mm}, {0.5 * kSide_mm, 0.5 * kSide_mm, 0}};
    const std::vector<double> removed = removed_mm3(cut(sheet, {card}, path_of(moves)));
    Count count;
    count.take(card, moves[0]);
    const double counted = count.take(card, moves[1]);
    // The rim of the bore and of the slot within it, each square wrong as above.
    const double rim_mm = 2 * kPi * (2 * job.arm_mm + 5) + 20,
                 deep_mm = std::abs(top_mm) + std::abs(job.sink_mm);
    const double noise = deep_mm * std::sqrt(rim_mm / kSquare_mm / 12) * kSquare_mm * kSquare_mm;
    EXPECT_NEAR(removed[1], counted, kKnown * counted + 4 * noise)
        << to_text(job.tip) << ' ' << job.arm_mm << ' ' << job.turns;
  }
}
