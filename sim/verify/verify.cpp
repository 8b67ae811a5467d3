#include "sim/verify/verify.hpp"

#include "sim/threads/parallel.hpp"
#include "sim/verify/low_rank.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>

namespace snagmap {
namespace {

/// Order at which Gamma converges in the brick's edge, seen over edges 1 to 1/4 on random webs: under 2
/// because of the corners at the root and at the contact's edge.
constexpr double kOrder = 1.3;

Fault words(std::string what) {
  Fault fault;
  fault.what = std::move(what);
  return fault;
}

constexpr double kMayLean = 1.3;    // S on the coarser mesh, 15 % and more off, from which no lean is told
constexpr double kMatters = 0.5;    // S under which a web is firm
constexpr std::size_t kAtOnce = 16; // spots between two looks at the limit: a number of no machine's

double cost_of(const BrickBox& box) {
  return 3.0 * double(box.node_count());
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

/// Unit loads of the patterns, each over the slices.
SolidProblem pattern_loads(const WebPatch& patch, const std::vector<SliceVector>& patterns) {
  SolidProblem problem;
  problem.box = patch.box;
  problem.right_hand_sides = int(patterns.size());
  for (std::size_t p = 0; p < patterns.size(); ++p)
    for (std::size_t s = 0; s < kSlices; ++s)
      for (const NodeShare& n : patch.slice[s])
        problem.loads.push_back({n.node, axis_y, int(p), patterns[p][s] * n.share});
  return problem;
}

/// Could S reach the edge of 'firm' by the upper end of the formula's band? Of two foams the formula knows
/// nothing.
bool could_matter(const Spot& spot) {
  return spot.answer.s_high >= kMatters || spot.question.laminate;
}

/// A mesh, its answers to load patterns, and the wall's compliance made of them.
struct Solved {
  SolidSolution solution;
  std::vector<SliceVector> answers; ///< E times the mean displacement of each slice
  std::vector<double> tops;         ///< and of the top edge
};

/// Fault when it did not converge or stands on foam that nothing holds.
Outcome<Solved> solve_patch(const WebPatch& patch, const std::vector<SliceVector>& patterns,
                            double tolerance) {
  Outcome<SolidSolution> solution = solve_solid(pattern_loads(patch, patterns), {tolerance, 300});
  if (!solution)
    return solution.faults();
  if (!solution->converged)
    return words("the solve stopped at a residual of " +
                 std::to_string(*std::max_element(solution->residual.begin(), solution->residual.end())));
  Solved solved{std::move(*solution), {}, {}};
  for (std::size_t p = 0; p < patterns.size(); ++p) {
    SliceVector answer{};
    for (std::size_t s = 0; s < kSlices; ++s)
      answer[s] = patch.E_MPa * mean_out_mm(solved.solution, patch.slice[s], int(p));
    solved.answers.push_back(answer);
    solved.tops.push_back(patch.E_MPa * mean_out_mm(solved.solution, patch.top, int(p)));
    if (!(dot(patterns[p], answer) > 0))
      return words(
          "a slice of the contact stands on foam that nothing holds: the web is loose at this moment");
  }
  return solved;
}

/// The guess mended by what was solved: slices exactly for the patterns, the top edge likewise.
WallCompliance mended(const WallCompliance& guess, const std::vector<SliceVector>& patterns,
                      const Solved& solved) {
  WallCompliance wall = guess;
  wall.slices = with_known(guess.slices, patterns, solved.answers);
  for (std::size_t p = 0; p < patterns.size(); ++p) {
    const double off = solved.tops[p] - dot(guess.top, patterns[p]);
    for (std::size_t s = 0; s < kSlices; ++s)
      wall.top[s] += off * patterns[p][s];
  }
  return wall;
}

/// What the formula has for the wall: it fills in what no pattern asks for.
WallCompliance by_formula(const SnagQuestion& q, const SliceVector& root_share) {
  WallCompliance wall;
  const SliceMatrix matrix = compliance_matrix(q.web, q.contact);
  const double scale = gamma(q.web, q.contact, matrix, kAllSlices).scale;
  const double patch_mm = (q.contact.high_mm - q.contact.low_mm) / kSlices;
  for (std::size_t k = 0; k < matrix.size(); ++k)
    wall.slices[k] = scale * root_share[k / kSlices] * root_share[k % kSlices] * matrix[k];
  for (int s = 0; s < kSlices; ++s)
    wall.top[std::size_t(s)] =
        scale * root_share[std::size_t(s)] *
        compliance_E_per_mm(q.web, q.web.h_mm, q.contact.low_mm + (s + 0.5) * patch_mm, patch_mm);
  return wall;
}

/// The base load, on the slices within the pass depth.
SliceVector base_loads(const SnagQuestion& q, const SliceVector& root_share) {
  SliceVector loads;
  const double slice_mm = (q.contact.high_mm - q.contact.low_mm) / kSlices;
  for (std::size_t s = 0; s < kSlices; ++s)
    loads[s] = root_share[s] * q.bite[s] * std::clamp(q.pass_depth_mm / slice_mm - double(s), 0.0, 1.0);
  return loads;
}

/// The loads of the wall's first mode, of length 1.
SliceVector mode_loads(const SnagQuestion& q, const SnagAnswer& answer) {
  SliceVector loads;
  for (std::size_t s = 0; s < kSlices; ++s)
    loads[s] = q.bite[s] * answer.mode[s];
  const double length = std::sqrt(dot(loads, loads));
  for (double& load : loads)
    load /= length;
  return loads;
}

} // namespace

SolidCheck verify_spot(const RemovalRecord& record, const Scene& scene, const Spot& spot,
                       const VerifyOptions& options) {
  SolidCheck check;
  const auto begin = std::chrono::steady_clock::now();
  const auto refuse = [&](const Fault& fault) {
    check.why_not = fault.what + (fault.way_out.empty() ? "" : "; " + fault.way_out);
    return check;
  };
  PatchOptions choice = options.patch;
  Outcome<WebPatch> patch = cut_patch(record, scene, spot, choice);
  if (patch && cost_of(patch->box) > options.spot_cost && choice.across > 2) {
    choice.across = 2;
    patch = cut_patch(record, scene, spot, choice);
  }
  if (!patch)
    return refuse(patch.faults()[0]);
  if (cost_of(patch->box) > options.spot_cost)
    return refuse(words("the patch needs " + in_millions(cost_of(patch->box)) +
                        " over all right-hand sides, the limit is " + in_millions(options.spot_cost)));
  const WebPatch coarse = coarser(*patch);
  const FoamCard& foam = scene.foam_between(spot.place_mm.z, spot.place_mm.z + patch->h_mm);
  // The coarse mesh answers the smooth patterns; its first mode is the load of the fine mesh, beside the one
  // under which a wall that holds leans. Gamma's
  // error is the square of the mode's, so that the mode of another mesh is good enough.
  std::vector<SliceVector> smooth = smooth_patterns(options.patterns, patch->root_share);
  if (options.patterns < kSlices) // and the load under which the wall leans
    add_pattern(base_loads(spot.question, patch->root_share), smooth);
  const Outcome<Solved> first = solve_patch(coarse, smooth, options.tolerance);
  if (!first)
    return refuse(first.faults()[0]);
  const WallCompliance before = mended(by_formula(spot.question, patch->root_share), smooth, *first);
  std::vector<SliceVector> fine = smooth;
  if (options.patterns < kSlices) {
    const SnagAnswer guess = judge(spot.question, foam, before);
    fine = {mode_loads(spot.question, guess)};
    if (guess.s < kMayLean)
      add_pattern(base_loads(spot.question, patch->root_share), fine);
  }
  const Outcome<Solved> second = solve_patch(*patch, fine, options.tolerance);
  if (!second)
    return refuse(second.faults()[0]);
  const SolidSolution& solution = second->solution;
  check.bricks = int(solution.bricks);
  check.unknowns = int(solution.unknowns);
  check.right_hand_sides = int(fine.size());
  check.iterations = *std::max_element(solution.iterations.begin(), solution.iterations.end());
  check.residual = *std::max_element(solution.residual.begin(), solution.residual.end());
  for (std::size_t a = 0; a < 3; ++a)
    check.brick_mm[a] = patch->box.edge_mm[a];

  WallCompliance wall = mended(before, fine, *second);
  const double unmended = judge(spot.question, foam, wall).gamma;
  const double further = 1 / (std::pow(2, kOrder) - 1);
  for (std::size_t k = 0; k < wall.slices.size(); ++k)
    wall.slices[k] += further * (wall.slices[k] - before.slices[k]);
  for (std::size_t s = 0; s < wall.top.size(); ++s)
    wall.top[s] += further * (wall.top[s] - before.top[s]);
  check.answer = judge(spot.question, foam, wall);
  check.mesh_share = check.answer.gamma > 0 ? 1 - unmended / check.answer.gamma : 0;
  check.s = check.answer.s, check.s_low = check.answer.s_low, check.s_high = check.answer.s_high;
  check.verified = true;

  const SliceVector loads = mode_loads(spot.question, check.answer);
  double most = 0;
  for (const std::size_t node : patch->face_nodes) {
    Vec3 u;
    for (std::size_t p = 0; p < fine.size(); ++p)
      u = u + dot(loads, fine[p]) * solution.u_mm_at(node, int(p));
    check.shape_points_mm.push_back(patch->node_mm(node));
    check.shape_displacement.push_back(
        {u.x * patch->along.x + u.y * patch->out.x, u.x * patch->along.y + u.y * patch->out.y, u.z});
    most = std::max(most, norm(u));
  }
  for (Vec3& u : check.shape_displacement)
    u = (most > 0 ? 1 / most : 0) * u;
  check.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
  return check;
}

std::optional<Verified> verify_spots(JudgedJob& job, int verify, const VerifyOptions& options,
                                     const std::function<bool(double)>& progress) {
  if (!job.record || verify == 0)
    return Verified{};
  for (Spot& spot : job.spots)
    if (spot.solved()) // before: it begins anew from the formula's answer
      spot.answer = spot.screened, spot.fe.reset();
  std::vector<std::size_t> chosen;
  for (std::size_t i = 0; i < job.spots.size(); ++i)
    if (verify == -2 || (verify > 0 ? i < std::size_t(verify) : could_matter(job.spots[i])))
      chosen.push_back(i);
  double spent = 0;
  Verified count;
  for (std::size_t first = 0; first < chosen.size(); first += kAtOnce) {
    if (progress && !progress(double(first) / double(chosen.size())))
      return {};
    const std::size_t last = std::min(first + kAtOnce, chosen.size());
    if (verify == -1 && spent >= options.total_cost) {
      for (std::size_t n = first; n < last; ++n) {
        Spot& spot = job.spots[chosen[n]];
        spot.fe = SolidCheck{};
        spot.fe->why_not = "left out: the spots before it used up the limit of " +
                           in_millions(options.total_cost) + "; ask for it with --verify all";
        ++count.left_out;
      }
      continue;
    }
    parallel_pieces(last - first, 1, [&](std::size_t from, std::size_t to) {
      for (std::size_t n = first + from; n < first + to; ++n) {
        Spot& spot = job.spots[chosen[n]];
        spot.fe = verify_spot(*job.record, job.scene, spot, options);
      }
    });
    for (std::size_t n = first; n < last; ++n) {
      Spot& spot = job.spots[chosen[n]];
      spent += double(spot.fe->unknowns) * spot.fe->right_hand_sides;
      count.verified += spot.fe->verified;
      if (spot.fe->verified)
        spot.screened = spot.answer, spot.answer = spot.fe->answer;
    }
  }
  return count;
}

} // namespace snagmap
