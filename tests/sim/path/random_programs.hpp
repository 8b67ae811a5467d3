// Random programs of the kind a shop writes.
#pragma once

#include "sim/program/program.hpp"
#include "sim/record/record.hpp"

#include <fmt/format.h>

#include <cmath>
#include <random>
#include <string>
#include <vector>

namespace snagmap::witness {

struct RandomProgram {
  std::string text;
  ProgramOptions how;
  std::vector<CutterCard> cutters;
};

constexpr double kRandomTop_mm = 0, kRandomBottom_mm = -20;
inline StockShape random_sheet() {
  return {{{-12.37, -11.61, kRandomBottom_mm}, {131.9, 97.3, kRandomTop_mm}}};
}

/// Arcs in the three planes, helices of several turns, rounded pockets in passes and loops, loops that cut
/// through, one to three tools, M3 and M4, mm and inch, a work system, tool lengths, coolant, path modes,
/// stops and dwells.
class ProgramMaker {
public:
  explicit ProgramMaker(unsigned seed) : random_(seed) {}

  RandomProgram make() {
    const bool inch = chance(0.35);
    unit_ = inch ? 25.4 : 1;
    decimals_ = inch ? 5 : 4;
    RandomProgram made;
    const int tools = 1 + pick(3);
    for (int t = 0; t < tools; ++t) {
      CutterCard c;
      c.name = "own " + std::to_string(t + 1);
      c.diameter_mm = c.shank_diameter_mm = 4 + 2 * t;
      c.flute_length_mm = 40;
      c.stick_out_mm = 60;
      made.cutters.push_back(c);
      made.how.tool_index[2 * t + 1] = t;
    }
    made.how.start_mm = {0, 0, 0};
    line(inch ? "G20 G90 G17" : "G21 G90 G17");
    if (chance(0.4))
      line(fmt::format("G{}", 54 + pick(6)));
    if (chance(0.5))
      line(chance(0.5) ? "G64" : "G61");
    lengths_ = chance(0.3);
    for (int t = 0; t < tools; ++t) {
      line(fmt::format("T{} M6", 2 * t + 1));
      if (lengths_)
        line(fmt::format("G43 H{}", 2 * t + 1));
      line(fmt::format("S{} {}", 8000 + 500 * pick(20), chance(0.3) ? "M4" : "M3"));
      if (chance(0.3))
        line(chance(0.5) ? "M7" : "M8");
      line("G0" + word('Z', 5));
      radius_ = 2 + t;
      for (int f = 1 + pick(3); f > 0; --f)
        feature();
      if (chance(0.3))
        line("M9");
      line("M5");
    }
    line("M30");
    made.text = std::move(text_);
    return made;
  }

private:
  double real(double low, double high) { return low + (high - low) * random_() / 4294967296.0; }
  int pick(int n) { return static_cast<int>(real(0, n)); }
  bool chance(double p) { return real(0, 1) < p; }
  void line(const std::string& words) { text_ += words + "\n"; }
  std::string word(char letter, double mm) {
    return fmt::format(" {}{:.{}f}", letter, mm / unit_, decimals_);
  }
  std::string feed(double mm_min) { return fmt::format(" F{:.{}f}", mm_min / unit_, unit_ > 1 ? 1 : 0); }

