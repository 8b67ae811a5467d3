#include "tests/bench/elements/spread.hpp"

#include "tests/bench/measure.hpp"
#include "tests/sim/moment_jobs.hpp"

#include <array>

using namespace snagmap;

namespace {

/// The worst spot of each web that could matter, greatest first.
std::vector<Spot> worst_spots(const same_motion::Job& job, const same_motion::Writing& how) {
  std::vector<Spot> worst;
  for (Spot& spot : same_motion::spots_of(job, how).spots) // worst first
    if (spot.answer.s_high > 0.5 &&
        std::none_of(worst.begin(), worst.end(), [&](const Spot& s) { return s.web == spot.web; }))
      worst.push_back(std::move(spot));
  return worst;
}

void print(const char* which, const Spot& spot, const same_motion::Writing& how) {
  const auto back = [&](Vec2 p, bool place) {
    const double c = std::cos(how.turn_deg * std::acos(-1.0) / 180),
                 s = std::sin(how.turn_deg * std::acos(-1.0) / 180);
    if (place)
      p = p - xy(how.shift_mm);
    const Vec2 turned{c * p.x + s * p.y, -s * p.x + c * p.y};
    return how.mirrored ? Vec2{-turned.x, turned.y} : turned;
  };
  const Vec2 at = back(xy(spot.place_mm), true), tip = back(xy(spot.tip_mm), true),
             n = back(spot.normal, false);
  const Web& web = spot.question.web;
  std::printf("    %-6s pass %d S %.4f w %.3f h %.3f contact %.3f..%.3f d %.3f %s %.3f %s at %.3f %.3f %.3f "
              "tip %.3f %.3f %.3f normal %.4f %.4f move %u %.3f\n",
              which, spot.pass, spot.s(), web.w_mm, web.h_mm, spot.question.contact.low_mm,
              spot.question.contact.high_mm, web.d1_mm, to_text(web.end1), web.d2_mm, to_text(web.end2), at.x,
              at.y, spot.place_mm.z - how.shift_mm.z, tip.x, tip.y, spot.tip_mm.z - how.shift_mm.z, n.x, n.y,
              spot.move, spot.move_share);
}

} // namespace

void measure_spread(int first_seed, int jobs, bool tell) {
  double worst = 0;
  int other_webs = 0, over = 0, compared = 0;
  for (int seed = first_seed; seed < first_seed + jobs; ++seed) {
    const same_motion::Job job = same_motion::random_job(static_cast<std::uint64_t>(seed));
    const std::vector<Spot> once = worst_spots(job, {});
    for (const same_motion::Writing& how : same_motion::ways()) {
      const std::vector<Spot> again = worst_spots(job, how);
      ++compared;
      double most = 0;
      for (std::size_t n = 0; n < std::min(again.size(), once.size()); ++n)
        most = std::max(most, 100 * std::abs(again[n].s() / once[n].s() - 1));
      worst = std::max(worst, most);
      other_webs += again.size() != once.size();
      over += most > 1;
      if (most <= 1 && again.size() == once.size())
        continue;
      std::printf("job %d, %s: %zu webs for %zu, S up to %.3g %% apart\n", seed, how.name.c_str(),
                  again.size(), once.size(), most);
      for (std::size_t n = 0; tell && n < std::max(again.size(), once.size()); ++n) {
        if (n < std::min(again.size(), once.size()) && std::abs(again[n].s() / once[n].s() - 1) <= 0.01)
          continue;
        if (n < once.size())
          print("once", once[n], {});
        if (n < again.size())
          print("again", again[n], how);
      }
    }
  }
  std::printf("%d writings of %d jobs, %d of them over 1 %%\n", compared, jobs, over);
  bench::goal("split_rotate_other_webs", other_webs, 0, true);
  bench::goal("split_rotate_spread_percent", worst, 1, true);
}
