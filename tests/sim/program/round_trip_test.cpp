// Round trip: random moves are printed as a program in random dress, and the reader must give the geometry
// back.
#include "sim/program/program.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <cstdio>
#include <random>
#include <string>

using namespace snagmap;

namespace {

constexpr double kPi = 3.14159265358979323846;

/// The truth of one move, made first; the writer only prints it.
struct Truth {
  MoveKind kind;
  Vec3 to;
  ArcPlane plane = ArcPlane::xy;
  Vec3 centre{}; // arcs: on the circle's plane through the start
  double turn = 0;
};

class Writer {
public:
  explicit Writer(unsigned seed) : random_(seed) {}
  std::vector<Truth> truths;
  std::string text;

  void run(int moves) {
    text = "G10 L2 P2 X12.5 Y-7 Z3\nG10 L2 P7 X-100 Y40 Z0.25\nS1000 M3 F1000\n";
    for (int i = 0; i < moves; ++i) {
      dress();
      if (chance(0.5))
        arc();
      else
        straight();
    }
    text += "M30\n";
  }

private:
  double uniform(double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random_);
  }
  bool chance(double p) { return uniform(0, 1) < p; }
  int pick(int n) { return static_cast<int>(random_() % static_cast<unsigned>(n)); }
  Vec3 place() { return {uniform(-200, 200), uniform(-200, 200), uniform(-40, 20)}; }

  /// Changes of units, distance mode, work system, G92 and plane: none moves the tip.
  void dress() {
    if (chance(0.1))
      inch_ = !inch_, text += inch_ ? "G20\n" : "G21\n";
    if (chance(0.1))
      incremental_ = !incremental_, text += incremental_ ? "g91\n" : "G90\n";
    if (chance(0.1)) {
      static const char* const names[] = {"G54", "G55", "G59.1"};
      static const Vec3 origins[] = {{0, 0, 0}, {12.5, -7, 3}, {-100, 40, 0.25}};
      const int system = pick(3);
      text += std::string(names[system]) + "\n";
      origin_ = origins[system];
    }
    if (chance(0.05)) {
      const Vec3 numbers = place();
      text += "G92" + word('X', numbers.x) + word('Y', numbers.y) + word('Z', numbers.z) + "\n";
      shift_ = at_ - numbers - origin_;
    }
    if (chance(0.03))
      text += "G92.1\n", shift_ = {};
    if (chance(0.1))
      text += "  (a remark) \n";
  }
  /// A length word in the units in force: a number, or sometimes an expression of the same value.
  std::string word(char letter, double mm) {
    char buffer[96];
    const double value = inch_ ? mm / 25.4 : mm;
    const double part = uniform(-5, 5);
    if (chance(0.1))
      std::snprintf(buffer, sizeof buffer, " %c[%.12f+[%.12f]]", letter, part, value - part);
    else
      std::snprintf(buffer, sizeof buffer, chance(0.5) ? " %c%.13f" : "%c %.13f", letter, value);
    return buffer;
  }
  std::string ends(Vec3 to) {
    const Vec3 from = incremental_ ? at_ : origin_ + shift_;
    return word('Z', to.z - from.z) + word('X', to.x - from.x) + word('Y', to.y - from.y);
  }
  void straight() {
    const Vec3 to = place();
    const bool rapid = chance(0.3);
    text += (rapid ? "G0" : "G01") + ends(to) + "\n";
    truths.push_back({rapid ? MoveKind::rapid : MoveKind::line, to});
    at_ = to;
  }
  void arc() {
    Truth truth{MoveKind::arc, at_};
    const int plane = pick(3); // xy, zx, yz
    truth.plane = static_cast<ArcPlane>(plane);
    const int a = plane == 0 ? 0 : plane == 1 ? 2 : 1, b = (a + 1) % 3, c = (a + 2) % 3;
    const double radius = uniform(1, 60), phase = uniform(0, 2 * kPi);
    const bool anticlockwise = chance(0.5), full = chance(0.1);
    truth.turn = (anticlockwise ? 1 : -1) * (full ? 2 * kPi : uniform(0.01, 2 * kPi - 0.01));
    std::array<double, 3> from{at_.x, at_.y, at_.z}, centre = from, to = from;
    centre[a] -= radius * std::cos(phase);
    centre[b] -= radius * std::sin(phase);
    if (!full) {
      to[a] = centre[a] + radius * std::cos(phase + truth.turn);
      to[b] = centre[b] + radius * std::sin(phase + truth.turn);
    }
    if (chance(0.5))
      to[c] += uniform(-5, 5);
    truth.to = {to[0], to[1], to[2]};
    truth.centre = {centre[0], centre[1], centre[2]};
    static const char* const planes[] = {"G17", "G18", "G19"};
    std::string line = std::string(planes[plane]) + (anticlockwise ? " G3" : "G2") + ends(truth.to);
    const double away = std::abs(std::abs(truth.turn) - kPi);
    // Radius form is left to arcs far from half turns and from none, where it is well conditioned.
    if (!full && chance(0.3) && away > 0.3 && away < 2.8)
      line += word('R', away > 0 && std::abs(truth.turn) < kPi ? radius : -radius);
    else {
      line += word(static_cast<char>('I' + a), centre[a] - from[a]);
      line += word(static_cast<char>('I' + b), centre[b] - from[b]);
    }
    // End = start means one full turn only when both are exact, which G91 with zeros gives.
    if (full && !incremental_)
      line = "G91 " + line_of_full(truth, plane, anticlockwise, a, b, centre, from) + "\nG90";
    text += line + "\n";
    truths.push_back(truth);
    at_ = truth.to;
  }
  std::string line_of_full(const Truth& truth, int plane, bool anticlockwise, int a, int b,
                           const std::array<double, 3>& centre, const std::array<double, 3>& from) {
    static const char* const planes[] = {"G17", "G18", "G19"};
    incremental_ = true;
    std::string line = std::string(planes[plane]) + (anticlockwise ? "G3" : "G2") + ends(truth.to);
    incremental_ = false;
    return line + word(static_cast<char>('I' + a), centre[a] - from[a]) +
           word(static_cast<char>('I' + b), centre[b] - from[b]);
  }

