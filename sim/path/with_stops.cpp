#include "sim/path/with_stops.hpp"

#include "sim/path/writer.hpp"

#include <algorithm>

namespace snagmap {
namespace {

constexpr double kOverTop_mm = 0.5, kClear_mm = 5;

/// Slowest feed of a move that goes down steeply; of any feed move when none does.
float plunge_feed_mm_min(const Path& path) {
  float plunge = 0, any = 0;
  for (const Move& move : path.moves) {
    if (!is_feed(move) || move.feed_mm_min <= 0)
      continue;
    any = any > 0 ? std::min(any, move.feed_mm_min) : move.feed_mm_min;
    if (move.from.z - move.to.z > norm(xy(move.to - move.from)))
      plunge = plunge > 0 ? std::min(plunge, move.feed_mm_min) : move.feed_mm_min;
  }
  return plunge > 0 ? plunge : any;
}

/// Writes what happens at one stop. `like`: the move that is interrupted or comes next.
class StopWriter {
public:
  StopWriter(Path& out, const Move& like, Vec3 here) : out_(out), like_(like), here_(here) {}
  void go(MoveKind kind, double z_mm, float feed_mm_min) {
    if (std::abs(z_mm - here_.z) < kSamePlace_mm)
      return;
    Move move = standing(kind);
    move.to.z = z_mm;
    move.feed_mm_min = feed_mm_min;
    here_ = move.to;
    out_.moves.push_back(move);
  }
  void stand(MoveKind kind, float spindle_rpm, float seconds) {
    Move move = standing(kind);
    move.spindle_rpm = spindle_rpm;
    if (kind == MoveKind::stop)
      move.coolant = 0; // no blast of air where a hand works
    move.feed_mm_min = seconds;
    out_.moves.push_back(move);
  }

private:
  Move standing(MoveKind kind) const {
    Move move = like_;
    move.kind = kind;
    move.from = move.to = here_;
    move.centre = {};
    move.turn_rad = 0;
    move.full_turns = 0;
    move.plane = ArcPlane::xy;
    return move;
  }
  Path& out_;
  const Move& like_;
  Vec3 here_;
};

} // namespace

double clear_height_mm(const Path& path, double top_mm) {
  double highest = top_mm;
  for (const Move& move : path.moves)
    if (move.kind == MoveKind::rapid)
      highest = std::max(highest, move.to.z);
  return highest > top_mm ? highest : top_mm + kClear_mm;
}

Path with_stops(const Path& path, double top_mm, double clear_mm, double run_up_s,
                const std::vector<StopAt>& places) {
  Path out = path;
  out.moves.clear();
  const float plunge = plunge_feed_mm_min(path);
  auto next = places.begin();
  for (std::size_t i = 0; i < path.moves.size(); ++i) {
    const Move& move = path.moves[i];
    double done = 0;
    for (; next != places.end() && next->move == i; ++next) {
      if (next->share > done && next->share < 1) {
        out.moves.push_back(part_of(move, done, next->share));
        done = next->share;
      }
      const Vec3 here = point_at(move, done);
      StopWriter writer(out, move, here);
      writer.go(MoveKind::rapid, std::max(clear_mm, here.z), 0);
      writer.stand(MoveKind::stop, 0, 0);
      if (move.spindle_rpm != 0) {
        writer.stand(MoveKind::dwell, move.spindle_rpm, 0);
        if (run_up_s > 0)
          writer.stand(MoveKind::dwell, move.spindle_rpm, static_cast<float>(run_up_s));
      }
      writer.go(MoveKind::rapid, std::max(here.z, top_mm + kOverTop_mm), 0);
      writer.go(MoveKind::line, here.z, plunge);
    }
    out.moves.push_back(done > 0 ? part_of(move, done, 1) : move);
  }
  return out;
}

} // namespace snagmap
