// A program through an interpreter that is not ours: rs274 of LinuxCNC (Debian package linuxcnc-uspace),
// general control software that prints the canonical motions of a program (canonical machining functions of
// NISTIR 5416, which RS274/NGC is defined by).
#pragma once

#include "sim/program/program.hpp"

#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include <unistd.h>

namespace snagmap::witness {

/// One motion as the witness prints it, millimetres, in the coordinates of the machine whose offsets are all
/// zero at first: sheet coordinates of a program of one work system.
struct WitnessMove {
  MoveKind kind = MoveKind::line; ///< rapid, line, arc, dwell, stop or tool_change
  Vec3 to;
  ArcPlane plane = ArcPlane::xy;
  Vec2 centre;            ///< arcs; axes as in Move
  int rotation = 0;       ///< arcs: + anticlockwise; turns, a part of one counting as one
  double feed_mm_min = 0; ///< dwell: seconds
  double spindle_rpm = 0; ///< + clockwise, - anticlockwise
  int tool = 0;           ///< number of the cutter in the spindle
  bool mist = false, flood = false;
};

struct Witness {
  std::vector<WitnessMove> moves;
  bool inch = false;  ///< some lines are in inches, which are printed to 1e-4 inch
  bool ended = false; ///< the program came to its end
  std::string error;  ///< what it said where it refused
  std::string printed;
};

inline bool has_rs274() {
  return std::system("command -v rs274 > /dev/null 2>&1") == 0;
}

/// Runs the text word for word. `tools`: numbers it may name, each of length 0. `systems_mm`: origins of work
/// systems 1 to 9, in the machine's coordinates; systems left out lie at zero.
inline Witness rs274(const std::string& text, const std::vector<int>& tools = {1, 2, 3, 4, 5, 6, 7, 8, 9},
                     const std::map<int, Vec3>& systems_mm = {}) {
  namespace fs = std::filesystem;
  static int count = 0;
  const fs::path folder = fs::temp_directory_path() /
                          ("snagmap-rs274-" + std::to_string(getpid()) + "-" + std::to_string(++count));
  fs::create_directories(folder);
  std::ofstream(folder / "program.ngc", std::ios::binary) << text;
  std::ofstream table(folder / "tool.tbl");
  for (const int tool : tools)
    table << "T" << tool << " P" << tool << " Z0 D6\n";
  table.close();
  std::map<int, double> parameters;
  for (const int first : {5161, 5181, 5211})
    for (int k = 0; k < 9; ++k)
      parameters[first + k] = 0;
  for (int system = 1; system <= 9; ++system)
    for (int k = 0; k < 10; ++k)
      parameters[5201 + 20 * system + k] = 0;
  parameters[5210] = 0;
  parameters[5220] = 1;
  for (const auto& [system, origin] : systems_mm) {
    parameters[5201 + 20 * system] = origin.x;
    parameters[5202 + 20 * system] = origin.y;
    parameters[5203 + 20 * system] = origin.z;
  }
  std::ofstream variables(folder / "rs274.var");
  variables.precision(12);
  for (const auto& [number, value] : parameters)
    variables << number << "\t" << std::fixed << value << "\n";
  variables.close();
  // Its tool table in memory is a file of the home folder, which two runs at once would share.
  const std::string command =
      "cd '" + folder.string() +
      "' && HOME=. rs274 -g -t tool.tbl -v rs274.var program.ngc out.txt > log.txt 2>&1";
  const int status = std::system(command.c_str());
  const auto read = [&](const char* name) {
    std::ifstream in(folder / name, std::ios::binary);
    std::stringstream all;
    all << in.rdbuf();
    return all.str();
  };
  Witness witness;
  witness.printed = read("out.txt");
  const std::string log = read("log.txt");
  fs::remove_all(folder);

  WitnessMove state;
  double unit = 1, speed_rpm = 0;
  int sense = 0;
  Vec3 g5x, g92, at; // at: as printed last, in mm of the program's coordinates
  std::istringstream lines(witness.printed);
  for (std::string line; std::getline(lines, line);) {
    const std::size_t open = line.find('('), close = line.rfind(')');
    if (open == std::string::npos || close == std::string::npos)
      continue;
    const std::size_t word = line.rfind(' ', open);
    const std::string name = line.substr(word + 1, open - word - 1),
                      inside = line.substr(open + 1, close - open - 1);
    std::vector<double> n;
    {
      std::string numbers = inside;
      for (char& c : numbers)
        c = c == ',' ? ' ' : c;
      std::istringstream in(numbers);
      for (double value; in >> value;)
        n.push_back(value);
    }
    const auto push = [&](MoveKind kind) {
      WitnessMove move = state;
      move.kind = kind;
      move.to = at + g5x + g92;
      witness.moves.push_back(move);
    };
    if (name == "USE_LENGTH_UNITS") {
      unit = inside == "CANON_UNITS_INCHES" ? 25.4 : 1;
      witness.inch = witness.inch || unit > 1;
    } else if (name == "SET_G5X_OFFSET" && n.size() >= 4) {
      g5x = unit * Vec3{n[1], n[2], n[3]};
    } else if (name == "SET_G92_OFFSET" && n.size() >= 3) {
      g92 = unit * Vec3{n[0], n[1], n[2]};
    } else if (name == "SELECT_PLANE") {
      state.plane = inside == "CANON_PLANE_XZ"   ? ArcPlane::zx
                    : inside == "CANON_PLANE_YZ" ? ArcPlane::yz
                                                 : ArcPlane::xy;
    } else if (name == "SET_FEED_RATE" && !n.empty()) {
      state.feed_mm_min = unit * n[0];
    } else if (name == "SET_SPINDLE_SPEED" && n.size() >= 2) {
      speed_rpm = n[1];
      state.spindle_rpm = sense * speed_rpm;
    } else if (name.rfind("START_SPINDLE_", 0) == 0 || name == "STOP_SPINDLE_TURNING") {
      sense = name == "START_SPINDLE_CLOCKWISE" ? 1 : name == "START_SPINDLE_COUNTERCLOCKWISE" ? -1 : 0;
      state.spindle_rpm = sense * speed_rpm;
    } else if (name == "STRAIGHT_TRAVERSE" && n.size() >= 3) {
      at = unit * Vec3{n[0], n[1], n[2]};
      push(MoveKind::rapid);
    } else if (name == "STRAIGHT_FEED" && n.size() >= 3) {
      at = unit * Vec3{n[0], n[1], n[2]};
      push(MoveKind::line);
    } else if (name == "ARC_FEED" && n.size() >= 6) {
      const double first = unit * n[0], second = unit * n[1], third = unit * n[5];
      const Vec3 shift = g5x + g92;
      state.centre = unit * Vec2{n[2], n[3]};
      state.rotation = static_cast<int>(n[4]);
      if (state.plane == ArcPlane::xy) {
        at = {first, second, third};
        state.centre = state.centre + Vec2{shift.x, shift.y};
      } else if (state.plane == ArcPlane::zx) {
        at = {second, third, first};
        state.centre = state.centre + Vec2{shift.z, shift.x};
      } else {
        at = {third, first, second};
        state.centre = state.centre + Vec2{shift.y, shift.z};
      }
      push(MoveKind::arc);
    } else if (name == "DWELL" && !n.empty()) {
      push(MoveKind::dwell);
      witness.moves.back().feed_mm_min = n[0];
    } else if (name == "PROGRAM_STOP" || name == "OPTIONAL_PROGRAM_STOP") {
      push(MoveKind::stop);
    } else if (name == "CHANGE_TOOL" && !n.empty()) {
      state.tool = static_cast<int>(n[0]);
      push(MoveKind::tool_change);
    } else if (name == "MIST_ON" || name == "MIST_OFF") {
      state.mist = name == "MIST_ON";
    } else if (name == "FLOOD_ON" || name == "FLOOD_OFF") {
      state.flood = name == "FLOOD_ON";
    } else if (name == "PROGRAM_END") {
      witness.ended = true;
    }
  }
  if (!witness.ended)
    witness.error = "status " + std::to_string(status) + ": " + log;
  return witness;
}

/// Our motions of a program beside the witness's: kinds, ends, centres, planes, senses and turns of arcs,
/// feeds, spindle and its sense, coolant, tools, stops and dwells. The first difference in words; empty:
/// none. Ends to 1e-4 mm; where the program is in inches to the half of the fourth decimal of an inch that
/// the witness prints, and that. The path must be read with a start of X0 Y0 Z0, where the witness starts; it
/// may hold moves shorter than what is printed.
inline std::string unlike_rs274(const Path& path, const Witness& witness) {
  if (!witness.ended)
    return "rs274 refuses the program: " + witness.error;
  const double print_mm = witness.inch ? 0.5e-4 * 25.4 : 0.5e-4;
  const double near_mm = 1e-4 + (witness.inch ? print_mm : 0);
  const auto stands = [](MoveKind k) {
    return k == MoveKind::dwell || k == MoveKind::stop || k == MoveKind::tool_change;
  };
  const auto straight = [](MoveKind k) { return k == MoveKind::rapid || k == MoveKind::line; };
  std::size_t w = 0;
  Vec3 at{};
  const auto stays = [&] { // what stays where it is: a word named again
    return w < witness.moves.size() && straight(witness.moves[w].kind) &&
           norm(witness.moves[w].to - at) < 1e-9;
  };
  for (std::size_t i = 0; i < path.moves.size(); ++i) {
    const Move& move = path.moves[i];
    if (move.kind == MoveKind::dwell && move.feed_mm_min <= 0)
      continue; // the spindle's run-up, a thing of ours
    if (straight(move.kind) && length_mm(move) < 4 * print_mm &&
        (w == witness.moves.size() || witness.moves[w].kind != move.kind ||
         norm(witness.moves[w].to - move.to) > std::sqrt(3.0) * near_mm))
      continue; // not seen in its decimals
    while (stays() && (witness.moves[w].kind != move.kind || norm(move.to - at) > 2 * near_mm))
      ++w;
    const auto differs = [&](const std::string& what) {
      return "move " + std::to_string(i) + " of line " + std::to_string(move.line) + ": " + what;
    };
    if (w == witness.moves.size())
      return differs("the witness ends before");
    const WitnessMove& seen = witness.moves[w++];
    if (move.kind != seen.kind)
      return differs("another kind of move");
    if (move.tool_number >= 0 && seen.tool > 0 && move.tool_number != seen.tool)
      return differs("tool " + std::to_string(seen.tool));
    if (move.kind == MoveKind::dwell && std::abs(move.feed_mm_min - seen.feed_mm_min) > 1e-4)
      return differs("seconds");
    if (stands(move.kind))
      continue;
    if (norm(move.to - seen.to) > std::sqrt(3.0) * near_mm)
      return differs("ends " + std::to_string(norm(move.to - seen.to)) + " mm away");
    if (std::abs(move.spindle_rpm - seen.spindle_rpm) > 1e-4 + 1e-6 * std::abs(move.spindle_rpm))
      return differs("spindle " + std::to_string(seen.spindle_rpm));
    if (((move.coolant & kMist) != 0) != seen.mist || ((move.coolant & kFlood) != 0) != seen.flood)
      return differs("coolant");
    at = seen.to;
    if (move.kind == MoveKind::rapid)
      continue;
    if (std::abs(move.feed_mm_min - seen.feed_mm_min) >
        1e-4 * (witness.inch ? 25.4 : 1) + 1e-6 * static_cast<double>(move.feed_mm_min))
      return differs("feed " + std::to_string(seen.feed_mm_min));
    if (move.kind != MoveKind::arc)
      continue;
    if (move.plane != seen.plane || (move.turn_rad > 0) != (seen.rotation > 0) ||
        move.full_turns + 1 != std::abs(seen.rotation))
      return differs("plane, sense or turns of an arc");
    if (norm(move.centre - seen.centre) > std::sqrt(2.0) * near_mm)
      return differs("another centre");
  }
  while (stays())
    ++w;
  return w == witness.moves.size() ? "" : "the witness goes on";
}

} // namespace snagmap::witness
