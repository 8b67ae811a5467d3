#include "sim/findings/thin_foam.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

namespace snagmap {
namespace {

constexpr double kOnePlace_mm = 5; // sightings nearer than this, or a row of such, are one place
constexpr double kBefore_mm = 0.05, kBehind_mm = 0.2;

/// Is any of this foam left after the last move?
bool stays(const WallSeen& wall, const RemovalRecord& record) {
  const Vec2 from = wall.face_mm - kBefore_mm * wall.normal;
  for (const double share : {0.1, 0.5, 0.9}) {
    const Vec3 eye{from.x, from.y, wall.root_z_mm + share * wall.h_mm};
    if (record.look(eye, wall.normal, kBefore_mm + wall.w_mm + kBehind_mm, record.end()).hit)
      return true;
  }
  return false;
}

} // namespace

std::vector<ThinFoam> find_thin_foam(std::vector<WallSeen> seen, const std::vector<Sample>& samples,
                                     const RemovalRecord& record, const Path& path, const Motion& motion) {
  std::stable_sort(seen.begin(), seen.end(),
                   [](const WallSeen& a, const WallSeen& b) { return a.sample < b.sample; });
  std::vector<ThinFoam> places;
  std::map<std::pair<long, long>, std::size_t> place_of; // by cells of half that size
  for (const WallSeen& wall : seen) {
    const Sample& sample = samples[wall.sample];
    const long x = std::lround(2 * wall.middle_mm.x / kOnePlace_mm),
               y = std::lround(2 * wall.middle_mm.y / kOnePlace_mm);
    std::size_t place = places.size();
    for (long i = x - 1; i <= x + 1 && place == places.size(); ++i)
      for (long j = y - 1; j <= y + 1 && place == places.size(); ++j)
        if (const auto found = place_of.find({i, j}); found != place_of.end())
          place = found->second;
    place_of.emplace(std::pair(x, y), place);
    const bool left = stays(wall, record);
    if (place == places.size())
      places.push_back({});
    else if (std::make_tuple(!left, wall.w_mm) >= std::make_tuple(!places[place].stays, places[place].w_mm))
      continue;
    places[place] = {
        {wall.face_mm.x, wall.face_mm.y, wall.root_z_mm},          wall.w_mm, wall.h_mm, sample.move,
        motion_at(path, motion, sample.move, sample.share).time_s, left};
  }
  return places;
}

std::optional<Finding> thin_foam_finding(const std::vector<ThinFoam>& places, const Path& path) {
  if (places.empty())
    return {};
  const ThinFoam& worst =
      *std::min_element(places.begin(), places.end(), [](const ThinFoam& a, const ThinFoam& b) {
        return std::make_tuple(!a.stays, a.w_mm, a.move) < std::make_tuple(!b.stays, b.w_mm, b.move);
      });
  const auto stay =
      std::count_if(places.begin(), places.end(), [](const ThinFoam& one) { return one.stays; });
  return at_moment(fact::ThinFoam{places.size(), static_cast<std::size_t>(stay), worst.w_mm, worst.h_mm},
                   path.moves[worst.move].line, worst.time_s, worst.place_mm);
}

} // namespace snagmap
