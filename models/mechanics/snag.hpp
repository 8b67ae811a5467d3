// The snag number, the fixed point of lean and bite, and the level.
#pragma once

#include "models/cards/cutter.hpp"
#include "models/cards/foam.hpp"
#include "models/web/compliance.hpp"

#include <array>
#include <string>

namespace snagmap {

enum class Level { firm, leans, snags, tears };
const char* to_text(Level level);
/// A snag number as people read it: "0.85", "12.3"; past 100 it says no more than that.
std::string snag_text(double s);

constexpr std::array<double, kSlices> all_alike() {
  std::array<double, kSlices> ones{};
  for (int i = 0; i < kSlices; ++i)
    ones[static_cast<std::size_t>(i)] = 1;
  return ones;
}

/// Everything the judgement of one web at one moment needs.
struct SnagQuestion {
  Web web;
  Contact contact;                      ///< flutes against the wall, heights over the root
  std::array<double, kSlices> gap_mm{}; ///< wall to cutter at each slice of the contact, 0 = touching
  /// Bite constant (Lambda E) of the foam at each slice over that of the foam the web is judged by.
  std::array<double, kSlices> bite = all_alike();
  bool laminate = false;      ///< other foam in the web or close under it: the formula, which knows one foam,
                              ///< decides nothing, and its answer is open
  double pass_depth_mm = 0;   ///< the base load acts on the lowest pass_depth of the contact
  double neck_relief_mm = 0;  ///< gap at the neck; how far the web may lean before it rubs
  bool climb = false;         ///< climb side: the sign of the base load is not settled
  double tolerance_mm = 0.25; ///< lean the user accepts
};

/// How far the contact reaches to both sides of the cutter along the wall: half of b_p, or to a free end
/// nearer than that.
struct ContactSides {
  double left_mm = 0, right_mm = 0; ///< toward end 1 and end 2
  double length_mm() const { return left_mm + right_mm; }
};
ContactSides contact_sides(const Web& web);
/// From the place opposite the cutter to the middle of what the free ends leave of the contact, toward end 2;
/// never past an end that is built in nearer than that.
double contact_shift_mm(const Web& web);
/// The question whose contact is cut short where the web ends: the load on each millimetre of wall stays what
/// it is and acts where there is foam, at the middle of what is left of the contact.
SnagQuestion cut_at_ends(SnagQuestion question);

struct SnagAnswer {
  double gamma = 0;
  double s = 0, s_low = 0, s_high = 0; ///< loop gain with all flute slices; band from Lambda's range
  double s_touch = 0;                  ///< slices already in contact under the base load only
  bool has_lean = false;               ///< false when s >= 1: millimetres mean nothing past the edge
  /// Mean over the pass depth, + toward the cutter. Where the band of S reaches 1 the high end is the lean at
  /// which the bite load has saturated. On the climb side the low end is the lean away under the same load.
  double lean_mm = 0, lean_low_mm = 0, lean_high_mm = 0;
  double u_max_mm = 0;    ///< largest lean of the web, top included; 0 without lean
  bool neck_rubs = false; ///< u at the top exceeds the neck relief
  bool open = false;      ///< the band crosses 1, or the formula was asked about more than one foam
  bool clamped = false;   ///< shape outside the fit's range
  Level level = Level::firm;
  double root_load_ratio = 0; ///< q_root / Gc: under 1 the root is the weaker link
  double gamma_residual = 0;  ///< of the eigenvalues behind gamma and s_touch, relative, the larger one
  int iterations = 0;         ///< of the contact fixed points, the most that one took
  double residual =
      0; ///< of those behind lean and its band, mm, the largest: what one more step would change
  std::array<double, kSlices> mode{}; ///< shape over the contact, largest entry 1
};

/// Pure; costs one or two 12 x 12 eigenproblems and three or four fixed points.
SnagAnswer judge(const SnagQuestion& question, const FoamCard& foam);

/// Compliance of a wall solved for or measured, in place of the formula's: E times the mean displacement of
/// each slice, and of the web's top edge, for a unit load on a slice. 1/mm; `slices` symmetric, row-major.
struct WallCompliance {
  SliceMatrix slices{};
  std::array<double, kSlices> top{};
};
/// The same judgement on that compliance. The root's strength stays the formula's.
SnagAnswer judge(const SnagQuestion& question, const FoamCard& foam, const WallCompliance& wall);

struct NarrowestWidth {
  double w_mm = 0;     ///< 0 when even 1.5 mm holds, infinity when 80 mm does not
  double residual = 0; ///< |S - 1| there; 0 when there is no such width
};
/// The width where S is 1 for this question's shape, by bisection between 1.5 mm and 80 mm.
NarrowestWidth narrowest_width(SnagQuestion question, double lambda);

} // namespace snagmap
