#include "sim/judge/found.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <tuple>

namespace snagmap {

Vec2 middle_of(const WebFound& web) {
  if (web.midline_mm.empty())
    return {};
  Vec2 low = web.midline_mm.front(), high = low;
  for (const Vec2 p : web.midline_mm) {
    low = {std::min(low.x, p.x), std::min(low.y, p.y)};
    high = {std::max(high.x, p.x), std::max(high.y, p.y)};
  }
  return 0.5 * (low + high);
}

std::vector<std::size_t> from_left_to_right(const std::vector<WebFound>& webs) {
  std::vector<std::tuple<long, double, std::size_t>> keys;
  for (std::size_t i = 0; i < webs.size(); ++i) {
    const Vec2 middle = middle_of(webs[i]);
    keys.emplace_back(std::lround(middle.x), middle.y, i);
  }
  std::sort(keys.begin(), keys.end());
  std::vector<std::size_t> order;
  for (const auto& key : keys)
    order.push_back(std::get<2>(key));
  return order;
}

std::array<int, 4> spots_by_level(const std::vector<Spot>& spots) {
  std::array<int, 4> count{};
  for (const Spot& one : spots)
    ++count[static_cast<std::size_t>(one.level())];
  return count;
}

} // namespace snagmap
