#include "sim/judge/spots.hpp"

#include "sim/threads/parallel.hpp"
#include "sim/watch/web_index.hpp"
#include "sim/watch/web_lines.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

namespace snagmap {
namespace {

constexpr double kEndOn = 0.3; // travel less square to the wall than this has no climb or conventional side
constexpr double kFuzz_cells = 3;    // thinner than this and short: no web
constexpr double kCrumb_bites = 2.2; // one from each side, and a tenth: clear of round numbers
constexpr double kNoNeck_mm = 1e6;   // flutes to the top: there is no neck that could rub

/// No longer than thick: bends in both directions.
bool is_island(const WallSeen& wall) {
  return wall.post && wall.d1_mm + wall.d2_mm < 1.05 * wall.w_mm;
}

/// Shorter than the contact, and a few cells thin or, free all round, no more than two bites: the crest
/// between two paths or a corner's last crumb. It is cut off, not bent.
bool is_fuzz(const WallSeen& wall, const Sample& sample, const Path& path, const Scene& scene) {
  const FoamCard& foam = scene.foam_at(wall.root_z_mm + 0.5 * wall.h_mm);
  const double bite_mm = foam.bite_depth_mm.nominal, length_mm = wall.d1_mm + wall.d2_mm;
  if (length_mm >= contact_length_mm(0.5 * scene.cutters[path.moves[sample.move].tool].diameter_mm, bite_mm))
    return false;
  const bool free = wall.end1 == WebEnd::free && wall.end2 == WebEnd::free && !wall.ring;
  return wall.w_mm < kFuzz_cells * foam.cell_mm.nominal ||
         (free && std::min(wall.w_mm, length_mm) <= kCrumb_bites * bite_mm);
}

WebFound web_from(const WallSeen& wall, int id) {
  WebFound web;
  web.id = id;
  web.midline_mm = wall.midline_mm;
  web.w_mm = wall.w_mm;
  web.h_mm = wall.h_mm;
  web.d1_mm = wall.d1_mm;
  web.d2_mm = wall.d2_mm;
  web.length_mm = wall.d1_mm + wall.d2_mm;
  web.root_z_mm = wall.root_z_mm;
  web.top_z_mm = wall.top_z_mm;
  web.end1 = wall.end1;
  web.end2 = wall.end2;
  web.ring = wall.ring;
  web.junction = wall.junction;
  web.island = is_island(wall);
  return web;
}

constexpr double kSolved = 1e-4; // of S, and mm of the lean: no printed figure changes by less
constexpr double kHere_mm = 0.5; // no web is thinner that has a line

/// A web and the side it is cut from, and the level of the pass in hundredths of a millimetre.
using SpotKey = std::tuple<int, bool, long>;

/// Webs that were nothing but crumbs go; the others are numbered anew.
void leave_out_webs_without_spots(Merged& merged, const std::vector<double>& web_worst) {
  std::vector<int> number(web_worst.size());
  std::vector<WebFound> kept;
  for (std::size_t n = 0; n < web_worst.size(); ++n)
    if (web_worst[n] >= 0) {
      kept.push_back(std::move(merged.webs[n]));
      number[n] = kept.back().id = static_cast<int>(kept.size());
    }
  merged.webs = std::move(kept);
  for (Spot& spot : merged.spots)
    spot.web = number[static_cast<std::size_t>(spot.web - 1)];
  for (PathSample& sample : merged.samples)
    if (sample.web > 0)
      sample.web = number[static_cast<std::size_t>(sample.web - 1)];
}

} // namespace

SnagQuestion question_of(const WallSeen& wall, const Sample& sample, const Move& move,
                         const CutterCard& cutter, const Scene& scene) {
  const FoamCard& foam = scene.foam_at(wall.root_z_mm + 0.5 * wall.h_mm);
  SnagQuestion q;
  q.web.w_mm = wall.w_mm;
  q.web.h_mm = wall.h_mm;
  q.web.d1_mm = wall.d1_mm;
  q.web.d2_mm = wall.d2_mm;
  q.web.end1 = wall.end1;
  q.web.end2 = wall.end2;
  q.web.fill = wall.fill;
  q.web.b_p_mm = contact_length_mm(0.5 * cutter.diameter_mm, foam.bite_depth_mm.nominal);
  q.web.nu = foam.nu.nominal;
  q.web.rigid_floor = scene.rigid_floor && wall.root_z_mm <= scene.sheet.low.z + 1e-3;
  q.contact = wall.contact;
  q.gap_mm = wall.gap_mm;
  q.pass_depth_mm = std::min(sample.pass_step_mm, wall.contact.high_mm);
  const bool wall_above_flutes = wall.top_z_mm > sample.tip_mm.z + cutter.flute_length_mm + 1e-6;
  const double body_mm = cutter.neck_diameter_mm > 0 ? cutter.neck_diameter_mm : cutter.shank_diameter_mm;
  q.neck_relief_mm = wall_above_flutes ? 0.5 * (cutter.diameter_mm - body_mm) : kNoNeck_mm;
  // Clockwise spindle: a wall on the left of the travel is cut conventionally, on the right by climbing.
  const double left = dot(wall.normal, left_of(sample.heading)) * (move.spindle_rpm < 0 ? -1 : 1);
  q.climb = left < kEndOn;
  q.tolerance_mm = scene.tolerance_mm;
  return q;
}

void judge_wall(const WallSeen& wall, const std::vector<Sample>& samples, const Path& path,
                const Scene& scene, SnagQuestion& question, SnagAnswer& answer) {
  const Sample& sample = samples[wall.sample];
  const Move& move = path.moves[sample.move];
  const FoamCard& foam = scene.foam_at(wall.root_z_mm + 0.5 * wall.h_mm);
  question = question_of(wall, sample, move, scene.cutters[move.tool], scene);
  answer = judge(question, foam);
  if (!is_island(wall))
    return;
  // A short post bends the other way just as well: keep the worse of the two.
  SnagQuestion turned = question;
  turned.web.w_mm = wall.d1_mm + wall.d2_mm;
  turned.web.d1_mm = turned.web.d2_mm = 0.5 * wall.w_mm;
  const SnagAnswer other = judge(turned, foam);
  if (other.s <= answer.s)
    return;
  question = turned;
  answer = other;
}

Judged judge_walls(const std::vector<WallSeen>& walls, const std::vector<Sample>& samples, const Path& path,
                   const Scene& scene) {
  Judged judged;
  judged.questions.resize(walls.size());
  judged.answers.resize(walls.size());
  parallel_pieces(walls.size(), 16, [&](std::size_t first, std::size_t last) {
    for (std::size_t i = first; i < last; ++i)
      judge_wall(walls[i], samples, path, scene, judged.questions[i], judged.answers[i]);
  });
  return judged;
}

Merged merge_spots(std::vector<WallSeen>& walls, Judged& judged, const std::vector<Sample>& samples,
                   const RemovalRecord& record, const Path& path, const Motion& motion, const Scene& scene) {
  Merged merged;
  merged.samples.resize(samples.size());
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const Move& move = path.moves[samples[i].move];
    const MotionPoint point = motion_at(path, motion, samples[i].move, samples[i].share);
    PathSample& out = merged.samples[i];
    out.move = samples[i].move;
    out.share = static_cast<float>(samples[i].share);
    out.time_s = static_cast<float>(point.time_s);
    out.x_mm = static_cast<float>(samples[i].tip_mm.x);
    out.y_mm = static_cast<float>(samples[i].tip_mm.y);
    out.z_mm = static_cast<float>(samples[i].tip_mm.z);
    out.feed_mm_min = static_cast<float>(60 * point.speed_mm_s);
    const double teeth_per_min =
        scene.cutters[move.tool].flutes * std::abs(static_cast<double>(move.spindle_rpm));
    out.chip_mm = teeth_per_min > 0 ? static_cast<float>(60 * point.speed_mm_s / teeth_per_min) : 0.f;
  }

