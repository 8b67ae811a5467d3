// Removed volumes against closed forms of plane and solid geometry (any handbook of mathematics; Pappus for
// rings).
#include "sim/probe/volumes.hpp"
#include "sim/record/record.hpp"
#include "tests/bench/right/parts.hpp"

#include <cmath>
#include <cstdio>
#include <random>
#include <stdexcept>

namespace snagmap::bench {
namespace {

constexpr double kPi = 3.14159265358979323846;
const Box3 kSheet{{-100, -100, -40}, {100, 100, 0}};

CutterCard cutter(TipShape tip, double diameter_mm) {
  CutterCard card;
  card.name = "bench";
  card.tip = tip;
  card.diameter_mm = card.shank_diameter_mm = diameter_mm;
  card.flute_length_mm = 45;
  card.stick_out_mm = 100;
  card.taper_deg = 45; // of the vee
  return card;
}

Move line(Vec3 from, Vec3 to) {
  Move move;
  move.from = from;
  move.to = to;
  move.kind = MoveKind::line;
  move.feed_mm_min = 3000;
  return move;
}

/// A full turn from `from`, sinking by `sink`.
Move turn(Vec3 from, Vec2 centre, double sink, bool clockwise) {
  Move move = line(from, {from.x, from.y, from.z - sink});
  move.kind = MoveKind::arc;
  move.centre = centre;
  move.turn_rad = static_cast<float>(clockwise ? -2 * kPi : 2 * kPi);
  return move;
}

std::vector<double> removed(const CutterCard& card, std::vector<Move> moves, double voxel_mm) {
  Path path;
  path.moves = std::move(moves);
  CutOptions options;
  options.voxel_mm = voxel_mm;
  auto record = RemovalRecord::cut({kSheet}, {card}, path, options);
  if (!record)
    throw std::runtime_error(to_text(record.faults().front()));
  return removed_mm3(*record);
}

double sum(const std::vector<double>& values) {
  double total = 0;
  for (const double v : values)
    total += v;
  return total;
}

/// What a disc takes when it stands w beside where it stood.
double lune(double r, double w) {
  return kPi * r * r - (2 * r * r * std::acos(w / (2 * r)) - w / 2 * std::sqrt(4 * r * r - w * w));
}

struct Worst {
  const char* name;
  double percent = 0;
  int cases = 0;
  void add(double got, double exact) {
    percent = std::max(percent, 100 * std::abs(got / exact - 1));
    ++cases;
  }
};

} // namespace

std::vector<RightGoal> volume() {
  std::mt19937 random(15);
  const auto draw = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  Worst slots{"slot, by move when split"}, skims{"skim 0.03 to 1 mm, straight"}, rings{"circle groove"},
      ring_skims{"skim, round"}, bores{"bore, helix and floor"}, pockets{"pocket, rows over a rim, whole"},
      balls{"ball slot"}, vees{"vee slot"}, vee_rings{"vee ring (Pappus)"}, ramps{"ramp and level pass back"};
  const double diameters[] = {1, 2, 3.175, 6, 6.35, 12};
  for (const double voxel : {0.1, 0.25, 0.5, 1.0}) {
    const int count = voxel < 0.2 ? 8 : 40;
    for (int n = 0; n < count; ++n) {
      const double d = diameters[random() % 6], r = d / 2, z = -draw(0.5, 30), length = draw(3, 80);
      const double angle =
          n % 4 == 0 ? std::vector<double>{0, 17, 45, 90}[random() % 4] * kPi / 180 : draw(0, 2 * kPi);
      const Vec2 u{std::cos(angle), std::sin(angle)}, v = left_of(u), at{draw(-5, 5), draw(-5, 5)};
      const auto place = [&](double along, double across, double height) {
        const Vec2 p = at + along * u + across * v;
        return Vec3{p.x, p.y, height};
      };
      const CutterCard flat = cutter(TipShape::flat, d);
      { // one slot in some moves: the first takes its own disc, each its share of the way
        const int pieces = 1 + static_cast<int>(random() % 12);
        std::vector<Move> moves;
        for (int k = 0; k < pieces; ++k)
          moves.push_back(line(place(length * k / pieces - length / 2, 0, z),
                               place(length * (k + 1) / pieces - length / 2, 0, z)));
        const std::vector<double> by_move = removed(flat, moves, voxel);
        slots.add(sum(by_move), (length * d + kPi * r * r) * -z);
        for (std::size_t k = 1; k < by_move.size(); ++k)
          slots.add(by_move[k], length / pieces * d * -z);
      }
      const double w = std::exp(draw(std::log(0.03), std::log(std::min(1.0, r))));
      { // there, and back beside
        const auto by_move = removed(flat,
                                     {line(place(-length / 2, 0, z), place(length / 2, 0, z)),
                                      line(place(length / 2, w, z), place(-length / 2, w, z))},
                                     voxel);
        skims.add(by_move[1], (length * w + lune(r, w)) * -z);
      }
      const double ring = r + draw(0.2, 30);
      { // round, and round again a little larger, the other way
        const auto by_move = removed(
            flat, {turn(place(ring, 0, z), at, 0, n % 2), turn(place(ring + w, 0, z), at, 0, n % 3)}, voxel);
        const auto area = [](double outer) { return kPi * outer * outer; };
        rings.add(by_move[0], (area(ring + r) - area(ring - r)) * -z);
        ring_skims.add(by_move[1], (area(ring + w + r) - area(ring + r)) * -z);
      }
      { // a hole no wider than twice the cutter leaves no core
        const double q = draw(0.1, 0.99) * r;
        const int turns = 1 + static_cast<int>(random() % 5);
        std::vector<Move> moves;
        for (int k = 0; k < turns; ++k)
          moves.push_back(turn(place(q, 0, z * k / turns), at, -z / turns, n % 2));
        moves.push_back(turn(place(q, 0, z), at, 0, n % 2));
        bores.add(sum(removed(flat, moves, voxel)), kPi * (q + r) * (q + r) * -z);
      }
      { // a rim, then rows across it: the rectangle of the tip grown by the radius; all of it on the sheet
        const double a = std::min(draw(2, 20) * r, 70.0), b = std::min(draw(2, 12) * r, 50.0),
                     step = draw(0.2, 0.95) * d;
        std::vector<Move> moves{line(place(0, 0, z), place(a, 0, z)), line(place(a, 0, z), place(a, b, z)),
                                line(place(a, b, z), place(0, b, z)), line(place(0, b, z), place(0, 0, z))};
        for (double y = step; y < b; y += step)
          moves.push_back(line(place(0, y, z), place(a, y, z)));
        pockets.add(sum(removed(flat, moves, voxel)), (a * b + 2 * r * (a + b) + kPi * r * r) * -z);
      }
      const double deep = r + draw(0.5, 20);
      { // half a disc and a strip above it, swept and turned
        const double above = deep - r;
        balls.add(
            removed(cutter(TipShape::ball, d), {line(place(0, 0, -deep), place(length, 0, -deep))}, voxel)[0],
            length * (kPi * r * r / 2 + d * above) + 2.0 / 3 * kPi * r * r * r + kPi * r * r * above);
      }
      { // a right-angled vee no deeper than its cone: a triangle swept, a cone at the ends
        const double h = draw(0.3, 0.95) * r;
        vees.add(removed(cutter(TipShape::drill_point, d), {line(place(0, 0, -h), place(length, 0, -h))},
                         voxel)[0],
                 length * h * h + kPi * h * h * h / 3);
        const double q = h + draw(0.5, 20);
        vee_rings.add(
            removed(cutter(TipShape::drill_point, d), {turn(place(q, 0, -h), at, 0, n % 2)}, voxel)[0],
            2 * kPi * q * h * h);
      }
      ramps.add(
          sum(removed(flat,
                      {line(place(0, 0, 0), place(length, 0, z)), line(place(length, 0, z), place(0, 0, z))},
                      voxel)),
          (length * d + kPi * r * r) * -z);
    }
  }
  double worst = 0;
  int cases = 0;
  for (const Worst* one :
       {&slots, &skims, &rings, &ring_skims, &bores, &pockets, &balls, &vees, &vee_rings, &ramps}) {
    std::printf("  %-32s %5d cases, worst %.4f %%\n", one->name, one->cases, one->percent);
    worst = std::max(worst, one->percent);
    cases += one->cases;
  }
  std::printf("  voxels 0.1, 0.25, 0.5, 1 mm; cutters 1 to 12 mm; %d volumes\n", cases);
  return {{"volume_error_percent", worst, 0.5, true}};
}

} // namespace snagmap::bench
