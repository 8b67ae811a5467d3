#include "sim/judge/spots.hpp"

#include "sim/judge/between.hpp"
#include "sim/judge/wall_kind.hpp"
#include "sim/judge/web_names.hpp"
#include "sim/path/moves.hpp"
#include "sim/threads/parallel.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

namespace snagmap {
namespace {

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

PathSample path_sample(const Sample& sample, const Path& path, const Motion& motion, const Scene& scene) {
  const Move& move = path.moves[sample.move];
  const MotionPoint point = motion_at(path, motion, sample.move, sample.share);
  PathSample out;
  out.move = sample.move;
  out.share = static_cast<float>(sample.share);
  out.time_s = static_cast<float>(point.time_s);
  out.x_mm = static_cast<float>(sample.tip_mm.x);
  out.y_mm = static_cast<float>(sample.tip_mm.y);
  out.z_mm = static_cast<float>(sample.tip_mm.z);
  out.feed_mm_min = static_cast<float>(60 * point.speed_mm_s);
  const double teeth_per_min =
      scene.cutters[move.tool].flutes * std::abs(static_cast<double>(move.spindle_rpm));
  out.chip_mm =
      teeth_per_min > 0 && is_feed(move) ? static_cast<float>(60 * point.speed_mm_s / teeth_per_min) : 0.f;
  return out;
}

/// The sample says what the wall that is worst there says.
void tell(PathSample& sample, const WallSeen& wall, const SnagAnswer& answer, int web) {
  if (!(answer.s > sample.s))
    return;
  sample.s = static_cast<float>(answer.s);
  sample.lean_mm = answer.has_lean ? static_cast<float>(answer.lean_mm) : 0.f;
  sample.w_mm = static_cast<float>(wall.w_mm);
  sample.wall_x_mm = static_cast<float>(wall.face_mm.x);
  sample.wall_y_mm = static_cast<float>(wall.face_mm.y);
  sample.root_z_mm = static_cast<float>(wall.root_z_mm);
  sample.top_z_mm = static_cast<float>(wall.top_z_mm);
  sample.web = web;
}

/// Walls by spot, in the order of the path; what is left of those that are crumbs goes to `crumbs`.
std::map<SpotKey, std::vector<std::size_t>>
walls_of_spots(const std::vector<WallSeen>& walls, const std::vector<Sample>& samples, const WebNames& names,
               const Path& path, const Scene& scene, std::vector<WallSeen>& crumbs) {
  std::map<SpotKey, std::vector<std::size_t>> of_spot;
  for (std::size_t i = 0; i < walls.size(); ++i) {
    const WallSeen& wall = walls[i];
    const Sample& sample = samples[wall.sample];
    const int web = names.web[i];
    // A web is short when it is so in the sheet, not while the cutter has freed no more of it.
    const double now_mm = wall.d1_mm + wall.d2_mm;
    const double whole_mm =
        web < 0 ? now_mm : std::max(now_mm, names.webs[static_cast<std::size_t>(web)].length_mm);
    if (is_fuzz(wall, whole_mm, sample, path, scene)) {
      crumbs.push_back(wall);
      continue;
    }
    if (web < 0)
      continue;
    const bool left_side = cross(names.along[i], wall.normal) > 0; // the web's own line stays put
    of_spot[{web, left_side, std::lround(100 * sample.pass_z_mm)}].push_back(i);
  }
  return of_spot;
}

/// The worst of each spot's walls, the first along the path of equals. Where a place between the samples is
/// worse still, that is appended to walls, judgements and samples.
std::vector<std::size_t> worst_of_spots(const std::map<SpotKey, std::vector<std::size_t>>& of_spot,
                                        const WebNames& names, const Between& between,
                                        std::vector<WallSeen>& walls, Judged& judged,
                                        std::vector<Sample>& samples) {
  std::vector<const std::pair<const SpotKey, std::vector<std::size_t>>*> spots;
  for (const auto& one : of_spot)
    spots.push_back(&one);
  std::vector<std::optional<Looked>> worse(spots.size());
  parallel_each(spots.size(), [&](std::size_t n) {
    const auto& [key, seen] = *spots[n];
    const double whole_mm = names.webs[static_cast<std::size_t>(std::get<0>(key))].length_mm;
    worse[n] = between.worse_than(seen, walls, samples, judged, whole_mm);
  });
  std::vector<std::size_t> worst;
  for (std::size_t n = 0; n < spots.size(); ++n) {
    const std::vector<std::size_t>& seen = spots[n]->second;
    worst.push_back(*std::max_element(seen.begin(), seen.end(), [&](std::size_t a, std::size_t b) {
      return judged.answers[a].s < judged.answers[b].s;
    }));
    if (!worse[n])
      continue;
    worst.back() = walls.size();
    worse[n]->wall.sample = static_cast<std::uint32_t>(samples.size());
    samples.push_back(worse[n]->sample);
    walls.push_back(std::move(worse[n]->wall));
    judged.questions.push_back(worse[n]->question);
    judged.answers.push_back(worse[n]->answer);
  }
  return worst;
}

Spot spot_of(const WallSeen& wall, const Sample& sample, const PathSample& told, const SnagQuestion& question,
             const SnagAnswer& answer, const Path& path, const Scene& scene) {
  const Move& move = path.moves[sample.move];
  Spot spot;
  const Vec2 loaded = wall.face_mm + load_shift_mm(wall, move, scene) * left_of(wall.normal);
  spot.place_mm = {loaded.x, loaded.y, wall.root_z_mm};
  spot.tip_mm = sample.tip_mm;
  spot.normal = -1 * wall.normal;
  spot.program_line = move.line;
  spot.move = sample.move;
  spot.move_share = sample.share;
  spot.time_s = told.time_s;
  spot.cutter = move.tool;
  spot.question = question;
  spot.answer = answer;
  spot.a_mm = wall.contact.high_mm;
  spot.feed_mm_min = told.feed_mm_min;
  spot.chip_mm = told.chip_mm;
  return spot;
}

} // namespace

Merged merge_spots(std::vector<WallSeen>& walls, Judged& judged, std::vector<Sample>& samples,
                   const RemovalRecord& record, const Path& path, const Motion& motion, const Scene& scene,
                   const WatchOptions& watching, double spacing_mm) {
  Merged merged;
  const WebNames names = name_webs(walls, samples, record, path, scene);
  const std::map<SpotKey, std::vector<std::size_t>> of_spot =
      walls_of_spots(walls, samples, names, path, scene, merged.crumbs);
  const std::vector<std::size_t> worst = worst_of_spots(
      of_spot, names, Between(record, path, scene, watching, spacing_mm), walls, judged, samples);
  for (const Sample& sample : samples)
    merged.samples.push_back(path_sample(sample, path, motion, scene));

  std::map<std::pair<int, bool>, std::vector<long>>
      levels; // of each web and side, deepest first in the key order
  for (const auto& [key, seen] : of_spot)
    levels[{std::get<0>(key), std::get<1>(key)}].push_back(std::get<2>(key));
  std::vector<double> web_worst(names.webs.size(), -1);
  merged.webs.resize(names.webs.size());
  std::size_t n = 0;
  for (const auto& [key, seen] : of_spot) {
    const auto [web, left_side, level] = key;
    const std::size_t of_worst = worst[n++];
    for (const std::size_t i : seen)
      tell(merged.samples[walls[i].sample], walls[i], judged.answers[i], web + 1);
    const WallSeen& wall = walls[of_worst];
    PathSample& told = merged.samples[wall.sample];
    tell(told, wall, judged.answers[of_worst], web + 1);
    Spot spot = spot_of(wall, samples[wall.sample], told, judged.questions[of_worst],
                        judged.answers[of_worst], path, scene);
    spot.web = web + 1;
    const std::vector<long>& passes = levels[{web, left_side}];
    spot.pass = static_cast<int>(passes.end() - std::find(passes.begin(), passes.end(), level));
    spot.samples = static_cast<int>(seen.size());
    const auto of_web = static_cast<std::size_t>(web);
    if (spot.answer.s > web_worst[of_web]) {
      web_worst[of_web] = spot.answer.s;
      merged.webs[of_web] = web_from(wall, web + 1);
      merged.webs[of_web].midline_mm = names.webs[of_web].line;
    }
    merged.spots.push_back(std::move(spot));
  }
  std::stable_sort(merged.samples.begin(), merged.samples.end(),
                   [](const PathSample& a, const PathSample& b) {
                     return std::make_pair(a.move, a.share) < std::make_pair(b.move, b.share);
                   });
  leave_out_webs_without_spots(merged, web_worst);
  rank_spots(merged.spots);
  for (Spot& spot : merged.spots)
    spot.reasons = reasons_of(spot, merged.webs[std::size_t(spot.web - 1)],
                              scene.foam_between(spot.place_mm.z, spot.place_mm.z + spot.question.web.h_mm));
  return merged;
}

} // namespace snagmap
