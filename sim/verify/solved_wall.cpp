#include "sim/verify/solved_wall.hpp"

#include "sim/verify/contact.hpp"
#include "sim/verify/low_rank.hpp"

#include <algorithm>
#include <cmath>
#include <tuple>

namespace snagmap {
namespace {

/// Order at which Gamma converges in the brick's edge, seen over edges 1 to 1/4 on random webs: under 2
/// because of the corners at the root and at the contact's edge.
constexpr double kOrder = 1.3;
constexpr double kPart_mm = 1.0 / (1 << 20); // lengths are rounded to it, whose sums are exact
constexpr double kPart = 1.0 / (1 << 30);    // and weights
constexpr double kPart_E = 1.0 / (1 << 12);  // and shares of foam

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

/// A mesh, its answers to load patterns, and the wall's compliance made of them.
struct Solved {
  SolidSolution solution;
  std::vector<SliceVector> answers; ///< E times the mean displacement of each slice
  std::vector<double> tops;         ///< and of the top edge
};

/// Unsolved when it did not converge or stands on foam that nothing holds.
OrUnsolved<Solved> solve_patch(const WebPatch& patch, const std::vector<SliceVector>& patterns,
                               double tolerance) {
  Outcome<SolidSolution> solution = solve_solid(pattern_loads(patch, patterns), {tolerance, 300});
  if (!solution)
    return Unsolved(unsolved::Loose{}); // the patch itself is sound: it was made here
  if (!solution->converged)
    return Unsolved(
        unsolved::NotSettled{*std::max_element(solution->residual.begin(), solution->residual.end())});
  Solved solved{std::move(*solution), {}, {}};
  for (std::size_t p = 0; p < patterns.size(); ++p) {
    SliceVector answer{};
    for (std::size_t s = 0; s < kSlices; ++s)
      answer[s] = patch.E_MPa * mean_out_mm(solved.solution, patch.slice[s], int(p));
    solved.answers.push_back(answer);
    solved.tops.push_back(patch.E_MPa * mean_out_mm(solved.solution, patch.top, int(p)));
    if (!(dot(patterns[p], answer) > 0))
      return Unsolved(unsolved::Loose{});
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

double rounded(double value, double part) {
  return std::round(value / part) * part;
}

void round_wall(WebPatch& patch, SnagQuestion& q) {
  for (std::vector<double>& edges : patch.box.graded_mm)
    for (double& edge : edges)
      edge = std::max(rounded(edge, kPart_mm), kPart_mm);
  for (float& e : patch.box.modulus_MPa)
    e = float(rounded(double(e) / patch.E_MPa, kPart_E) * patch.E_MPa);
  for (ContactPlace& place : patch.contact) {
    for (double* at : {&place.at_mm.x, &place.at_mm.y, &place.at_mm.z})
      *at = rounded(*at, kPart_mm);
    place.weight = rounded(place.weight, kPart);
  }
  for (double& share : patch.root_share)
    share = rounded(share, kPart);
  for (double* length : {&q.web.w_mm, &q.web.h_mm, &q.web.d1_mm, &q.web.d2_mm, &q.web.b_p_mm,
                         &q.contact.low_mm, &q.contact.high_mm, &q.pass_depth_mm})
    *length = rounded(*length, kPart_mm);
  q.web.fill = rounded(q.web.fill, kPart);
  for (double& bite : q.bite)
    bite = std::max(rounded(bite, kPart), kPart);
  if (std::tie(q.web.d2_mm, q.web.end2) < std::tie(q.web.d1_mm, q.web.end1))
    std::swap(q.web.d1_mm, q.web.d2_mm), std::swap(q.web.end1, q.web.end2);
}

void order_places(std::vector<ContactPlace>& places) {
  std::sort(places.begin(), places.end(), [](const ContactPlace& a, const ContactPlace& b) {
    return std::tie(a.slice, a.at_mm.z, a.at_mm.x, a.at_mm.y, a.weight) <
           std::tie(b.slice, b.at_mm.z, b.at_mm.x, b.at_mm.y, b.weight);
  });
}

/// Left for right: x from the other end.
WebPatch mirror_image(const WebPatch& patch) {
  WebPatch image = patch;
  const auto [nx, ny, nz] = patch.box.bricks;
  std::reverse(image.box.graded_mm[0].begin(), image.box.graded_mm[0].end());
  for (int k = 0; k < nz; ++k)
    for (int j = 0; j < ny; ++j)
      std::reverse(&image.box.modulus_MPa[image.box.brick(0, j, k)],
                   &image.box.modulus_MPa[image.box.brick(0, j, k)] + nx);
  image.load_x = nx - patch.load_x;
  const double wide = patch.box.planes_mm(0).back();
  for (ContactPlace& place : image.contact)
    place.at_mm.x = wide - place.at_mm.x;
  order_places(image.contact);
  return image;
}

class KeyWriter {
public:
  template <class T> void add(const T& value) {
    key_.append(reinterpret_cast<const char*>(&value), sizeof value);
  }
  template <class T> void add_all(const std::vector<T>& values) {
    add(values.size());
    key_.append(reinterpret_cast<const char*>(values.data()), values.size() * sizeof(T));
  }
  std::string take() { return std::move(key_); }

private:
  std::string key_;
};

std::string key_of(const WebPatch& patch, const SnagQuestion& q, double lambda) {
  KeyWriter key;
  for (const std::vector<double>& edges : patch.box.graded_mm)
    key.add_all(edges);
  key.add(patch.box.nu), key.add(patch.E_MPa), key.add(lambda);
  key.add(patch.load_x), key.add(patch.face_y), key.add(patch.root_z);
  key.add_all(patch.box.modulus_MPa);
  key.add_all(patch.box.fixed);
  for (const ContactPlace& place : patch.contact) {
    key.add(place.slice);
    for (const double value : {place.at_mm.x, place.at_mm.y, place.at_mm.z, place.weight})
      key.add(value);
  }
  key.add(patch.root_share), key.add(q.bite);
  for (const double value : {q.web.w_mm, q.web.h_mm, q.web.d1_mm, q.web.d2_mm, q.web.b_p_mm, q.web.nu,
                             q.web.fill, q.contact.low_mm, q.contact.high_mm, q.pass_depth_mm})
    key.add(value);
  key.add(q.web.end1), key.add(q.web.end2), key.add(q.web.rigid_floor);
  return key.take();
}

} // namespace

StandardWall standard_wall(WebPatch patch, SnagQuestion question, double lambda) {
  StandardWall wall;
  wall.lambda = lambda;
  round_wall(patch, question);
  order_places(patch.contact);
  WebPatch image = mirror_image(patch);
  std::string key = key_of(patch, question, lambda), other = key_of(image, question, lambda);
  wall.mirrored = other < key;
  wall.key = std::move(wall.mirrored ? other : key);
  wall.patch = std::move(wall.mirrored ? image : patch);
  wall.question = question;
  set_loads(wall.patch);
  return wall;
}

OrUnsolved<SolvedWall> solve_wall(const StandardWall& wall, int patterns, double tolerance) {
  const SnagQuestion& q = wall.question;
  const WebPatch& patch = wall.patch;
  const WebPatch coarse = coarser(patch);
  FoamCard foam; // the mode asks for no more of it
  foam.lambda.nominal = foam.lambda.low = foam.lambda.high = wall.lambda;
  // The coarse mesh answers the smooth patterns and the load under which the wall leans; its first mode is
  // the one load of the fine mesh. Gamma's error is the square of the mode's, so that the mode of another
  // mesh is good enough. What the lean adds to it keeps the coarse mesh's error, scaled as the mode's was.
  std::vector<SliceVector> smooth = smooth_patterns(patterns, patch.root_share);
  if (patterns < kSlices)
    add_pattern(base_loads(q, patch.root_share), smooth);
  const OrUnsolved<Solved> first = solve_patch(coarse, smooth, tolerance);
  if (!first)
    return first.why_not();
  const WallCompliance before = mended(by_formula(q, patch.root_share), smooth, *first);
  std::vector<SliceVector> fine = smooth;
  if (patterns < kSlices)
    fine = {mode_loads(q, judge(q, foam, before))};
  const OrUnsolved<Solved> second = solve_patch(patch, fine, tolerance);
  if (!second)
    return second.why_not();
  const SolidSolution& solution = second->solution;
  SolvedWall solved;
  solved.bricks = int(solution.bricks), solved.unknowns = int(solution.unknowns);
  solved.right_hand_sides = int(fine.size());
  solved.iterations = *std::max_element(solution.iterations.begin(), solution.iterations.end());
  solved.residual = *std::max_element(solution.residual.begin(), solution.residual.end());
  solved.fine = mended(before, fine, *second);
  solved.wall = solved.fine;
  const double further = 1 / (std::pow(2, kOrder) - 1);
  for (std::size_t k = 0; k < solved.wall.slices.size(); ++k)
    solved.wall.slices[k] += further * (solved.fine.slices[k] - before.slices[k]);
  for (std::size_t s = 0; s < solved.wall.top.size(); ++s)
    solved.wall.top[s] += further * (solved.fine.top[s] - before.top[s]);

  const SliceVector loads = mode_loads(q, judge(q, foam, solved.wall));
  double most = 0;
  for (const std::size_t node : patch.face_nodes) {
    Vec3 u;
    for (std::size_t p = 0; p < fine.size(); ++p)
      u = u + dot(loads, fine[p]) * solution.u_mm_at(node, int(p));
    solved.shape.push_back(u);
    most = std::max(most, norm(u));
  }
  for (Vec3& u : solved.shape)
    u = (most > 0 ? 1 / most : 0) * u;
  return solved;
}

} // namespace snagmap