  WebIndex index;
  struct Worst {
    std::vector<std::size_t> walls; // of which the first is the spot's, once they are in order
    int count = 0;
  };
  std::map<SpotKey, Worst> worst;
  std::vector<int> web_of(walls.size(), -1); // -1: a crumb
  const auto tell_sample = [&](std::size_t i) {
    const WallSeen& wall = walls[i];
    PathSample& sample = merged.samples[wall.sample];
    const SnagAnswer& answer = judged.answers[i];
    if (answer.s > sample.s) {
      sample.s = static_cast<float>(answer.s);
      sample.lean_mm = answer.has_lean ? static_cast<float>(answer.lean_mm) : 0.f;
      sample.w_mm = static_cast<float>(wall.w_mm);
      sample.wall_x_mm = static_cast<float>(wall.face_mm.x);
      sample.wall_y_mm = static_cast<float>(wall.face_mm.y);
      sample.root_z_mm = static_cast<float>(wall.root_z_mm);
      sample.top_z_mm = static_cast<float>(wall.top_z_mm);
      sample.web = web_of[i] + 1;
    }
  };
  // Webs are named from the end of the program back: then they stand free, and earlier passes, seen thicker
  // and shorter, fall on their lines.
  for (std::size_t i = walls.size(); i-- > 0;) {
    const WallSeen& wall = walls[i];
    if (is_fuzz(wall, samples[wall.sample], path, scene)) {
      merged.crumbs.push_back(wall);
      continue;
    }
    // A post is one web whichever way it is met.
    const Vec2 along = wall.post ? Vec2{0, 0} : left_of(wall.normal);
    WebIndex::Found at_line = index.find(wall.middle_mm, along, std::max(0.5 * wall.w_mm, 2.0));
    int web = at_line.web;
    if (web < 0) {
      at_line.along = left_of(wall.normal);
      web = static_cast<int>(merged.webs.size());
      merged.webs.push_back(web_from(wall, web + 1));
      index.add(web, wall.midline_mm);
      // Thick foam seen from a corner has a line that goes another way: the next look from there must find it
      // again.
      if (index.find(wall.middle_mm, along, kHere_mm).web < 0)
        index.add(web, {wall.middle_mm - kHere_mm * left_of(wall.normal),
                        wall.middle_mm + kHere_mm * left_of(wall.normal)});
    }
    web_of[i] = web;
    const bool left_side = cross(at_line.along, wall.normal) > 0; // the web's own line stays put
    const long level = std::lround(100 * samples[wall.sample].pass_z_mm);
    Worst& at = worst[{web, left_side, level}];
    ++at.count;
    at.walls.push_back(i);
    tell_sample(i);
  }

