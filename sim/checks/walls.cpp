#include "sim/checks/walls.hpp"

#include <algorithm>
#include <cmath>
#include <map>

namespace snagmap {
namespace {

constexpr double kIntoWall_mm =
    0.3; // behind a wall's face, clear of rounding: is that foam there at the end?
constexpr double kReachesTop = 0.95; // flutes over this share of the wall cut its top edge again

/// Is the foam behind this place of a wall there to stay? `into` points from the cutter to the wall.
bool finished(const RemovalRecord& record, Vec2 face, Vec2 into, double z) {
  const double length = norm(into);
  if (!(length > 0))
    return false;
  const Vec2 behind = face + (kIntoWall_mm / length) * into;
  return record.removed_by({behind.x, behind.y, z}) == kNever;
}

/// One side of a web, its passes from the top down.
struct Side {
  std::vector<const Spot*> passes;
};

std::vector<Side> sides_of(const JudgedJob& job) {
  std::map<std::pair<int, bool>, Side> sides;
  std::map<int, Vec2> facing; // of the web's first spot: the sign that tells its two sides apart
  std::vector<const Spot*> spots;
  for (const Spot& spot : job.spots)
    spots.push_back(&spot);
  std::stable_sort(spots.begin(), spots.end(),
                   [](const Spot* a, const Spot* b) { return a->place_mm.z > b->place_mm.z; });
  for (const Spot* spot : spots) {
    if (!finished(*job.record, xy(spot->place_mm), -1 * spot->normal, spot->place_mm.z + kIntoWall_mm))
      continue;
    const Vec2 first = facing.emplace(spot->web, spot->normal).first->second;
    sides[{spot->web, dot(first, spot->normal) > 0}].passes.push_back(spot);
  }
  std::vector<Side> list;
  for (auto& [key, side] : sides)
    list.push_back(std::move(side));
  return list;
}

PocketFit fit_of(const Side& side) {
  const Spot& floor = *side.passes.back();
  PocketFit fit;
  fit.web = floor.web;
  fit.place_mm = floor.place_mm;
  fit.line = floor.program_line;
  fit.time_s = floor.time_s;
  fit.known = true;
  fit.floor_mm = floor.answer.lean_mm;
  fit.floor_low_mm = floor.answer.lean_low_mm;
  fit.floor_high_mm = floor.answer.lean_high_mm;
  bool any = false;
  for (const Spot* spot : side.passes) {
    if (!spot->answer.has_lean)
      fit.known = false;
    // The top is cut by the first pass, and again by every later one whose flutes reach it.
    if (spot != side.passes.front() && spot->a_mm < kReachesTop * spot->question.web.h_mm)
      continue;
    const double top = std::copysign(spot->answer.u_max_mm, spot->answer.lean_mm);
    fit.top_mm = any ? std::max(fit.top_mm, top) : top;
    any = true;
  }
  return fit;
}

} // namespace

WallTruth check_walls(const JudgedJob& job) {
  WallTruth truth;
  truth.tolerance_mm = job.scene.tolerance_mm;
  if (!job.record)
    return truth;
  float worst_s = 0;
  for (const PathSample& sample : job.samples) {
    if (sample.web < 0)
      continue;
    const Vec2 face{sample.wall_x_mm, sample.wall_y_mm}, tip{sample.x_mm, sample.y_mm};
    if (!finished(*job.record, face, face - tip, std::max(sample.root_z_mm, sample.z_mm) + kIntoWall_mm))
      continue;
    const WallError here{{face.x, face.y, sample.root_z_mm}, sample.top_z_mm, sample.lean_mm, sample.move,
                         job.path.moves[sample.move].line,   sample.web,      sample.time_s};
    if (sample.s >= 1) {
      if (++truth.unknown == 1 || sample.s > worst_s)
        truth.worst_unknown = here, worst_s = sample.s;
      continue;
    }
    const double error = sample.lean_mm;
    truth.errors.push_back(here);
    truth.most_over_mm = std::max(truth.most_over_mm, error);
    truth.most_left_mm = std::max(truth.most_left_mm, -error);
    if (error > truth.tolerance_mm)
      ++truth.over_tolerance;
    if (-error > truth.tolerance_mm)
      ++truth.left_tolerance;
  }
  for (const Side& side : sides_of(job))
    truth.fits.push_back(fit_of(side));
  const auto worst = [](const PocketFit& fit) {
    return std::max(std::abs(fit.floor_mm), std::abs(fit.top_mm));
  };
  std::stable_sort(truth.fits.begin(), truth.fits.end(), [&](const PocketFit& a, const PocketFit& b) {
    return a.known != b.known ? !a.known : worst(a) > worst(b);
  });
  return truth;
}

} // namespace snagmap
