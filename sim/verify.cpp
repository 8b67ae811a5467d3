#include "sim/verify.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace snagmap {
namespace {

double cost_of(const BrickBox& box) {
  return 3.0 * double(box.node_count()) * kSlices;
}

std::string in_millions(double cost) {
  char text[48];
  std::snprintf(text, sizeof text, "%.3g million unknowns", cost / 1e6);
  return text;
}

double mean_out_mm(const SolidSolution& solution, const std::vector<NodeShare>& nodes, int slice) {
  double u = 0;
  for (const NodeShare& n : nodes)
    u += n.share * solution.u_mm(n.node, axis_y, slice);
  return u;
}

SolidProblem slice_loads(const WebPatch& patch) {
  SolidProblem problem;
  problem.box = patch.box;
  problem.right_hand_sides = kSlices;
  for (int s = 0; s < kSlices; ++s)
    for (const NodeShare& n : patch.slice[std::size_t(s)])
      problem.loads.push_back({n.node, axis_y, s, n.share});
  return problem;
}

bool near_free_end(const Spot& spot) {
  const Web& web = spot.question.web;
  return (web.end1 == WebEnd::free && web.d1_mm < web.w_mm) ||
         (web.end2 == WebEnd::free && web.d2_mm < web.w_mm);
}

bool chosen_by_default(const Preview& preview, std::size_t index) {
  constexpr std::size_t kWorst = 3;
  const Spot& spot = preview.spots[index];
  if (index < kWorst || (spot.answer.s > 0.6 && spot.answer.s < 1.6) || near_free_end(spot))
    return true;
  const auto web = std::find_if(preview.webs.begin(), preview.webs.end(),
                                [&](const WebFound& w) { return w.id == spot.web; });
  return web != preview.webs.end() && (web->island || web->junction);
}

} // namespace

SolidCheck verify_spot(const RemovalRecord& record, const Scene& scene, const Spot& spot,
                       const VerifyOptions& options) {
  SolidCheck check;
  PatchOptions choice = options.patch;
  Outcome<WebPatch> patch = cut_patch(record, scene, spot, choice);
  if (patch && cost_of(patch->box) > options.spot_cost && choice.across > 4) {
    choice.across = 4;
    patch = cut_patch(record, scene, spot, choice);
  }
  if (!patch) {
    check.why_not = patch.faults()[0].what + "; " + patch.faults()[0].way_out;
    return check;
  }
  if (cost_of(patch->box) > options.spot_cost) {
    check.why_not = "the patch needs " + in_millions(cost_of(patch->box)) +
                    " over all right-hand sides, the limit is " + in_millions(options.spot_cost);
    return check;
  }
  const SolidProblem problem = slice_loads(*patch);
  const Outcome<SolidSolution> solution = solve_solid(problem, {options.tolerance, 300});
  if (!solution) {
    check.why_not = solution.faults()[0].what + "; " + solution.faults()[0].way_out;
    return check;
  }
  check.bricks = int(solution->bricks);
  check.unknowns = int(solution->unknowns);
  check.right_hand_sides = kSlices;
  check.iterations = *std::max_element(solution->iterations.begin(), solution->iterations.end());
  check.residual = *std::max_element(solution->residual.begin(), solution->residual.end());
  for (std::size_t a = 0; a < 3; ++a)
    check.brick_mm[a] = patch->box.edge_mm[a];
  if (!solution->converged) {
    check.why_not = "the solve stopped at a residual of " + std::to_string(check.residual);
    return check;
  }

  WallCompliance wall;
  for (int s = 0; s < kSlices; ++s) {
    for (int r = 0; r < kSlices; ++r) { // symmetric up to the solve's tolerance: take the mean
      const double u = 0.5 * (mean_out_mm(*solution, patch->slice[std::size_t(r)], s) +
                              mean_out_mm(*solution, patch->slice[std::size_t(s)], r));
      wall.slices[std::size_t(s * kSlices + r)] = patch->E_MPa * u;
    }
    wall.top[std::size_t(s)] = patch->E_MPa * mean_out_mm(*solution, patch->top, s);
    if (!(wall.slices[std::size_t(s * kSlices + s)] > 0)) {
      check.why_not =
          "a slice of the contact stands on foam that nothing holds: the web is loose at this moment";
      return check;
    }
  }
  check.answer = judge(spot.question, scene.foam_at(spot.place_mm.z + 0.5 * patch->h_mm), wall);
  check.s = check.answer.s, check.s_low = check.answer.s_low, check.s_high = check.answer.s_high;
  check.verified = true;

  double most = 0;
  for (const std::size_t node : patch->face_nodes) {
    Vec3 u;
    for (int s = 0; s < kSlices; ++s)
      u = u + check.answer.mode[std::size_t(s)] * solution->u_mm_at(node, s);
    check.shape_points_mm.push_back(patch->node_mm(node));
    check.shape_displacement.push_back(
        {u.x * patch->along.x + u.y * patch->out.x, u.x * patch->along.y + u.y * patch->out.y, u.z});
    most = std::max(most, norm(u));
  }
  for (Vec3& u : check.shape_displacement)
    u = (most > 0 ? 1 / most : 0) * u;
  return check;
}

int verify_spots(Preview& preview, int verify, const VerifyOptions& options,
                 const std::function<bool(double)>& progress) {
  if (!preview.record || verify == 0)
    return 0;
  std::vector<std::size_t> chosen;
  for (std::size_t i = 0; i < preview.spots.size(); ++i)
    if (verify == -2 || (verify > 0 ? i < std::size_t(verify) : chosen_by_default(preview, i)))
      chosen.push_back(i);
  double spent = 0;
  int verified = 0, left_out = 0;
  for (std::size_t n = 0; n < chosen.size(); ++n) {
    if (progress && !progress(double(n) / double(chosen.size())))
      break;
    Spot& spot = preview.spots[chosen[n]];
    if (verify == -1 && spent >= options.total_cost) {
      spot.fe = SolidCheck{};
      spot.fe->why_not = "left out: the spots before it used up the limit of " +
                         in_millions(options.total_cost) + "; ask for it with --verify all";
      ++left_out;
      continue;
    }
    spot.fe = verify_spot(*preview.record, preview.scene, spot, options);
    spent += double(spot.fe->unknowns) * spot.fe->right_hand_sides;
    verified += spot.fe->verified;
  }
  if (left_out)
    preview.notes.push_back(std::to_string(left_out) +
                            " spots were not verified with finite elements: the limit of " +
                            in_millions(options.total_cost) + " was used up (--verify all has no limit)");
  return verified;
}

} // namespace snagmap