  // The spots themselves are judged by ends walked at their own moment, not by those of their pass; what
  // these show to be a crumb gives way to the next worst.
  std::vector<Worst*> chosen;
  for (auto& [key, at] : worst)
    chosen.push_back(&at);
  std::vector<std::vector<std::size_t>> crumbs(chosen.size());
  parallel_each(chosen.size(), [&](std::size_t k) {
    std::vector<std::size_t>& mine = chosen[k]->walls;
    std::sort(mine.begin(), mine.end(), [&](std::size_t a, std::size_t b) {
      return std::make_tuple(-judged.answers[a].s, a) < std::make_tuple(-judged.answers[b].s, b);
    });
    std::size_t n = 0;
    for (; n < mine.size(); ++n) {
      WallSeen& wall = walls[mine[n]];
      const Sample& sample = samples[wall.sample];
      walk_to_ends(wall, record, sample.move + 1);
      if (!is_fuzz(wall, sample, path, scene)) {
        judge_wall(wall, samples, path, scene, judged.questions[mine[n]], judged.answers[mine[n]]);
        break;
      }
    }
    crumbs[k].assign(mine.begin(), mine.begin() + static_cast<std::ptrdiff_t>(n));
    mine.erase(mine.begin(), mine.begin() + static_cast<std::ptrdiff_t>(n));
  });
  for (const std::vector<std::size_t>& some : crumbs)
    for (const std::size_t i : some)
      web_of[i] = -1;
  for (const std::vector<std::size_t>& some : crumbs)
    for (const std::size_t i : some) { // its sample is told by what else stands there
      merged.crumbs.push_back(walls[i]);
      PathSample& sample = merged.samples[walls[i].sample];
      sample.s = sample.lean_mm = sample.w_mm = sample.wall_x_mm = sample.wall_y_mm = sample.root_z_mm =
          sample.top_z_mm = 0;
      sample.web = -1;
      const auto by_sample = [](const WallSeen& wall, std::uint32_t n) { return wall.sample < n; };
      for (auto other = std::lower_bound(walls.begin(), walls.end(), walls[i].sample, by_sample);
           other != walls.end() && other->sample == walls[i].sample; ++other)
        if (web_of[static_cast<std::size_t>(other - walls.begin())] >= 0)
          tell_sample(static_cast<std::size_t>(other - walls.begin()));
    }

