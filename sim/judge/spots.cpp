#include "sim/judge/spots.hpp"

#include "sim/path/moves.hpp"
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
bool is_fuzz(const WallSeen& wall, double length_mm, const Sample& sample, const Path& path,
             const Scene& scene) {
  const FoamCard& foam = scene.foam_between(wall.root_z_mm, wall.root_z_mm + wall.h_mm);
  const double bite_mm = foam.bite_depth_mm.nominal;
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

double length_of(const std::vector<Vec2>& line) {
  double sum = 0;
  for (std::size_t n = 0; n + 1 < line.size(); ++n)
    sum += norm(line[n + 1] - line[n]);
  return sum;
}

/// The web with whose line this one goes along for more than half of the shorter: seen from a corner, or from
/// a pass too low to be walked to its ends, it is a part of that.
WebIndex::Found mostly_on(const WebIndex& index, const std::vector<Vec2>& line, double reach,
                          const std::vector<std::vector<Vec2>>& lines) {
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
    const double shorter = std::min(length_of(line), length_of(lines[static_cast<std::size_t>(web)]));
    if (shorter > 0 && met.first / shorter > most) {
      most = met.first / shorter;
      best.web = web, best.along = met.second;
    }
  }
  return best;
}

/// From the place opposite the cutter to the middle of what the web's ends leave of the contact, toward
/// end 2.
double load_shift_mm(const WallSeen& wall, const Move& move, const Scene& scene) {
  Web web;
  web.d1_mm = wall.d1_mm, web.d2_mm = wall.d2_mm, web.end1 = wall.end1, web.end2 = wall.end2;
  web.b_p_mm =
      contact_length_mm(0.5 * scene.cutters[move.tool].diameter_mm,
                        scene.foam_between(wall.root_z_mm, wall.root_z_mm + wall.h_mm).bite_depth_mm.nominal);
  return contact_shift_mm(web);
}

/// A web and the side it is cut from, and the level of the pass in hundredths of a millimetre.
using SpotKey = std::tuple<int, bool, long>;