  void feature() {
    const double x = real(8, 90), y = real(8, 60), depth = real(2, 9);
    const int passes = 1 + pick(3);
    switch (pick(6)) {
    case 0:
      return rounded_pocket(x, y, depth, passes);
    case 1:
      return round_pocket(x, y, depth, passes);
    case 2:
      return waves(x, y, depth, true);
    case 3:
      return waves(x, y, depth, false);
    case 4:
      return through(x, y);
    default:
      return saddle(x, y, depth);
    }
  }
  void down(double x, double y, double z) {
    line("G0" + word('X', x) + word('Y', y));
    line("G0" + word('Z', 1));
    line("G1" + word('Z', z) + feed(600));
  }
  void up() {
    line("G0" + word('Z', 5));
    if (chance(0.15))
      line("M0");
    if (chance(0.1))
      line("G4 P0.25");
  }
  /// One loop round a rectangle with rounded corners, begun in the middle of its lower side.
  void rounded(double x, double y, double w, double h, double r, bool left, double f) {
    line("G17");
    const double x1 = x + w, y1 = y + h, m = x + 0.5 * w;
    line("G1" + word('X', m) + word('Y', y) + feed(f));
    const auto g1 = [&](double px, double py) { line("G1" + word('X', px) + word('Y', py)); };
    const auto arc = [&](double px, double py, double i, double j) {
      line((left ? "G3" : "G2") + word('X', px) + word('Y', py) + word('I', i) + word('J', j));
    };
    if (left) {
      g1(x1 - r, y), arc(x1, y + r, 0, r), g1(x1, y1 - r), arc(x1 - r, y1, -r, 0);
      g1(x + r, y1), arc(x, y1 - r, 0, -r), g1(x, y + r), arc(x + r, y, r, 0);
    } else {
      g1(x + r, y), arc(x, y + r, 0, r), g1(x, y1 - r), arc(x + r, y1, r, 0);
      g1(x1 - r, y1), arc(x1, y1 - r, 0, -r), g1(x1, y + r), arc(x1 - r, y, -r, 0);
    }
    g1(m, y);
  }
  void rounded_pocket(double x, double y, double depth, int passes) {
    const double w = real(24, 36), h = real(24, 36), step = 0.9 * radius_;
    const bool left = chance(0.5), outside_last = chance(0.7);
    for (int p = 1; p <= passes; ++p) {
      const double z = -depth * p / passes;
      const int loops = 2 + pick(2);
      down(x + 0.5 * w, y + (loops - 1) * step, z);
      for (int k = 0; k < loops; ++k) {
        const double in = (outside_last ? loops - 1 - k : k) * step;
        rounded(x + in, y + in, w - 2 * in, h - 2 * in, real(0.8, 1.6), left, 2500);
      }
      up();
    }
  }
  void round_pocket(double x, double y, double depth, int passes) {
    const double r = real(2, 6);
    const bool left = chance(0.5);
    const char* g = left ? "G3" : "G2";
    for (int p = 1; p <= passes; ++p) {
      const double z0 = p == 1 ? 0 : -depth * (p - 1) / passes, z = -depth * p / passes;
      line("G0" + word('X', x + r) + word('Y', y));
      line("G1" + word('Z', z0) + feed(600));
      line("G17");
      for (int turn = 1; turn <= 2; ++turn)
        line(g + word('X', x + r) + word('Y', y) + word('Z', z0 + 0.5 * turn * (z - z0)) + word('I', -r) +
             word('J', 0));
      line(g + word('X', x + r) + word('Y', y) + word('I', -r) + word('J', 0) + feed(1800));
      line("G1" + word('X', x + 2 * r));
      line(g + word('X', x) + word('Y', y + 2 * r) + word('I', -2 * r) + word('J', 0));
      line(g + word('X', x + 2 * r) + word('Y', y) + word('I', 0) + word('J', -2 * r));
      up();
    }
  }
  /// A row of humps and dips in an upright plane.
  void waves(double x, double y, double depth, bool along_x) {
    const double r = real(1, 3);
    double at = along_x ? x : y;
    down(x, y, -depth);
    line(along_x ? "G18" : "G19");
    for (int k = 1 + pick(4); k > 0; --k) {
      // In G18 the plane's axes are Z and X: from +X round over the top of a hump is anticlockwise seen from
      // -Y.
      const bool dip = chance(0.5);
      const char* g = dip == along_x ? "G2" : "G3";
      at += 2 * r;
      line(fmt::format("{}{}{}{}{}", g, word(along_x ? 'X' : 'Y', at), word('Z', -depth),
                       word(along_x ? 'I' : 'J', r), word('K', 0)) +
           feed(1500));
      if (chance(0.4)) {
        at += 2;
        line("G1" + word(along_x ? 'X' : 'Y', at));
      }
    }
    line("G17");
    up();
  }
  /// Arcs in an upright plane that go along its normal as well, within a closed way.
  void saddle(double x, double y, double depth) {
    const double r = real(1, 3), side = real(2, 6);
    down(x, y, -depth);
    line("G18");
    line("G2" + word('X', x + 2 * r) + word('Y', y + side) + word('Z', -depth) + word('I', r) + word('K', 0) +
         feed(1200));
    line("G3" + word('X', x) + word('Y', y + 2 * side) + word('Z', -depth) + word('I', -r) + word('K', 0));
    line("G19");
    line("G3" + word('X', x - 1) + word('Y', y + 2 * side - 2 * r) + word('Z', -depth) + word('J', -r) +
         word('K', 0));
    line("G17");
    line("G1" + word('X', x) + word('Y', y));
    up();
  }
  void through(double x, double y) {
    const double w = real(30, 38), h = real(25, 34);
    const bool left = chance(0.5);
    for (const double z : {-10.0, -20.0}) {
      down(x + 0.5 * w, y, z);
      rounded(x, y, w, h, real(2, 5), left, 2000);
      up();
    }
  }

  std::mt19937 random_;
  std::string text_;
  double unit_ = 1, radius_ = 2;
  int decimals_ = 4;
  bool lengths_ = false;
};

} // namespace snagmap::witness