  std::map<std::pair<int, bool>, std::vector<long>>
      levels; // of each web and side, deepest first in the key order
  for (const auto& [key, at] : worst)
    if (!at.walls.empty())
      levels[{std::get<0>(key), std::get<1>(key)}].push_back(std::get<2>(key));
  std::vector<double> web_worst(merged.webs.size(), -1);
  for (const auto& [key, at] : worst) {
    if (at.walls.empty())
      continue;
    const auto [web, left_side, level] = key;
    const std::size_t of_spot = at.walls.front();
    const WallSeen& wall = walls[of_spot];
    const Sample& sample = samples[wall.sample];
    const Move& move = path.moves[sample.move];
    Spot spot;
    spot.web = web + 1;
    const std::vector<long>& passes = levels[{web, left_side}];
    spot.pass = static_cast<int>(passes.end() - std::find(passes.begin(), passes.end(), level));
    spot.place_mm = {wall.face_mm.x, wall.face_mm.y, wall.root_z_mm};
    spot.tip_mm = sample.tip_mm;
    spot.normal = -1 * wall.normal;
    spot.program_line = move.line;
    spot.move = sample.move;
    spot.move_share = sample.share;
    spot.time_s = merged.samples[wall.sample].time_s;
    spot.cutter = move.tool;
    spot.question = judged.questions[of_spot];
    spot.answer = judged.answers[of_spot];
    spot.a_mm = wall.contact.high_mm;
    spot.feed_mm_min = merged.samples[wall.sample].feed_mm_min;
    spot.chip_mm = merged.samples[wall.sample].chip_mm;
    spot.samples = at.count;
    if (spot.answer.s > web_worst[web]) {
      web_worst[web] = spot.answer.s;
      WebFound numbers = web_from(wall, web + 1);
      merged.webs[web] = numbers;
    }
    merged.spots.push_back(std::move(spot));
  }
  leave_out_webs_without_spots(merged, web_worst);
  rank_spots(merged.spots);
  for (Spot& spot : merged.spots)
    spot.reasons = reasons_of(spot, merged.webs[std::size_t(spot.web - 1)],
                              scene.foam_at(spot.place_mm.z + 0.5 * spot.question.web.h_mm));
  return merged;
}

void rank_spots(std::vector<Spot>& spots) {
  std::stable_sort(spots.begin(), spots.end(), [](const Spot& a, const Spot& b) {
    return std::make_tuple(-a.s(), a.program_line, a.web) < std::make_tuple(-b.s(), b.program_line, b.web);
  });
  int id = 0;
  for (Spot& spot : spots)
    spot.id = ++id;
}

std::vector<Reason> reasons_of(const Spot& spot, const WebFound& web, const FoamCard& foam) {
  std::vector<Reason> reasons;
  const SnagQuestion& q = spot.question;
  const double lambda = foam.lambda.nominal;
  if (q.web.h_mm > 2 * q.web.w_mm)
    reasons.push_back(reason::Slender{q.web.h_mm / q.web.w_mm});
  if (q.contact.high_mm > q.pass_depth_mm + 0.5) {
    SnagQuestion shorter = q;
    shorter.contact = {q.contact.low_mm, std::max(q.pass_depth_mm, q.contact.low_mm + 0.05)};
    const double s = lambda * gamma(shorter.web, shorter.contact).value;
    reasons.push_back(reason::FlutesPastPass{q.contact.high_mm, q.contact.high_mm - q.pass_depth_mm, s});
  }
  const double d = std::min(q.web.end1 == WebEnd::free ? q.web.d1_mm : 1e9,
                            q.web.end2 == WebEnd::free ? q.web.d2_mm : 1e9);
  if (d < q.web.w_mm)
    reasons.push_back(reason::FreeEndNear{d});
  if (web.island)
    reasons.push_back(reason::Island{});
  if (spot.answer.s >= 1 && spot.answer.s_touch < 1)
    reasons.push_back(reason::NeedsAKick{});
  if (spot.answer.neck_rubs)
    reasons.push_back(reason::LeansOnNeck{});
  if (spot.answer.clamped)
    reasons.push_back(reason::OutsideRange{});
  if (spot.answer.gamma_residual > kSolved || spot.answer.residual > kSolved)
    reasons.push_back(reason::NotSolved{spot.answer.gamma_residual, spot.answer.residual});
  if (spot.answer.open)
    reasons.push_back(reason::OpenBand{});
  return reasons;
}

} // namespace snagmap
