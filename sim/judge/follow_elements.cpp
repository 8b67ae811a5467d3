#include "sim/judge/spots.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

namespace snagmap {
namespace {

constexpr double kOneRoot_mm = 0.01;

/// The spot of the web that a wall's S is scaled by: on its floor if there is one, then the nearest.
const Spot* spot_beside(const std::vector<const Spot*>& spots, const PathSample& at) {
  const Spot* best = nullptr;
  std::pair<double, double> least{};
  for (const Spot* spot : spots) {
    const double drop = std::abs(spot->place_mm.z - at.root_z_mm);
    const std::pair<double, double> far{drop <= kOneRoot_mm ? 0 : drop,
                                        norm(xy(spot->place_mm) - Vec2{at.wall_x_mm, at.wall_y_mm})};
    if (!best || far < least)
      best = spot, least = far;
  }
  return best;
}

} // namespace

void rank_spots(std::vector<Spot>& spots) {
  std::vector<std::tuple<double, std::int32_t, int, std::size_t>>
      order; // the last keeps equals in their order
  for (std::size_t n = 0; n < spots.size(); ++n)
    order.emplace_back(-spots[n].s(), spots[n].program_line, spots[n].web, n);
  std::sort(order.begin(), order.end());
  std::vector<Spot> ranked;
  ranked.reserve(spots.size());
  for (const auto& place : order) {
    ranked.push_back(std::move(spots[std::get<3>(place)]));
    ranked.back().id = static_cast<int>(ranked.size());
  }
  spots = std::move(ranked);
}

void follow_elements(JudgedJob& job) {
  std::map<int, std::vector<const Spot*>> spots; // by web; those left to the formula hold their samples to it
  for (const Spot& spot : job.spots)
    if (spot.by_formula().s > 0)
      spots[spot.web].push_back(&spot);
  for (PathSample& sample : job.samples) {
    const auto own = spots.find(sample.web);
    if (own == spots.end() || !(sample.s > 0))
      continue;
    const Spot& spot = *spot_beside(own->second, sample);
    if (!spot.solved())
      continue;
    const double share = static_cast<double>(sample.s) / spot.screened.s; // of the spot's S, by the formula
    sample.s = static_cast<float>(share * spot.answer.s);
    sample.lean_mm = sample.s < 1 && spot.answer.has_lean ? static_cast<float>(share * spot.answer.lean_mm)
                     : sample.s < 1                       ? sample.lean_mm
                                                          : 0.f;
  }
  rank_spots(job.spots);
  for (Spot& spot : job.spots) {
    const auto web =
        std::find_if(job.webs.begin(), job.webs.end(), [&](const WebFound& w) { return w.id == spot.web; });
    if (spot.solved() && web != job.webs.end())
      spot.reasons = reasons_of(
          spot, *web, job.scene.foam_between(spot.place_mm.z, spot.place_mm.z + spot.question.web.h_mm));
  }
}

} // namespace snagmap
