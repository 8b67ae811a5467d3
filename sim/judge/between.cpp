#include "sim/judge/between.hpp"

#include "models/base/greatest.hpp"
#include "sim/judge/wall_kind.hpp"
#include "sim/watch/look_out.hpp"

#include <algorithm>

namespace snagmap {
namespace {

constexpr double kFlat =
    0.99; // samples beside a top at this share of it: between them S rises by half of the rest
constexpr double kRises = 0.85; // a top lower than this share of the highest is not searched
constexpr double kMatters =
    0.4; // upper ends of S under this: from 0.5 on they count, and what is searched rises less
constexpr std::size_t kTops = 6; // a helix beside a wall has one each turn
constexpr int kLooks = 9;        // golden section: to 4 % of the way between two samples

/// Tops of S among walls along the path, highest first.
std::vector<std::size_t> tops_of(const std::vector<std::size_t>& seen, const std::vector<WallSeen>& walls,
                                 const Judged& judged) {
  std::vector<std::size_t> tops;
  double most = 0;
  for (const std::size_t i : seen)
    most = std::max(most, judged.answers[i].s);
  for (std::size_t n = 0; n < seen.size(); ++n) {
    const std::size_t i = seen[n];
    const double s = judged.answers[i].s;
    if (s < kRises * most || judged.answers[i].s_high < kMatters)
      continue;
    const auto beside = [&](std::size_t other,
                            long step) { // 0 where the web is not seen from the next sample
      const bool next = other < seen.size() && static_cast<long>(walls[seen[other]].sample) ==
                                                   static_cast<long>(walls[i].sample) + step;
      return next ? judged.answers[seen[other]].s : 0;
    };
    const double before = beside(n - 1, -1), after = beside(n + 1, 1); // before the first: no index
    if (s >= before && s >= after && std::min(before, after) < kFlat * s)
      tops.push_back(i);
  }
  std::stable_sort(tops.begin(), tops.end(),
                   [&](std::size_t a, std::size_t b) { return judged.answers[a].s > judged.answers[b].s; });
  tops.resize(std::min(tops.size(), kTops));
  return tops;
}

} // namespace

std::optional<Looked> Between::look(const WallSeen& wall, const Sample& from, double way_mm,
                                    double whole_mm) const {
  Looked looked;
  looked.sample = sampler_.along(from, way_mm);
  const CutterCard& cutter = scene_.cutters[path_.moves[looked.sample.move].tool];
  std::size_t rays = 0;
  std::optional<WallSeen> seen = wall_toward(record_, cutter, looked.sample, wall.normal, watching_, rays);
  if (!seen || seen->w_mm <= watching_.thin_mm || !seen->stays || seen->post != wall.post ||
      norm(seen->home_mm - wall.home_mm) > 2 * spacing_mm_ ||
      is_fuzz(*seen, std::max(seen->d1_mm + seen->d2_mm, whole_mm), looked.sample, path_, scene_))
    return {};
  looked.wall = std::move(*seen);
  judge_wall(looked.wall, looked.sample, path_, scene_, looked.question, looked.answer);
  return looked;
}

std::optional<Looked> Between::worse_than(const std::vector<std::size_t>& seen,
                                          const std::vector<WallSeen>& walls,
                                          const std::vector<Sample>& samples, const Judged& judged,
                                          double whole_mm) const {
  std::optional<Looked> worst;
  double most = 0;
  for (const std::size_t i : seen)
    most = std::max(most, judged.answers[i].s);
  for (const std::size_t top : tops_of(seen, walls, judged))
    greatest_on(-spacing_mm_, spacing_mm_, kLooks, [&](double way_mm) {
      std::optional<Looked> looked = look(walls[top], samples[walls[top].sample], way_mm, whole_mm);
      const double s = looked ? looked->answer.s : 0;
      if (s > most)
        most = s, worst = std::move(looked);
      return s;
    });
  return worst;
}

} // namespace snagmap