/// Webs that were nothing but crumbs go; the others are numbered from left to right.
void leave_out_webs_without_spots(Merged& merged, const std::vector<double>& web_worst) {
  std::vector<int> number(web_worst.size());
  std::vector<WebFound> kept;
  for (const std::size_t n : from_left_to_right(merged.webs))
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
  const FoamCard& foam = scene.foam_between(wall.root_z_mm, wall.root_z_mm + wall.h_mm);
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
  const double deep = std::max(scene.sheet.low.z, wall.root_z_mm - wall.h_mm); // what the root turns in
  q.laminate = scene.joint_between(deep, wall.root_z_mm + wall.h_mm);
  if (q.laminate) {
    const auto constant = [](const FoamCard& card) { return card.lambda.nominal * card.E_kPa.nominal; };
    const double slice = (wall.contact.high_mm - wall.contact.low_mm) / kSlices;
    for (int i = 0; i < kSlices; ++i) {
      const double low = wall.root_z_mm + wall.contact.low_mm + i * slice;
      q.bite[static_cast<std::size_t>(i)] = scene.mean_between(low, low + slice, constant) / constant(foam);
    }
  }
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
  const FoamCard& foam = scene.foam_between(wall.root_z_mm, wall.root_z_mm + wall.h_mm);
  const SnagQuestion whole = question_of(wall, sample, move, scene.cutters[move.tool], scene);
  question = cut_at_ends(whole);
  answer = judge(question, foam);
  if (!is_island(wall))
    return;
  // A short post bends the other way just as well: keep the worse of the two.
  SnagQuestion turned = whole;
  turned.web.w_mm = wall.d1_mm + wall.d2_mm;
  turned.web.d1_mm = turned.web.d2_mm = 0.5 * wall.w_mm;
  turned = cut_at_ends(turned);
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
      if (walls[i].stays)
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
    out.chip_mm =
        teeth_per_min > 0 && is_feed(move) ? static_cast<float>(60 * point.speed_mm_s / teeth_per_min) : 0.f;
  }

  WebIndex index, posts;
  std::vector<std::vector<Vec2>> lines; // of the webs, in the finished sheet
  std::vector<double> whole_mm;         // and their lengths
  constexpr std::size_t kNone = std::size_t(-1);
  struct Worst {
    std::size_t wall = kNone;
    int count = 0;
  };
  std::map<SpotKey, Worst> worst;
  std::vector<int> web_of(walls.size(), -1); // -1: a crumb, or waste
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
  // Webs are parts of the finished sheet: each is walked there once, whatever the stock was when it was seen.
  for (std::size_t i = walls.size(); i-- > 0;) {
    const WallSeen& wall = walls[i];
    const Sample& at_sample = samples[wall.sample];
    const double now_mm = wall.d1_mm + wall.d2_mm;
    if (!wall.stays) {
      if (is_fuzz(wall, now_mm, at_sample, path, scene))
        merged.crumbs.push_back(wall);
      continue;
    }
    const Vec2 along = left_of(wall.normal);
    const double reach = std::max(0.5 * wall.home_w_mm, 2.0);
    WebIndex::Found at_line = index.find(wall.home_mm, along, reach);
    if (at_line.web < 0) {
      const Walked whole = web_in_sheet(wall, record);
      at_line = whole.post ? posts.find(wall.home_mm, {0, 0}, reach) // one web whichever way it is met
                           : mostly_on(index, whole.line, reach, lines);
      if (at_line.web < 0) {
        at_line.web = static_cast<int>(merged.webs.size());
        at_line.along = along;
        merged.webs.push_back(web_from(wall, at_line.web + 1));
        lines.push_back(whole.line);
        whole_mm.push_back(whole.d1_mm + whole.d2_mm);
        WebIndex& own = whole.post ? posts : index;
        own.add(at_line.web, whole.line);
        // Thick foam seen from a corner has a line that goes another way: the next look from there must find
        // it again.
        if (own.find(wall.home_mm, along, kHere_mm).web < 0)
          own.add(at_line.web, {wall.home_mm - kHere_mm * along, wall.home_mm + kHere_mm * along});
      }
    }
    const int web = at_line.web;
    // A web is short when it is so in the sheet, not while the cutter has freed no more of it.
    if (is_fuzz(wall, std::max(now_mm, whole_mm[static_cast<std::size_t>(web)]), at_sample, path, scene)) {
      merged.crumbs.push_back(wall);
      continue;
    }
    web_of[i] = web;
    const bool left_side = cross(at_line.along, wall.normal) > 0; // the web's own line stays put
    const long level = std::lround(100 * at_sample.pass_z_mm);
    Worst& at = worst[{web, left_side, level}];
    ++at.count;
    if (at.wall == kNone || judged.answers[i].s >= judged.answers[at.wall].s)
      at.wall = i; // of equals the first along the path
    tell_sample(i);
  }

  std::map<std::pair<int, bool>, std::vector<long>>
      levels; // of each web and side, deepest first in the key order
  for (const auto& [key, at] : worst)
    levels[{std::get<0>(key), std::get<1>(key)}].push_back(std::get<2>(key));
  std::vector<double> web_worst(merged.webs.size(), -1);
  for (const auto& [key, at] : worst) {
    const auto [web, left_side, level] = key;
    const std::size_t of_spot = at.wall;
    const WallSeen& wall = walls[of_spot];
    const Sample& sample = samples[wall.sample];
    const Move& move = path.moves[sample.move];
    Spot spot;
    spot.web = web + 1;
    const std::vector<long>& passes = levels[{web, left_side}];
    spot.pass = static_cast<int>(passes.end() - std::find(passes.begin(), passes.end(), level));
    const Vec2 loaded = wall.face_mm + load_shift_mm(wall, move, scene) * left_of(wall.normal);
    spot.place_mm = {loaded.x, loaded.y, wall.root_z_mm};
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
      merged.webs[web] = web_from(wall, web + 1);
      merged.webs[web].midline_mm = lines[web];
    }
    merged.spots.push_back(std::move(spot));
  }
  leave_out_webs_without_spots(merged, web_worst);
  rank_spots(merged.spots);
  for (Spot& spot : merged.spots)
    spot.reasons = reasons_of(spot, merged.webs[std::size_t(spot.web - 1)],
                              scene.foam_between(spot.place_mm.z, spot.place_mm.z + spot.question.web.h_mm));
  return merged;
}

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

std::vector<Reason> reasons_of(const Spot& spot, const WebFound& web, const FoamCard& foam) {
  std::vector<Reason> reasons;
  const SnagQuestion& q = spot.question;
  const double lambda = foam.lambda.nominal;
  if (q.web.h_mm > 2 * q.web.w_mm)
    reasons.push_back(reason::Slender{q.web.h_mm / q.web.w_mm});
  if (q.contact.high_mm > q.pass_depth_mm + 0.5) {
    SnagQuestion shorter = q;
    shorter.contact = {q.contact.low_mm, std::max(q.pass_depth_mm, q.contact.low_mm + 0.05)};
    // By the formula, scaled as it is for the spot itself.
    const double scale = spot.solved() && spot.screened.s > 0 ? spot.answer.s / spot.screened.s : 1;
    const double s = scale * lambda * gamma(shorter.web, shorter.contact).value;
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
  if (spot.by_formula().clamped)
    reasons.push_back(reason::OutsideRange{});
  if (spot.answer.gamma_residual > kSolved || spot.answer.residual > kSolved)
    reasons.push_back(reason::NotSolved{spot.answer.gamma_residual, spot.answer.residual});
  if (q.laminate)
    reasons.push_back(reason::Laminate{});
  if (spot.answer.s_low < 1 && spot.answer.s_high >= 1)
    reasons.push_back(reason::OpenBand{});
  return reasons;
}

} // namespace snagmap
