#include "sim/watch/repeats.hpp"

#include <algorithm>
#include <cstring>
#include <tuple>

namespace snagmap {
namespace {

constexpr std::uint32_t kNone = 0xffffffffu;

/// What a move sweeps, whichever end it begins at.
struct Way {
  double v[8];
  int kind[4];
  bool operator==(const Way& other) const {
    return std::equal(v, v + 8, other.v) && std::equal(kind, kind + 4, other.kind);
  }
};
Way way_of(const Move& move) {
  const bool arc = move.kind == MoveKind::arc;
  Vec3 a = move.from, b = move.to;
  double turn = arc ? move.turn_rad : 0;
  if (std::tie(b.x, b.y, b.z) < std::tie(a.x, a.y, a.z)) {
    std::swap(a, b);
    turn = -turn;
  }
  return {{a.x, a.y, a.z, b.x, b.y, b.z, arc ? move.centre.x : 0, arc ? move.centre.y : 0},
          {move.tool, arc ? 1 + static_cast<int>(move.plane) : 0, arc ? move.full_turns : 0,
           turn > 0   ? 1
           : turn < 0 ? -1
                      : 0}};
}
bool same(Vec3 a, Vec3 b) {
  return a.x == b.x && a.y == b.y && a.z == b.z;
}
bool same_motion(const Move& one, const Move& other) {
  return one.kind == other.kind && same(one.from, other.from) && same(one.to, other.to) &&
         one.feed_mm_min == other.feed_mm_min && one.spindle_rpm == other.spindle_rpm;
}

std::uint64_t hash_of(const Way& way) {
  std::uint64_t h = 0;
  const auto add = [&](std::uint64_t bits) {
    h = (h ^ bits) * 0x9e3779b97f4a7c15ull;
    h ^= h >> 32;
  };
  for (const double d : way.v) {
    const double plain = d + 0.0; // no minus zero
    std::uint64_t bits;
    std::memcpy(&bits, &plain, sizeof bits);
    add(bits);
  }
  for (const int k : way.kind)
    add(static_cast<std::uint64_t>(k));
  return h;
}

/// Of one way, forth and back.
struct Seen {
  std::uint32_t latest[2] = {kNone, kNone}; // moves
  std::uint32_t times[2] = {0, 0};          // in a row without a new way between
};

} // namespace

std::vector<char> repeats_of(const Path& path, const std::vector<double>& pass_step_mm, double top_mm) {
  const std::size_t count = path.moves.size();
  std::size_t size = 64;
  while (size < 2 * count)
    size *= 2;
  std::vector<std::uint32_t> slots(size, kNone); // index into `ways`
  std::vector<Seen> ways;
  std::vector<char> repeats(count, 0);
  std::uint32_t newest = 0; // move that last went a way of its own
  for (std::uint32_t n = 0; n < count; ++n) {
    const Move& move = path.moves[n];
    if (!(length_mm(move) > 0) || lowest_z_mm(move) >= top_mm)
      continue;
    const Way way = way_of(move);
    std::size_t slot = hash_of(way) & (size - 1);
    const auto one_of = [&](const Seen& seen) { return std::min(seen.latest[0], seen.latest[1]); };
    while (slots[slot] != kNone && !(way_of(path.moves[one_of(ways[slots[slot]])]) == way))
      slot = (slot + 1) & (size - 1);
    if (slots[slot] == kNone) {
      slots[slot] = static_cast<std::uint32_t>(ways.size());
      ways.emplace_back();
      newest = n;
    }
    Seen& seen = ways[slots[slot]];
    const bool back = seen.latest[0] != kNone && !(same(path.moves[seen.latest[0]].from, move.from) &&
                                                   path.moves[seen.latest[0]].turn_rad == move.turn_rad);
    std::uint32_t& latest = seen.latest[back ? 1 : 0];
    std::uint32_t& times = seen.times[back ? 1 : 0];
    const bool again = latest != kNone && latest >= newest && same_motion(path.moves[latest], move) &&
                       pass_step_mm[latest] == pass_step_mm[n];
    // The first of a row may have cut; what is behind it then is not what the next one sees.
    times = again ? times + 1 : 0;
    repeats[n] = times > kRepeatsLookedFrom;
    latest = n;
  }
  return repeats;
}

} // namespace snagmap
