#include "sim/verify/verify.hpp"

#include "sim/threads/parallel.hpp"
#include "sim/verify/solved_wall.hpp"

#include <algorithm>
#include <chrono>
#include <map>
#include <memory>

namespace snagmap {
namespace {

constexpr double kMatters = 0.5; // S under which a web is firm
// Over S by elements over the formula's: 3.3 at most on 2,207 webs of some 420 random shapes
constexpr double kFormulaLow = 4;
constexpr std::size_t kAtOnce = 16; // spots between two looks at the limit: a number of no machine's
constexpr std::size_t kShapesKept = 1000;

double cost_of(const BrickBox& box) {
  return 3.0 * double(box.node_count());
}

const FoamCard& foam_of(const Scene& scene, const Spot& spot, double h_mm) {
  return scene.foam_between(spot.place_mm.z, spot.place_mm.z + h_mm);
}

SolidCheck refused(const Unsolved& why) {
  SolidCheck check;
  check.why_not = why;
  return check;
}

double seconds_since(std::chrono::steady_clock::time_point begin) {
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
}

/// The spot's wall, small enough to be solved.
OrUnsolved<StandardWall> wall_of(const RemovalRecord& record, const Scene& scene, const Spot& spot,
                                 const VerifyOptions& options) {
  PatchOptions choice = options.patch;
  OrUnsolved<WebPatch> patch = cut_patch(record, scene, spot, choice);
  if (patch && cost_of(patch->box) > options.spot_cost && choice.across > 2) {
    choice.across = 2;
    patch = cut_patch(record, scene, spot, choice);
  }
  if (!patch)
    return patch.why_not();
  if (cost_of(patch->box) > options.spot_cost)
    return Unsolved(unsolved::TooLarge{cost_of(patch->box), options.spot_cost});
  const double lambda = foam_of(scene, spot, patch->h_mm).lambda.nominal;
  return standard_wall(std::move(*patch), spot.question, lambda);
}

/// The spot's own judgement on its wall's compliance.
SolidCheck check_of(const Scene& scene, const Spot& spot, const StandardWall& wall,
                    const SolvedWall& solved) {
  SolidCheck check;
  check.bricks = solved.bricks, check.unknowns = solved.unknowns;
  check.right_hand_sides = solved.right_hand_sides, check.iterations = solved.iterations;
  check.residual = solved.residual;
  const WebPatch& patch = wall.patch;
  for (std::size_t a = 0; a < 3; ++a)
    check.brick_mm[a] = patch.box.edge_mm[a];
  const FoamCard& foam = foam_of(scene, spot, patch.h_mm);
  check.answer = judge(spot.question, foam, solved.wall);
  check.mesh_share =
      check.answer.gamma > 0 ? 1 - judge(spot.question, foam, solved.fine).gamma / check.answer.gamma : 0;
  check.verified = true;
  const double wide = patch.box.planes_mm(0).back(), way = wall.mirrored ? -1 : 1;
  for (std::size_t n = 0; n < patch.face_nodes.size(); ++n) {
    const Vec3 p = patch.box.node_mm(patch.face_nodes[n]), u = solved.shape[n];
    const double x = wall.mirrored ? wide - p.x : p.x;
    check.shape_points_mm.push_back({patch.origin_mm.x + x * patch.along.x + p.y * patch.out.x,
                                     patch.origin_mm.y + x * patch.along.y + p.y * patch.out.y,
                                     patch.origin_mm.z + p.z});
    check.shape_displacement.push_back(
        {way * u.x * patch.along.x + u.y * patch.out.x, way * u.x * patch.along.y + u.y * patch.out.y, u.z});
  }
  return check;
}

} // namespace

bool could_matter(const Spot& spot) {
  return kFormulaLow * spot.by_formula().s_high >= kMatters || spot.question.laminate;
}

SolidCheck verify_spot(const RemovalRecord& record, const Scene& scene, const Spot& spot,
                       const VerifyOptions& options) {
  const auto begin = std::chrono::steady_clock::now();
  const OrUnsolved<StandardWall> wall = wall_of(record, scene, spot, options);
  if (!wall)
    return refused(wall.why_not());
  const OrUnsolved<SolvedWall> solved = solve_wall(*wall, options.patterns, options.tolerance);
  if (!solved)
    return refused(solved.why_not());
  SolidCheck check = check_of(scene, spot, *wall, *solved);
  check.seconds = seconds_since(begin);
  return check;
}

std::optional<Verified> verify_spots(JudgedJob& job, SolveChoice which, const VerifyOptions& options,
                                     const std::function<bool(double)>& progress) {
  if (!job.record || which.is_none())
    return Verified{};
  for (Spot& spot : job.spots)
    if (spot.solved()) // before: it begins anew from the formula's answer
      spot.answer = spot.screened, spot.fe.reset();
  std::vector<std::size_t> chosen;
  for (std::size_t i = 0; i < job.spots.size(); ++i)
    if (which.takes(i, could_matter(job.spots[i])))
      chosen.push_back(i);
  double spent = 0;
  Verified count;
  std::map<std::string, std::unique_ptr<OrUnsolved<SolvedWall>>> shapes; // by their keys
  for (std::size_t first = 0; first < chosen.size(); first += kAtOnce) {
    if (progress && !progress(double(first) / double(chosen.size())))
      return {};
    const std::size_t last = std::min(first + kAtOnce, chosen.size());
    if (which.limited() && spent >= options.total_cost) {
      for (std::size_t n = first; n < last; ++n) {
        Spot& spot = job.spots[chosen[n]];
        spot.fe = refused(unsolved::LeftOut{options.total_cost});
        ++count.left_out;
      }
      continue;
    }
    const std::size_t here = last - first;
    std::vector<std::unique_ptr<OrUnsolved<StandardWall>>> walls(here);
    std::vector<SolidCheck> checks(here);
    parallel_each(here, [&](std::size_t n) {
      const auto begin = std::chrono::steady_clock::now();
      walls[n] = std::make_unique<OrUnsolved<StandardWall>>(
          wall_of(*job.record, job.scene, job.spots[chosen[first + n]], options));
      checks[n].seconds = seconds_since(begin);
    });
    // Each shape once; a wall that is the same as one before takes its answer.
    if (shapes.size() > kShapesKept)
      shapes.clear();
    std::vector<std::size_t> anew;
    for (std::size_t n = 0; n < here; ++n)
      if (*walls[n] && shapes.try_emplace((*walls[n])->key).second)
        anew.push_back(n);
    parallel_each(anew.size(), [&](std::size_t k) {
      const auto begin = std::chrono::steady_clock::now();
      const StandardWall& wall = **walls[anew[k]];
      shapes.find(wall.key)->second =
          std::make_unique<OrUnsolved<SolvedWall>>(solve_wall(wall, options.patterns, options.tolerance));
      checks[anew[k]].seconds += seconds_since(begin);
    });
    for (const std::size_t n : anew)
      if (const OrUnsolved<SolvedWall>& solved = *shapes.find((*walls[n])->key)->second)
        spent += double(solved->unknowns) * solved->right_hand_sides;
    count.shapes += int(anew.size());
    for (std::size_t n = 0; n < here; ++n) {
      Spot& spot = job.spots[chosen[first + n]];
      const double seconds = checks[n].seconds;
      if (!*walls[n]) {
        spot.fe = refused(walls[n]->why_not());
        continue;
      }
      const OrUnsolved<SolvedWall>& solved = *shapes.find((*walls[n])->key)->second;
      spot.fe = solved ? check_of(job.scene, spot, **walls[n], *solved) : refused(solved.why_not());
      spot.fe->seconds = seconds;
      if (!spot.solved())
        continue;
      ++count.verified;
      spot.screened = spot.answer, spot.answer = spot.fe->answer;
    }
  }
  return count;
}

} // namespace snagmap
