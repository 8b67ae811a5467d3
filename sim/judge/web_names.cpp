#include "sim/judge/web_names.hpp"

#include "sim/judge/wall_kind.hpp"
#include "sim/watch/web_index.hpp"
#include "sim/watch/web_lines.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

namespace snagmap {
namespace {

constexpr double kHere_mm = 0.5;    // no web is thinner that has a line
constexpr double kAsThin_mm = 0.05; // places as thin as each other
constexpr double kAsDeep_mm = 0.01;

double length_of(const std::vector<Vec2>& line) {
  double sum = 0;
  for (std::size_t n = 0; n + 1 < line.size(); ++n)
    sum += norm(line[n + 1] - line[n]);
  return sum;
}

/// The web with whose line this one goes along for more than half of the shorter: seen from a corner, or from
/// a pass too low to be walked to its ends, it is a part of that.
WebIndex::Found mostly_on(const WebIndex& index, const std::vector<Vec2>& line, double reach,
                          const std::vector<WebLine>& webs) {
  constexpr double kStep_mm = 1;
  std::map<int, std::pair<double, Vec2>> along_mm; // of each web, and its way where it was met first
  for (std::size_t n = 0; n + 1 < line.size(); ++n) {
    const Vec2 run = line[n + 1] - line[n];
    const double length = norm(run);
    const int steps = static_cast<int>(std::ceil(length / kStep_mm));
    for (int k = 0; k < steps; ++k) {
      const WebIndex::Found at = index.find(line[n] + ((k + 0.5) / steps) * run, (1 / length) * run, reach);
      if (at.web < 0)
        continue;
      auto& [sum, way] = along_mm.try_emplace(at.web, 0.0, at.along).first->second;
      sum += length / steps;
    }
  }
  WebIndex::Found best;
  double most = 0.5;
  for (const auto& [web, met] : along_mm) {
    const double shorter = std::min(length_of(line), length_of(webs[static_cast<std::size_t>(web)].line));
    if (shorter > 0 && met.first / shorter > most) {
      most = met.first / shorter;
      best.web = web, best.along = met.second;
    }
  }
  return best;
}

/// Indexes of the walls that stay: the thinnest in the finished sheet first, of equals the deepest.
std::vector<std::size_t> thinnest_first(const std::vector<WallSeen>& walls,
                                        const std::vector<Sample>& samples, const Path& path,
                                        const Scene& scene) {
  std::vector<std::tuple<bool, long, long, std::size_t>> keys;
  for (std::size_t i = walls.size(); i-- > 0;)
    if (const WallSeen& wall = walls[i]; wall.stays)
      keys.emplace_back(is_fuzz(wall, wall.d1_mm + wall.d2_mm, samples[wall.sample], path, scene),
                        std::lround(wall.home_w_mm / kAsThin_mm), std::lround(wall.root_z_mm / kAsDeep_mm),
                        walls.size() - i);
  std::sort(keys.begin(), keys.end());
  std::vector<std::size_t> order;
  for (const auto& key : keys)
    order.push_back(walls.size() - std::get<3>(key));
  return order;
}

} // namespace

WebNames name_webs(const std::vector<WallSeen>& walls, const std::vector<Sample>& samples,
                   const RemovalRecord& record, const Path& path, const Scene& scene) {
  WebNames names;
  names.web.assign(walls.size(), -1);
  names.along.resize(walls.size());
  WebIndex index, posts;
  for (const std::size_t i : thinnest_first(walls, samples, path, scene)) {
    const WallSeen& wall = walls[i];
    const Vec2 along = left_of(wall.normal);
    const double reach = std::max(0.5 * wall.home_w_mm, 2.0);
    WebIndex::Found at = index.find(wall.home_mm, along, reach);
    if (at.web < 0)
      at = posts.find(wall.home_mm, {0, 0}, kHere_mm);
    if (at.web < 0) {
      const Walked whole = web_in_sheet(wall, record);
      at = whole.post ? posts.find(wall.home_mm, {0, 0}, reach) // one web whichever way it is met
                      : mostly_on(index, whole.line, reach, names.webs);
      WebIndex& own = whole.post ? posts : index;
      if (at.web < 0) {
        at.web = static_cast<int>(names.webs.size());
        at.along = along;
        names.webs.push_back({whole.line, whole.d1_mm + whole.d2_mm});
        own.add(at.web, whole.line);
      }
      // Foam seen from a corner has a line that goes another way: the next look from there must find it
      // again.
      const Vec2 way = dot(at.along, along) < 0 ? -1 * along : along;
      if (!whole.post && own.find(wall.home_mm, along, kHere_mm).web < 0)
        own.add(at.web, {wall.home_mm - kHere_mm * way, wall.home_mm + kHere_mm * way});
    }
    names.web[i] = at.web;
    names.along[i] = at.along;
  }
  return names;
}

} // namespace snagmap
