#include "sim/path/writer.hpp"

#include <algorithm>

namespace snagmap {
namespace {

constexpr double kOverTop_mm = 0.5; // rapids end this far over the sheet, the rest is plunged
constexpr double kClear_mm = 5;     // clearance over the sheet where the program shows none

bool stands(const Move& move) {
  return move.kind == MoveKind::dwell || move.kind == MoveKind::stop || move.kind == MoveKind::tool_change;
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
  std::vector<Move> standing; // before the first feed move of a tool: they belong to its change
  for (const Move& move : path.moves) {
    if (stands(move))
      standing.push_back(move);
    if (!is_feed(move))
      continue;
    change_.emplace(move.tool, standing);
    standing.clear();
  }
}

void PathWriter::copy(Move move) {
  if (!out_.moves.empty() && !same_place(out_.moves.back().to, move.from)) {
    if (is_feed(move)) {
      travel_to(move.from, move);
    } else if (stands(move)) {
      move.from = move.to = out_.moves.back().to;
    } else {
      if (norm(xy(move.to - out_.moves.back().to)) > kSamePlace_mm)
        lift(move);
      move.from = out_.moves.back().to;
    }
  }
  out_.moves.push_back(move);
}

void PathWriter::copy_range(std::size_t first, std::size_t last) {
  for (std::size_t i = first; i < last; ++i)
    copy(path_.moves[i]);
}

void PathWriter::layer(std::size_t first, std::size_t last, double up_mm) {
  for (std::size_t i = first; i < last; ++i) {
    Move move = path_.moves[i];
    move.from.z += up_mm;
    move.to.z += up_mm;
    if (out_.moves.empty() || move.tool != out_.moves.back().tool)
      change_to(move);
    copy(move);
  }
}

void PathWriter::hole(Vec3 at, const Move& like) {
  travel_to(at, like);
  lift(like);
}

void PathWriter::lift(const Move& like) {
  if (out_.moves.empty() || out_.moves.back().to.z >= clear_mm_)
    return;
  const Vec3 here = out_.moves.back().to;
  go(MoveKind::rapid, {here.x, here.y, clear_mm_}, like);
}

void PathWriter::go(MoveKind kind, Vec3 to, const Move& like) {
  const Vec3 from = out_.moves.empty() ? to : out_.moves.back().to;
  if (same_place(from, to))
    return;
  Move move;
  move.kind = kind;
  move.from = from;
  move.to = to;
  move.feed_mm_min = kind == MoveKind::rapid ? 0 : static_cast<float>(plunge_mm_min_);
  move.spindle_rpm = like.spindle_rpm;
  move.line = like.line;
  move.tool = like.tool;
  move.corner = like.corner;
  move.blend_um = like.blend_um;
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
  for (Move move : change_[like.tool]) {
    if (!out_.moves.empty())
      move.from = move.to = out_.moves.back().to;
    move.tool = like.tool;
    out_.moves.push_back(move);
  }
}

} // namespace snagmap
