// What must hold for any bytes taken as a program; shared by the fuzz target and the replay of its corpus.
#pragma once

#include "sim/motion/motion.hpp"
#include "sim/program/program.hpp"

#include <algorithm>
#include <cmath>
#include <string>

namespace snagmap {

inline ProgramOptions fuzz_options() {
  ProgramOptions options;
  options.path_limit_bytes = std::size_t{1} << 16; // bounds the memory and the time of one input
  options.fault_limit = 4;                         // a fault costs more than a line
  options.most_lines = 20'000;
  options.cutter_radius_mm = {3, 1, 0.5};
  options.tool_index = {{0, 0}, {1, 0}, {2, 1}, {3, 2}};
  options.tool_length_mm = {{1, 50}, {2, 60}};
  options.machine_zero_mm = Vec3{-10, -20, 90};
  options.second_home_mm = Vec3{5, 5, 60};
  options.work_origin_mm = {{2, {100, 0, 0}}, {7, {0, 50, -5}}};
  return options;
}

/// Empty when all holds, else what is broken.
inline std::string broken_promise(const std::string& text) {
  const auto finite = [](Vec3 p) { return std::isfinite(p.x) && std::isfinite(p.y) && std::isfinite(p.z); };
  const ProgramOptions options = fuzz_options();
  const auto path = parse_program(text, "fuzz.nc", options);
  const int lines = 1 + static_cast<int>(std::count(text.begin(), text.end(), '\n') +
                                         std::count(text.begin(), text.end(), '\r'));
  if (!path) {
    if (path.faults().empty())
      return "refused without a fault";
    if (path.faults().size() > static_cast<std::size_t>(options.fault_limit) + 2) // the rest; how it ends
      return "more faults than the limit";
    for (const Fault& fault : path.faults()) {
      if (fault.what.empty() || fault.way_out.empty())
        return "a fault without words";
      if (fault.line < 0 || fault.line > lines)
        return "a fault outside the program";
      if (fault.column < 0 || fault.column > 16385)
        return "a fault outside its line";
      if (fault.excerpt.size() > 256)
        return "an excerpt longer than a line may be";
    }
    return "";
  }
  if (path->moves.size() * sizeof(Move) > options.path_limit_bytes)
    return "a path over its limit";
  Vec3 at = path->start_mm;
  for (const Move& move : path->moves) {
    if (!finite(move.from) || !finite(move.to))
      return "a place that is no number";
    if (move.from.x != at.x || move.from.y != at.y || move.from.z != at.z)
      return "a jump between two moves";
    if (move.line < 1 || move.line > lines)
      return "a move of no line";
    if (!std::isfinite(move.feed_mm_min) || move.feed_mm_min < 0)
      return "a feed that is no number";
    if ((move.kind == MoveKind::line || move.kind == MoveKind::arc) && move.feed_mm_min == 0)
      return "a feed of zero";
    if (move.kind == MoveKind::arc) {
      const Vec3 end = point_at(move, 1), middle = point_at(move, 0.5);
      if (!finite(middle) || norm(end - move.to) > 1e-6)
        return "an arc that misses its end";
      if (!(length_mm(move) > 0))
        return "an arc without length";
    }
    at = move.to;
  }
  MachineCard machine;
  machine.feed_mm_min = machine.rapid_mm_min = {8000, 5000, 3000};
  machine.acceleration_mm_s2 = {500, 300, 200};
  machine.tool_change_s = 60;
  const Motion motion = plan_motion(*path, machine);
  if (!std::isfinite(motion.total_s()) || motion.total_s() < 0)
    return "a time that is no number";
  for (std::size_t i = 0; i < path->moves.size(); ++i)
    if (!(motion.start_s[i + 1] >= motion.start_s[i]))
      return "time that runs backwards";
  return "";
}

} // namespace snagmap