  std::mt19937_64 random_;
  Vec3 at_, origin_, shift_;
  bool inch_ = false, incremental_ = false;
};

} // namespace

TEST(ProgramRoundTrip, RandomProgramsGiveTheirGeometryBack) {
  for (unsigned seed = 1; seed <= 40; ++seed) {
    Writer writer(seed);
    writer.run(250);
    ProgramOptions options;
    options.start_mm = {0, 0, 0};
    options.machine_zero_mm = Vec3{0, 0, 0};
    const auto path = parse_program(writer.text, "round.nc", options);
    ASSERT_TRUE(path) << "seed " << seed << "\n" << to_text(path.faults().front());
    std::vector<Move> moves;
    for (const Move& move : path->moves)
      if (length_mm(move) > 0)
        moves.push_back(move);
    ASSERT_EQ(moves.size(), writer.truths.size()) << "seed " << seed;
    for (std::size_t i = 0; i < moves.size(); ++i) {
      const Move& move = moves[i];
      const Truth& truth = writer.truths[i];
      SCOPED_TRACE("seed " + std::to_string(seed) + " move " + std::to_string(i) + " line " +
                   std::to_string(move.line));
      ASSERT_EQ(move.kind, truth.kind);
      EXPECT_NEAR(move.to.x, truth.to.x, 1e-9);
      EXPECT_NEAR(move.to.y, truth.to.y, 1e-9);
      EXPECT_NEAR(move.to.z, truth.to.z, 1e-9);
      if (truth.kind != MoveKind::arc)
        continue;
      ASSERT_EQ(move.plane, truth.plane);
      EXPECT_NEAR(arc_turn_rad(move), truth.turn, 1e-8);
      const Vec3 c = truth.centre;
      const Vec2 centre = truth.plane == ArcPlane::xy   ? Vec2{c.x, c.y}
                          : truth.plane == ArcPlane::zx ? Vec2{c.z, c.x}
                                                        : Vec2{c.y, c.z};
      EXPECT_NEAR(move.centre.x, centre.x, 1e-9);
      EXPECT_NEAR(move.centre.y, centre.y, 1e-9);
    }
  }
}
