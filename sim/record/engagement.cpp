#include "sim/record/engagement.hpp"

#include "sim/record/air_probe.hpp"
#include "sim/threads/parallel.hpp"

#include <atomic>
#include <cstring>

namespace snagmap {
namespace {

constexpr double kTwoPi = 6.283185307179586476925286766559;

/// Sums and bounds that come out the same in any order: whole numbers of 1e-6 mm3 and 1e-6 mm.
struct Tally {
  std::atomic<std::int64_t> volume{0};
  std::atomic<std::int64_t> low{INT64_MAX}, high{INT64_MIN};
};
template <class T> void lower(std::atomic<T>& to, T value) {
  for (T now = to.load(std::memory_order_relaxed); value < now && !to.compare_exchange_weak(now, value);) {
  }
}
template <class T> void raise(std::atomic<T>& to, T value) {
  for (T now = to.load(std::memory_order_relaxed); value > now && !to.compare_exchange_weak(now, value);) {
  }
}
std::int64_t nanometres(double mm) {
  return std::llround(mm * 1e6);
}

/// Lays the samples along the path.
void lay_samples(const Path& path, double sample_mm, Engagement& out) {
  for (std::size_t m = 0; m < path.moves.size(); ++m) {
    out.first_sample.push_back(static_cast<std::uint32_t>(out.samples.size()));
    const double length = length_mm(path.moves[m]);
    if (!(length > 0))
      continue;
    const int count = static_cast<int>(std::min(1e6, std::ceil(length / sample_mm)));
    for (int n = 0; n < count; ++n) {
      EngagementSample sample;
      sample.move = static_cast<std::uint32_t>(m);
      sample.s0 = static_cast<float>(n) / static_cast<float>(count);
      sample.s1 = static_cast<float>(n + 1) / static_cast<float>(count);
      out.samples.push_back(sample);
    }
  }
  out.first_sample.push_back(static_cast<std::uint32_t>(out.samples.size()));
}

struct Tallies {
  std::vector<Tally> samples;
  std::vector<std::atomic<std::uint32_t>> first, last; // by move: shares in units of 1e-9
};
constexpr double kShare = 1e9;

/// When the move takes height z of the column: as it comes over it, or on a slope as its tip gets there.
double share_taking(const Sweep& sweep, const Heights& h, double z) {
  const double rise = sweep.zb - sweep.za;
  if (rise == 0)
    return h.s0;
  const double s =
      rise < 0 ? (z - h.low) / -rise : (z - h.high) / rise; // back from where the extreme is reached
  const double end = std::min(1.0, 2 * h.s - h.s0);         // the window is even about its middle
  return std::clamp(rise < 0 ? end - s : end + s, h.s0, std::max(h.s0, end));
}

void tally_interval(const RecordData& data, const Engagement& lay, const CutInterval& cut, Vec2 p,
                    double area, Tallies& out) {
  const std::uint32_t move = cut.stamp - 1;
  const std::uint32_t first = lay.first_sample[move], count = lay.first_sample[move + 1] - first;
  if (count == 0)
    return;
  const std::uint32_t s_first = data.sweeps.count_at(move), s_last = data.sweeps.count_at(move + 1);
  // The sweep and window that hold the interval; of several the earliest.
  const double middle = 0.5 * (static_cast<double>(cut.low) + cut.high);
  Sweep taker;
  bool found = false;
  Heights taken{};
  std::uint32_t index = 0;
  for (std::uint32_t n = s_first; n < s_last && !found; ++n) {
    const Sweep sweep = data.sweeps[n];
    for (const BodyPart& part : data.bodies[sweep.body].flutes) {
      HeightsList list;
      heights_over(sweep, data.sweeps, part, p, list);
      for (int k = 0; k < list.count && !found; ++k) {
        const Heights& h = list.at[static_cast<std::size_t>(k)];
        if (h.low > middle || h.high < middle)
          continue;
        taker = sweep;
        found = true;
        taken = h;
        index = n - s_first;
      }
    }
  }
  if (!found)
    return;
  const bool slope = taker.za != taker.zb;
  const int pieces = slope ? 8 : 1;
  const double step = (static_cast<double>(cut.high) - cut.low) / pieces, sweeps = s_last - s_first;
  for (int n = 0; n < pieces; ++n) {
    const double z = cut.low + (n + 0.5) * step;
    const double share = (index + (slope ? share_taking(taker, taken, z) : taken.s0)) / sweeps;
    Tally& tally = out.samples[first + std::min(count - 1, static_cast<std::uint32_t>(share * count))];
    tally.volume.fetch_add(std::llround(step * area * 1e6), std::memory_order_relaxed);
    lower(tally.low, nanometres(z - 0.5 * step));
    raise(tally.high, nanometres(z + 0.5 * step));
    const std::uint32_t at = static_cast<std::uint32_t>(std::lround(share * kShare));
    lower(out.first[move], at);
    raise(out.last[move], at);
  }
}

void tally_tile(const RecordData& data, const Engagement& lay, std::size_t n, Tallies& out) {
  const Tile& tile = data.tiles[n];
  if (tile.cuts.empty())
    return;
  const ColumnGrid& grid = data.grid;
  const int i0 = static_cast<int>(n % static_cast<std::size_t>(grid.tiles_x)) << kTileShift;
  const int j0 = static_cast<int>(n / static_cast<std::size_t>(grid.tiles_x)) << kTileShift;
  for (int cell = 0; cell < kTileColumns; ++cell) {
    const Vec2 p{grid.x_of(i0 + cell % kTileSide), grid.y_of(j0 + cell / kTileSide)};
    for (std::uint32_t k = tile.offset[static_cast<std::size_t>(cell)];
         k < tile.offset[static_cast<std::size_t>(cell) + 1]; ++k)
      if (tile.cuts[k].stamp > 0)
        tally_interval(data, lay, tile.cuts[k], p, grid.dx * grid.dy, out);
  }
}

/// Foam round the cutter at height z: 64 directions, the ends of every arc then halved down to 1e-4 rad.
void immerse(AirProbe& probe, Vec2 centre, double radius, Vec2 heading, Immersion& out) {
  const auto foam = [&](double angle) {
    return !probe.air({centre.x + radius * std::cos(angle), centre.y + radius * std::sin(angle)});
  };
  constexpr double kStep = kTwoPi / kEngagementSectors;
  for (int k = 0; k < kEngagementSectors; ++k)
    if (foam((k + 0.5) * kStep))
      out.sectors |= std::uint64_t{1} << k;
  if (out.sectors == 0)
    return;
  const double ahead = std::atan2(heading.y, heading.x);
  if (out.sectors == ~std::uint64_t{0}) {
    out.angle_rad = out.to_rad = static_cast<float>(kTwoPi);
    return;
  }
  const auto is_foam = [&](int k) { return (out.sectors >> (k & (kEngagementSectors - 1)) & 1) != 0; };
  const auto edge = [&](double in, double far) {
    for (int n = 0; n < 10; ++n)
      (foam(0.5 * (in + far)) ? in : far) = 0.5 * (in + far);
    return in;
  };
  double longest = 0, total = 0;
  for (int k = 0; k < kEngagementSectors; ++k) {
    if (!is_foam(k) || is_foam(k + kEngagementSectors - 1))
      continue; // only where an arc begins
    int end = k;
    while (is_foam(end + 1))
      ++end;
    const double from = edge((k + 0.5) * kStep, (k - 0.5) * kStep),
                 to = edge((end + 0.5) * kStep, (end + 1.5) * kStep);
    total += to - from;
    if (to - from <= longest)
      continue;
    longest = to - from;
    const double start = from - ahead - kTwoPi * std::round((0.5 * (from + to) - ahead) / kTwoPi);
    out.from_rad = static_cast<float>(start);
    out.to_rad = static_cast<float>(start + longest);
  }
  out.angle_rad = static_cast<float>(total);
}

void immerse_sample(const RecordData& data, const Path& path, AirProbe& probe, EngagementSample& sample) {
  const std::uint32_t first = data.sweeps.count_at(sample.move), last = data.sweeps.count_at(sample.move + 1);
  const double s = 0.5 * (static_cast<double>(sample.s0) + sample.s1), along = s * (last - first);
  const std::uint32_t index = std::min(last - 1, first + static_cast<std::uint32_t>(along));
  const Sweep sweep = data.sweeps[index];
  const double own = along - (index - first);
  const Body& body = data.bodies[sweep.body];
  const Vec3 tip = point_at(path.moves[sample.move], s);
  const Box3& box = data.grid.box;
  const double low = std::max(tip.z + body.flute_low, box.low.z),
               high = std::min(tip.z + body.flute_high, box.high.z);
  if (high <= low)
    return;
  const Vec2 heading = heading_at(path.moves[sample.move], s);
  for (int k = 0; k < kEngagementLevels; ++k) {
    Immersion& level = sample.levels[static_cast<std::size_t>(k)];
    const double z = low + (k + 0.5) / kEngagementLevels * (high - low);
    level.z_mm = static_cast<float>(z);
    double radius = 0;
    for (const BodyPart& part : body.flutes)
      radius = std::max(radius, part.radius_at(z - tip.z));
    if (radius <= 0)
      continue;
    probe.aim(xy(tip), radius + 1e-3, z, sample.move);
    for (std::uint32_t n = first; n < index; ++n)
      probe.add_part(data.sweeps[n], 1);
    probe.add_part(sweep, own);
    immerse(probe, xy(tip), radius, heading, level);
  }
}

} // namespace

Engagement engagement_of(const RemovalRecord& record, const Path& path, const EngagementOptions& options) {
  const RecordData& data = record.data();
  Engagement out;
  lay_samples(path, options.sample_mm, out);
  Tallies tallies;
  tallies.samples = std::vector<Tally>(out.samples.size());
  tallies.first = std::vector<std::atomic<std::uint32_t>>(path.moves.size());
  tallies.last = std::vector<std::atomic<std::uint32_t>>(path.moves.size());
  for (auto& first : tallies.first)
    first = static_cast<std::uint32_t>(2 * kShare);
  parallel_each(data.tiles.size(), [&](std::size_t n) { tally_tile(data, out, n, tallies); });
  for (std::size_t m = 0; m < path.moves.size(); ++m) {
    out.first_contact.push_back(static_cast<float>(tallies.first[m] / kShare));
    out.last_contact.push_back(static_cast<float>(tallies.last[m] / kShare));
  }
  for (std::size_t n = 0; n < out.samples.size(); ++n) {
    EngagementSample& sample = out.samples[n];
    const Tally& tally = tallies.samples[n];
    sample.removed_mm3 = static_cast<float>(static_cast<double>(tally.volume) * 1e-6);
    if (tally.volume > 0) {
      sample.low_mm = static_cast<float>(static_cast<double>(tally.low) * 1e-6);
      sample.high_mm = static_cast<float>(static_cast<double>(tally.high) * 1e-6);
    }
  }
  for (std::size_t n = 0; n < out.samples.size(); ++n) {
    const bool now = out.samples[n].removed_mm3 > 0;
    out.samples[n].enters = now && (n == 0 || out.samples[n - 1].removed_mm3 == 0);
    out.samples[n].leaves = now && (n + 1 == out.samples.size() || out.samples[n + 1].removed_mm3 == 0);
  }
  if (options.immersion) {
    parallel_pieces(out.samples.size(), 64, [&](std::size_t first, std::size_t last) {
      AirProbe probe(data);
      for (std::size_t n = first; n < last; ++n)
        immerse_sample(data, path, probe, out.samples[n]);
    });
  }
  return out;
}

} // namespace snagmap
