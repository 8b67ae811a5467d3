#include "sim/path/writer.hpp"

#include <algorithm>

namespace snagmap {
namespace {

constexpr double kOverTop_mm = 0.5; // rapids end this far over the sheet, the rest is plunged
constexpr double kClear_mm = 5;     // clearance over the sheet where the program shows none

bool stands(const Move& move) {
  return move.kind == MoveKind::dwell || move.kind == MoveKind::stop || move.kind == MoveKind::tool_change;
}

std::pair<int, int> tool_of(const Move& move) {
  return {move.tool, move.tool_number};
}

/// With the cutter, speed and coolant in force; a spindle that was stopped for it stays stopped.
void stand_with(Move& move, const Move& before) {
  move.tool = before.tool;
  move.tool_number = before.tool_number;
  move.length_on = before.length_on;
  move.coolant = before.coolant;
  if (move.spindle_rpm != 0)
    move.spindle_rpm = before.spindle_rpm;
}

} // namespace

PathWriter::PathWriter(const Path& path, double top_mm)
    : path_(path), top_mm_(top_mm), clear_mm_(top_mm + kClear_mm) {
  for (const Move& move : path.moves)
    if (move.kind == MoveKind::rapid && move.to.z > top_mm) {
      clear_mm_ = move.to.z; // the program's own height
      break;
    }
  for (const Move& move : path.moves)
    if (is_feed(move) && move.to.z < move.from.z - kSamePlace_mm &&
        norm(xy(move.to - move.from)) < kSamePlace_mm) {
      plunge_mm_min_ = move.feed_mm_min;
      break;
    }
  out_.inch = path.inch;
  out_.notes = path.notes;
  out_.words = path.words;
  std::vector<Move> standing; // before the first feed move of a tool: they belong to its change
  for (const Move& move : path.moves) {
    if (stands(move))
      standing.push_back(move);
    if (!is_feed(move))
      continue;
    change_.emplace(tool_of(move), standing);
    standing.clear();
  }
}

void PathWriter::copy(Move move) {
  if (!out_.moves.empty() && move.kind != MoveKind::tool_change &&
      tool_of(move) != tool_of(out_.moves.back())) {
    if (is_feed(move))
      change_to(move);
    stand_with(move, out_.moves.back()); // travel and stands need no change
  }
  if (!out_.moves.empty() && !same_place(out_.moves.back().to, move.from)) {
    if (is_feed(move)) {
      travel_to(move.from, move);
    } else if (stands(move)) {
      move.from = move.to = out_.moves.back().to;
    } else {
      if (norm(xy(move.to - out_.moves.back().to)) > kSamePlace_mm) {
        lift(move);
        go(MoveKind::rapid, {move.to.x, move.to.y, std::max(move.to.z, out_.moves.back().to.z)}, move);
      }
      move.from = out_.moves.back().to;
      if (same_place(move.from, move.to))
        return;
    }
  }
  out_.moves.push_back(move);
}

void PathWriter::copy_range(std::size_t first, std::size_t last) {
  for (std::size_t i = first; i < last; ++i)
    copy(path_.moves[i]);
  copied_ = std::max(copied_, last);
}

void PathWriter::layer(std::size_t first, std::size_t last, double up_mm) {
  for (std::size_t i = first; i < last; ++i)
    copy(shifted(path_.moves[i], {0, 0, up_mm}));
}

void PathWriter::stands_before(const PathLayer& layer) {
  for (const std::size_t i : layer.before)
    if (i >= copied_)
      copy(path_.moves[i]);
}

void PathWriter::hole(Vec3 at, const Move& like) {
  travel_to(at, like);
  lift(like);
}

void PathWriter::lift(const Move& like) {
  // The cutter goes up as it has cut: another speed or tool begins over the sheet.
  if (out_.moves.empty() || out_.moves.back().to.z >= clear_mm_)
    return;
  const Vec3 here = out_.moves.back().to;
  Move up = out_.moves.back();
  up.line = like.line;
  go(MoveKind::rapid, {here.x, here.y, clear_mm_}, up);
}

void PathWriter::go(MoveKind kind, Vec3 to, const Move& like) {
  const Vec3 from = out_.moves.empty() ? to : out_.moves.back().to;
  if (same_place(from, to))
    return;
  Move move = like; // spindle, tool, coolant, path mode and line
  move.kind = kind;
  move.from = from;
  move.to = to;
  move.centre = {};
  move.turn_rad = 0;
  move.full_turns = 0;
  move.plane = ArcPlane::xy;
  move.feed_mm_min = kind == MoveKind::rapid ? 0 : static_cast<float>(plunge_mm_min_);
  out_.moves.push_back(move);
}

void PathWriter::travel_to(Vec3 to, const Move& like) {
  lift(like);
  go(MoveKind::rapid, {to.x, to.y, std::max(to.z, clear_mm_)}, like);
  if (to.z < top_mm_)
    go(MoveKind::rapid, {to.x, to.y, top_mm_ + kOverTop_mm}, like);
  go(to.z < top_mm_ ? MoveKind::line : MoveKind::rapid, to, like);
}

void PathWriter::change_to(const Move& like) {
  lift(like);
  const std::vector<Move>& standing = change_[tool_of(like)];
  const bool has_change = std::any_of(standing.begin(), standing.end(),
                                      [](const Move& m) { return m.kind == MoveKind::tool_change; });
  const Vec3 here = out_.moves.empty() ? like.from : out_.moves.back().to;
  if (!has_change && !out_.moves.empty()) { // the cutter that the program began with comes back
    Move change = like;
    change.kind = MoveKind::tool_change;
    change.from = change.to = here;
    change.spindle_rpm = 0;
    change.feed_mm_min = 0;
    out_.moves.push_back(change);
  }
  bool fetched = !has_change; // what stands before the change still stands with the cutter before
  for (Move move : standing) {
    fetched = fetched || move.kind == MoveKind::tool_change;
    move.from = move.to = here;
    if (fetched || out_.moves.empty()) {
      move.tool = like.tool;
      move.tool_number = like.tool_number;
    } else {
      stand_with(move, out_.moves.back());
    }
    out_.moves.push_back(move);
  }
}

} // namespace snagmap
