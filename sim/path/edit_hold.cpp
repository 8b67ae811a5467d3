// Changes that leave the sheet more to hold by.
#include "sim/path/edit.hpp"
#include "sim/path/writer.hpp"

#include <algorithm>
#include <cmath>
#include <map>

namespace snagmap {
namespace {

constexpr double kSagitta_mm = 5e-4; // chords stand this far off an arc at most
constexpr double kPi = 3.14159265358979323846;

/// The circle of an upright arc: where on it the move begins, and how far it turns.
struct Upright {
  double begin_rad, turn_rad, radius_mm, centre_z_mm;
  bool z_first; ///< the plane's axes are z, x (else y, z)
};
Upright upright_of(const Move& move) {
  const bool z_first = move.plane == ArcPlane::zx;
  const Vec2 arm = (z_first ? Vec2{move.from.z, move.from.x} : Vec2{move.from.y, move.from.z}) - move.centre;
  return {std::atan2(arm.y, arm.x), arc_turn_rad(move), norm(arm), z_first ? move.centre.x : move.centre.y,
          z_first};
}

/// Shares of the move, 0 and 1 among them, at which it passes any of the angles on any of its turns.
std::vector<double> shares_at(const Move& move, const std::vector<double>& angles_rad) {
  const Upright circle = upright_of(move);
  std::vector<double> shares{0, 1};
  for (const double angle : angles_rad)
    for (int k = -move.full_turns - 3; k <= move.full_turns + 3; ++k) {
      const double share = (angle - circle.begin_rad + 2 * kPi * k) / circle.turn_rad;
      if (share > 1e-9 && share < 1 - 1e-9)
        shares.push_back(share);
    }
  std::sort(shares.begin(), shares.end());
  return shares;
}

/// The move parted where it passes a height.
std::vector<Move> parts_at_height(const Move& move, double z_mm) {
  std::vector<double> shares{0, 1};
  if (move.kind != MoveKind::arc || move.plane == ArcPlane::xy) { // height goes evenly along the way
    const double share = (z_mm - move.from.z) / (move.to.z - move.from.z);
    if (share > 1e-9 && share < 1 - 1e-9)
      shares = {0, share, 1};
  } else {
    const Upright circle = upright_of(move);
    const double up = (z_mm - circle.centre_z_mm) / circle.radius_mm;
    if (std::abs(up) < 1)
      shares = shares_at(move, circle.z_first ? std::vector<double>{std::acos(up), -std::acos(up)}
                                              : std::vector<double>{std::asin(up), kPi - std::asin(up)});
  }
  std::vector<Move> parts;
  for (std::size_t k = 0; k + 1 < shares.size(); ++k)
    parts.push_back(shares.size() == 2 ? move : part_of(move, shares[k], shares[k + 1]));
  return parts;
}

/// A part that will be laid on a level: lines stay lines and level arcs arcs. An upright arc goes to and fro
/// on one line there; when it goes along its plane's normal too, no line or arc follows it and it becomes
/// chords.
std::vector<Move> as_lines_or_level(const Move& part) {
  if (part.kind != MoveKind::arc || part.plane == ArcPlane::xy)
    return {part};
  const Upright circle = upright_of(part);
  const double sideways = circle.z_first ? part.to.y - part.from.y : part.to.x - part.from.x;
  std::vector<double> shares;
  if (std::abs(sideways) < 1e-9) {
    shares = shares_at(part, circle.z_first ? std::vector<double>{0.5 * kPi, -0.5 * kPi}
                                            : std::vector<double>{0, kPi});
  } else {
    const double step = 2 * std::acos(std::max(0.0, 1 - kSagitta_mm / circle.radius_mm));
    const int chords = std::max(2, static_cast<int>(std::ceil(std::abs(circle.turn_rad) / step)));
    for (int k = 0; k <= chords; ++k)
      shares.push_back(static_cast<double>(k) / chords);
  }
  std::vector<Move> lines;
  for (std::size_t k = 0; k + 1 < shares.size(); ++k) {
    Move line = part;
    line.kind = MoveKind::line;
    line.turn_rad = 0, line.full_turns = 0;
    line.from = point_at(part, shares[k]);
    line.to = point_at(part, shares[k + 1]);
    lines.push_back(line);
  }
  return lines;
}

} // namespace

std::optional<Path> with_skin(const Path& path, double least_z_mm) {
  Path out = path;
  out.moves.clear();
  bool any = false;
  const auto add = [&](Move move) {
    move.from.z = std::max(move.from.z, least_z_mm);
    move.to.z = std::max(move.to.z, least_z_mm);
    out.moves.push_back(move);
  };
  for (const Move& move : path.moves) {
    if (lowest_z_mm(move) >= least_z_mm - kSamePlace_mm) {
      add(move);
      continue;
    }
    any = true;
    for (const Move& part : parts_at_height(move, least_z_mm))
      if (lowest_z_mm(part) >= least_z_mm - kSamePlace_mm)
        add(part);
      else
        for (const Move& flat : as_lines_or_level(part))
          add(flat);
  }
  if (!any)
    return {};
  return out;
}

std::optional<Path> with_tabs(const Path& path, double top_mm, double through_z_mm, int count,
                              double width_mm, double height_mm) {
  std::map<std::size_t, std::size_t> loops; // first move -> one past the last
  for (const PathLayer& layer : path_layers(path, top_mm))
    if (layer.level_mm <= through_z_mm + kSamePlace_mm)
      for (const PathLoop& loop : closed_loops(path, layer))
        loops[loop.first] = loop.last;
  Path out = path;
  out.moves.clear();
  bool any = false;
  const auto add = [&](Move move, bool raised) {
    if (raised)
      move.from.z = move.to.z = through_z_mm + height_mm;
    if (!out.moves.empty() && !same_place(out.moves.back().to, move.from)) {
      Move upright = move;
      upright.kind = MoveKind::line;
      upright.turn_rad = 0, upright.full_turns = 0;
      upright.from = out.moves.back().to;
      upright.to = move.from;
      out.moves.push_back(upright);
    }
    out.moves.push_back(move);
  };
  for (std::size_t i = 0; i < path.moves.size();) {
    const auto loop = loops.find(i);
    if (loop == loops.end()) {
      add(path.moves[i++], false);
      continue;
    }
    double total = 0;
    for (std::size_t k = i; k < loop->second; ++k)
      total += length_mm(path.moves[k]);
    const bool room = total > 2 * count * width_mm;
    any = any || room;
    for (double at = 0; i < loop->second; ++i) {
      const double length = length_mm(path.moves[i]);
      std::vector<double> shares{0, 1};
      for (int k = 0; k < count && room; ++k)
        for (const double side : {-0.5, 0.5}) {
          const double share = ((k + 0.5) * total / count + side * width_mm - at) / length;
          if (share > 0 && share < 1)
            shares.push_back(share);
        }
      std::sort(shares.begin(), shares.end());
      for (std::size_t k = 0; k + 1 < shares.size(); ++k) {
        const double middle = at + 0.5 * (shares[k] + shares[k + 1]) * length;
        const double off = std::abs(std::remainder(middle - 0.5 * total / count, total / count));
        add(shares.size() == 2 ? path.moves[i] : part_of(path.moves[i], shares[k], shares[k + 1]),
            room && off < 0.5 * width_mm);
      }
      at += length;
    }
  }
  if (!any)
    return {};
  return out;
}

} // namespace snagmap
