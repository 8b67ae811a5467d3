#include "sim/tooth/engaged.hpp"

#include "models/base/constants.hpp"
#include "models/base/crossing.hpp"
#include "sim/probe/air_probe.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr int kSectors = 64; // of half a turn

} // namespace

double slice_mm(const SnagQuestion& q) {
  return (q.contact.high_mm - q.contact.low_mm) / kSlices;
}

double slice_z_mm(const Spot& spot, int slice) {
  return spot.place_mm.z + spot.question.contact.low_mm + (slice + 0.5) * slice_mm(spot.question);
}

std::vector<double> engaged_at(const JudgedJob& job, const Spot& spot) {
  const RecordData& data = job.record->data();
  const std::uint32_t first = data.sweeps.count_at(spot.move), last = data.sweeps.count_at(spot.move + 1);
  std::vector<double> engaged(kSlices, 0.0);
  if (last == first)
    return engaged;
  const double along = spot.move_share * (last - first);
  const std::uint32_t index = std::min(last - 1, first + static_cast<std::uint32_t>(along));
  const Sweep sweep = data.sweeps[index];
  const Body& body = data.bodies[sweep.body];
  const Vec2 centre = xy(spot.tip_mm), heading = heading_at(job.path.moves[spot.move], spot.move_share);
  const Vec2 wall = -1 * spot.normal;
  const double way = wall.x * heading.y - wall.y * heading.x < 0 ? -1 : 1; // round from the wall to ahead
  AirProbe probe(data);
  for (int s = 0; s < kSlices; ++s) {
    const double z = slice_z_mm(spot, s);
    double radius = 0;
    for (const BodyPart& part : body.flutes)
      radius = std::max(radius, part.radius_at(z - spot.tip_mm.z));
    if (!(radius > 0))
      continue;
    probe.aim(centre, radius + 1e-3, z, spot.move);
    for (std::uint32_t n = first; n < index; ++n)
      probe.add_part(data.sweeps[n], 1);
    probe.add_part(sweep, along - (index - first));
    const auto foam = [&](double angle) {
      const double c = std::cos(angle), t = way * std::sin(angle);
      return !probe.air(centre + radius * Vec2{c * wall.x - t * wall.y, c * wall.y + t * wall.x});
    };
    int sector = 0;
    while (sector < kSectors && foam((sector + 0.5) * kPi / kSectors))
      ++sector;
    if (sector == kSectors)
      engaged[std::size_t(s)] = kPi;
    else if (sector > 0)
      engaged[std::size_t(s)] =
          crossing((sector - 0.5) * kPi / kSectors, (sector + 0.5) * kPi / kSectors, foam, 1e-4).middle();
  }
  return engaged;
}

} // namespace snagmap
