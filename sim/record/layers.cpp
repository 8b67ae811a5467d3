#include "sim/record/layers.hpp"

#include "models/base/constants.hpp"
#include "sim/swept/swept.hpp"

#include <cstring>
#include <limits>

namespace snagmap {
namespace {

/// The plan of a sweep's way, whichever end it begins at, the cutter, and the tip's heights at the two ends.
struct Way {
  double v[6];
  std::uint64_t kind;
  double za, zb;
  bool same_plan(const Way& other) const { return std::equal(v, v + 6, other.v) && kind == other.kind; }
  std::uint64_t hash() const {
    std::uint64_t h = kind;
    for (const double d : v) {
      std::uint64_t bits;
      std::memcpy(&bits, &d, sizeof bits);
      h = (h ^ bits) * 0x9e3779b97f4a7c15ull;
      h ^= h >> 32;
    }
    return h;
  }
  /// Nowhere higher than the other. Heights go linearly along a way, so its ends tell.
  bool under(const Way& other) const { return za <= other.za && zb <= other.zb; }
  double low() const { return std::min(za, zb); }
  double high() const { return std::max(za, zb); }
};
Way way_of(const Sweep& sweep, const Sweeps& sweeps) {
  Way way{{sweep.a.x, sweep.a.y, sweep.b.x, sweep.b.y, 0, 0},
          static_cast<std::uint64_t>(sweep.body) << 8,
          sweep.za,
          sweep.zb};
  if (sweep.kind == SweepKind::arc) {
    const SweptArc& arc = sweeps.arcs[sweep.arc];
    way.v[4] = arc.centre.x, way.v[5] = arc.centre.y;
    // Between the same ends turns differ by whole ones.
    way.kind |= static_cast<std::uint64_t>(std::lround(std::abs(arc.turn) / kPi)) << 32;
    if (arc.turn > 0)
      way.kind |= 1;
  }
  way.kind |= static_cast<std::uint64_t>(sweep.kind) << 1;
  if (sweep.b.x < sweep.a.x || (sweep.b.x == sweep.a.x && sweep.b.y < sweep.a.y)) {
    std::swap(way.v[0], way.v[2]), std::swap(way.v[1], way.v[3]);
    std::swap(way.za, way.zb);
    if (sweep.kind == SweepKind::arc)
      way.kind ^= 1; // backwards the same arc turns the other way
  }
  if (sweep.kind == SweepKind::upright) // it covers the same going up
    way.za = way.low(), way.zb = std::max(sweep.za, sweep.zb);
  return way;
}

/// A cutter whose flutes grow no narrower upward: one that goes deeper along the same way takes all that the
/// layer before it took, up to its own flutes' end.
bool grows_upward(const Body& body) {
  return body.flutes.size() == 1 && body.flutes[0].over.flat();
}

/// Slots for what is known of each way, found by its plan; `sweep` of a slot is one of that way, kNever in an
/// empty one.
template <class Known> class WayTable {
public:
  explicit WayTable(std::size_t sweeps) {
    std::size_t size = 64;
    while (size < 2 * sweeps)
      size *= 2;
    slots_.resize(size);
  }
  /// `way_of_sweep` gives the way of a sweep by its number.
  template <class WayOf> Known& at(const Way& way, const WayOf& way_of_sweep) {
    std::size_t slot = way.hash() & (slots_.size() - 1);
    while (slots_[slot].sweep != kNever && !way_of_sweep(slots_[slot].sweep).same_plan(way))
      slot = (slot + 1) & (slots_.size() - 1);
    return slots_[slot];
  }

private:
  std::vector<Known> slots_;
};

} // namespace

std::vector<float> fresh_heights(const RecordData& data) {
  struct Taken {                  // what sweeps of one way have taken so far, in one piece
    std::uint32_t sweep = kNever; // the lowest
    float low = 0, high = 0;      // between them all of the flutes' width is gone
  };
  const auto known_way = [&](std::uint32_t n) { return way_of(data.sweeps[n], data.sweeps); };
  WayTable<Taken> table(data.sweeps.size());
  std::vector<float> fresh(data.sweeps.size(), std::numeric_limits<float>::max());
  const float top = static_cast<float>(data.grid.box.high.z);
  for (std::size_t n = 0; n < data.sweeps.size(); ++n) {
    const Sweep sweep = data.sweeps[n];
    if (sweep.kind == SweepKind::none)
      continue;
    const Body& body = data.bodies[sweep.body];
    const Way way = way_of(sweep, data.sweeps);
    if (!grows_upward(body) || static_cast<float>(way.low() + body.flute_low) >= top)
      continue;
    const BodyPart& part = body.flutes[0];
    const bool upright = sweep.kind == SweepKind::upright;
    // From where its full width is gone all along the way, and up to where.
    const float wide = static_cast<float>((upright ? way.low() : way.high()) + part.under.at(part.radius)),
                reach = static_cast<float>((upright ? way.high() : way.low()) + part.high);
    Taken& taken = table.at(way, known_way);
    if (taken.sweep == kNever) {
      taken = {static_cast<std::uint32_t>(n), wide, reach};
      continue;
    }
    const bool to_the_top = taken.high >= top || static_cast<float>(way.high() + part.high) <= taken.high;
    if (reach < taken.low || !to_the_top)
      continue; // a piece of its own
    fresh[n] = taken.low;
    const Way lowest = known_way(taken.sweep);
    const bool deeper = upright ? way.za < lowest.za : !lowest.under(way);
    if (!deeper)
      fresh[n] = std::numeric_limits<float>::lowest();
    taken.low = std::min(taken.low, wide);
    if (deeper && (upright || way.under(lowest)))
      taken.sweep = static_cast<std::uint32_t>(n);
  }
  return fresh;
}

std::uint32_t SweepStacks::latest(std::uint32_t n, std::uint32_t done) const {
  if (of[n] == kNever)
    return n;
  const auto begin = members.begin() + first[of[n]], end = members.begin() + first[of[n] + 1];
  return *(std::lower_bound(begin, end, done) - 1);
}

SweepStacks stacks_of(const RecordData& data, const ChordRuns& runs) {
  struct Latest {
    std::uint32_t sweep = kNever;
  };
  // A ramp and a level move along it are two ways: the ramp is as low as the other at one end alone.
  constexpr std::uint64_t kSteady = std::uint64_t(1) << 48;
  const auto is_steady = [&](const Sweep& sweep) {
    return data.bodies[sweep.body].flutes[0].flat && is_level(sweep);
  };
  const auto own_way = [&](const Sweep& sweep) {
    Way way = way_of(sweep, runs.arcs());
    way.kind |= is_steady(sweep) ? kSteady : 0;
    return way;
  };
  const auto known_way = [&](std::uint32_t n) { return own_way(runs.joined(n)); };
  const std::uint32_t count = static_cast<std::uint32_t>(data.sweeps.size());
  SweepStacks stacks;
  stacks.low.assign(count, 0), stacks.high.assign(count, 0);
  stacks.idle.assign(count, 0);
  stacks.of.assign(count, kNever);
  WayTable<Latest> table(count);
  const double top = data.grid.box.high.z;
  std::uint32_t number = 0; // of stacks
  for (std::uint32_t n = 0; n < count; n = runs.end(n)) {
    const Sweep sweep = runs.joined(n);
    if (sweep.kind == SweepKind::none || !grows_upward(data.bodies[sweep.body]))
      continue;
    const BodyPart& part = data.bodies[sweep.body].flutes[0];
    const bool steady = is_steady(sweep);
    const Way way = own_way(sweep);
    const double low = way.low() + part.low, high = way.high() + part.high;
    // How far up all the places over its lower side are gone: on a slope, as far as its lower end reaches.
    const double reach = sweep.kind == SweepKind::upright ? high : way.low() + part.high;
    Latest& latest = table.at(way, known_way);
    const std::uint32_t before = latest.sweep;
    bool joins = before != kNever;
    if (joins && steady) {
      joins = low <= stacks.high[before] && high >= stacks.low[before];
      if (joins && low >= stacks.low[before] && high <= stacks.high[before]) {
        stacks.idle[n] = 1;
        continue;
      }
    } else if (joins) {
      // Of what changes along the way only layers that go down from the sheet's top are joined.
      const Way above = known_way(before);
      const bool to_the_top = stacks.high[before] >= top;
      if (to_the_top && above.under(way)) {
        stacks.idle[n] = 1;
        continue;
      }
      const double step = sweep.kind == SweepKind::upright ? above.za - way.zb
                                                           : std::max(above.za - way.za, above.zb - way.zb);
      joins = to_the_top && way.under(above) && step <= part.high - part.under.at(part.radius);
    }
    stacks.low[n] = joins ? std::min(low, stacks.low[before]) : low;
    stacks.high[n] = joins ? std::max(steady ? high : reach, stacks.high[before]) : steady ? high : reach;
    if (joins) {
      if (stacks.of[before] == kNever)
        stacks.of[before] = number++;
      stacks.of[n] = stacks.of[before];
    }
    latest.sweep = n;
  }
  stacks.first.assign(number + 1, 0);
  for (const std::uint32_t stack : stacks.of)
    if (stack != kNever)
      ++stacks.first[stack + 1];
  for (std::uint32_t k = 0; k < number; ++k)
    stacks.first[k + 1] += stacks.first[k];
  stacks.members.resize(stacks.first.back());
  std::vector<std::uint32_t> at(stacks.first.begin(), stacks.first.end() - 1);
  for (std::uint32_t n = 0; n < count; ++n)
    if (stacks.of[n] != kNever)
      stacks.members[at[stacks.of[n]]++] = n;
  return stacks;
}

} // namespace snagmap
