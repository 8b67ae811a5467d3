#include "sim/probe/engagement.hpp"

#include "models/base/crossing.hpp"
#include "sim/probe/air_probe.hpp"
#include "sim/probe/removed.hpp"
#include "sim/threads/parallel.hpp"

namespace snagmap {
namespace {

constexpr double kTwoPi = 6.283185307179586476925286766559;
constexpr double kEdge_rad = 1e-4; // so near an edge of foam is known

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

/// Shares what a part of the move's foam is between the samples it leaves in.
void add_part(const RemovedPart& part, double from, double to, std::uint32_t first, std::uint32_t count,
              Engagement& out, std::vector<double>& volumes) {
  const auto at = [&](double share) {
    return std::min(count - 1, static_cast<std::uint32_t>(share * count));
  };
  const double span = to - from;
  for (std::uint32_t k = at(from); k <= at(to); ++k) {
    const double begin = std::max(from, static_cast<double>(k) / count),
                 end = std::min(to, static_cast<double>(k + 1) / count);
    const double share = span > 0 ? std::max(0.0, end - begin) / span : 1;
    if (share == 0)
      continue;
    EngagementSample& sample = out.samples[first + k];
    double& volume = volumes[first + k];
    const float low = static_cast<float>(part.low_mm), high = static_cast<float>(part.high_mm);
    sample.low_mm = volume > 0 ? std::min(sample.low_mm, low) : low;
    sample.high_mm = volume > 0 ? std::max(sample.high_mm, high) : high;
    volume += share * part.volume_mm3();
  }
}

/// What the moves first..last-1 remove, and when.
void tally_moves(const RecordData& data, const SweepStacks& stacks, const ChordRuns& runs, std::size_t first,
                 std::size_t last, Engagement& out, std::vector<double>& volumes) {
  RemovedBy removed(data, stacks, runs);
  for (std::size_t m = first; m < last; ++m) {
    const auto move = static_cast<std::uint32_t>(m);
    const std::uint32_t sample = out.first_sample[m], count = out.first_sample[m + 1] - sample;
    const std::uint32_t begin = data.sweeps.count_at(move), end = data.sweeps.count_at(move + 1);
    if (count == 0)
      continue;
    const double share = 1.0 / (end - begin);
    for (std::uint32_t n = begin; n < end; n = runs.end(n))
      for (const RemovedPart& part : removed.sweep(n)) {
        const double base = (n - begin) * share, span = (runs.end(n) - n) * share;
        const double from = base + part.from * span, to = base + part.to * span;
        add_part(part, from, to, sample, count, out, volumes);
        const Contact part_of{static_cast<float>(from), static_cast<float>(to)};
        Contact& contact = out.contact[m] ? *out.contact[m] : out.contact[m].emplace(part_of);
        contact = {std::min(contact.first, part_of.first), std::max(contact.last, part_of.last)};
      }
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
  const auto edge = [&](double in, double far) { // a share of the way from foam to air
    const auto at = [&](double share) { return in + share * (far - in); };
    return at(crossing(
                  0, 1, [&](double share) { return foam(at(share)); }, kEdge_rad / kStep)
                  .low);
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
  out.contact.resize(path.moves.size());
  std::vector<double> volumes(out.samples.size(), 0);
  const ChordRuns runs(data.sweeps);
  const SweepStacks stacks = stacks_of(data, runs);
  parallel_pieces(path.moves.size(), 64, [&](std::size_t first, std::size_t last) {
    tally_moves(data, stacks, runs, first, last, out, volumes);
  });
  for (std::size_t n = 0; n < out.samples.size(); ++n)
    out.samples[n].removed_mm3 = static_cast<float>(volumes[n]);
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
