// The narrowest web that holds, by foam, flute length and depth: one solved number in place of many combs.
#pragma once

#include "models/mechanics/snag.hpp"

#include <functional>
#include <string>
#include <vector>

namespace snagmap {

/// Straight webs between two pockets of one depth, cut through to their floor by one kind of cutter.
struct NarrowestSpec {
  std::vector<FoamCard> foams;
  std::vector<double> flute_lengths_mm, depths_mm;
  double diameter_mm = 6.35;
  double pass_mm = 6.35;  ///< depth of a pass
  double length_mm = 100; ///< of the web
  WebEnd ends = WebEnd::free;
  bool rigid_floor = false; ///< pockets through to a board
};

constexpr double kThinnestAsked_mm = 1.5, kThickestAsked_mm = 80;

/// Widths where S is 1. Infinite: not even kThickestAsked_mm holds; 0: kThinnestAsked_mm holds.
struct NarrowestRow {
  std::size_t foam = 0; ///< index into the spec's foams
  double flute_length_mm = 0, depth_mm = 0;
  double w_mm = 0;
  double w_low_mm = 0, w_high_mm = 0; ///< at the ends of Lambda's range
  double residual = 0;                ///< |ln S| at those widths, the largest
};

struct NarrowestTable {
  NarrowestSpec spec;
  std::vector<NarrowestRow> rows;     ///< foams outermost, then depths, then flute lengths
  std::size_t curves = 0, gammas = 0; ///< Gamma over width, and the eigenproblems all of it took
  bool stopped = false;               ///< before the end: the widths are not to be shown
};

/// For the whole wall, ends included, at its worst place and pass (sim/study/straight_wall.hpp), by the
/// formula: what a preview finds on a comb of such walls. Foams of one contact length and Poisson's ratio,
/// and all bands, share one curve of Gamma over width, since Lambda only says at which Gamma it is left. In
/// parallel over curves; the same bits on any thread count. The spec's lists must not be empty.
/// `go_on` is asked from any thread; false stops.
NarrowestTable narrowest_table(const NarrowestSpec& spec, const std::function<bool()>& go_on = {});

/// foam,flute_length_mm,depth_mm,w_mm,w_low_mm,w_high_mm (RFC 4180); "inf" where none up to 80 mm holds, 0
/// where 1.5 mm does.
std::string narrowest_csv(const NarrowestTable& table);

} // namespace snagmap
