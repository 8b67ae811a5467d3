#include "sim/judge/spots.hpp"
#include "sim/judge/wall_kind.hpp"
#include "sim/threads/parallel.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr double kEndOn = 0.3; // travel less square to the wall than this has no climb or conventional side
constexpr double kNoNeck_mm = 1e6; // flutes to the top: there is no neck that could rub

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

void judge_wall(const WallSeen& wall, const Sample& sample, const Path& path, const Scene& scene,
                SnagQuestion& question, SnagAnswer& answer) {
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
        judge_wall(walls[i], samples[walls[i].sample], path, scene, judged.questions[i], judged.answers[i]);
  });
  return judged;
}

} // namespace snagmap
