// How thick a web must be to hold, other things equal.
#pragma once

#include "sim/preview/preview.hpp"

#include <map>

namespace snagmap {

constexpr double kMostWiden = 4; // a web that must grow further wants another design, not a wider web

struct Widening {
  double now_mm = 0;
  double w_mm = 0;          ///< in tenths of a millimetre, rounded up
  double whole_band_mm = 0; ///< by the upper end of Lambda; 0: no width does
  Vec3 place_mm;            ///< of the spot that asks for most
  double s_after = 0;       ///< the largest S of its spots, made so thick
  bool hopeless = false;    ///< none up to kMostWiden times as thick as now
};

/// S by finite elements over S by the formula; 1 where the spot was not solved.
double elements_over_formula(const Spot& spot);

/// By web. Of a web that snags all spots that snag are asked, of one that holds its worst: it may then be
/// thinner than it is. By the formula on each spot's own question, scaled as the spot was by finite elements.
std::map<int, Widening> widenings(const JudgedJob& job);

} // namespace snagmap
