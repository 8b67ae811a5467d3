// Walking a web along its mid-line to its ends, in the stock of one moment.
#pragma once

#include "models/web/compliance.hpp"
#include "sim/record/record.hpp"

#include <vector>

namespace snagmap {

constexpr double kWalkAt =
    0.53; ///< of h: clear of the floor of the pass before, where passes are equally deep

/// Length of the steps of the walk. A built-in end is measured between two of them, to 0.3 % of its distance
/// or of a thickness, whichever is more.
double walk_step_mm(double w_mm, double h_mm);
/// Is a wall still built in ahead of a cutter that opens it down by `step_mm`, its free height then `h_mm`?
bool stands_ahead(double step_mm, double h_mm);

struct WebPlace {
  Vec2 middle;     ///< on the mid-line where the walk starts, mm
  Vec2 along;      ///< unit tangent
  double z_mm = 0; ///< level of the walk: kWalkAt of the free height over the root
  double w_mm = 0, h_mm = 0;
};

struct Walked {
  double d1_mm = 0, d2_mm = 0;
  WebEnd end1 = WebEnd::free, end2 = WebEnd::free;
  bool ring = false, junction = false;
  bool post = false;      ///< shorter than 1.5 w, air all round
  double fill = 1;        ///< section of a short post over w times length, 1 for a strip
  std::vector<Vec2> line; ///< end 1 (against `along`) to end 2
  std::size_t rays = 0;
};

/// Goes both ways until air (a free end), foam thicker than 2 w or a free height under about h/2 (a built-in
/// end), 6 h of walking, or the start again (a ring). Read-only, any thread.
Walked walk_web(const RemovalRecord& record, const WebPlace& place, Instant t);

/// Highest foam on the upright line at p; the sheet's underside where there is none.
double top_mm(const RemovalRecord& record, Vec2 p, Instant t);

/// Highest foam at or below z on the upright line at p: the floor a wall there stands on; the sheet's
/// underside where there is none.
double floor_mm(const RemovalRecord& record, Vec2 p, double z_mm, Instant t);

} // namespace snagmap
