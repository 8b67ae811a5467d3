#include "sim/watch/sampling.hpp"

#include "models/base/finite.hpp"
#include "sim/path/layers.hpp"
#include "sim/path/moves.hpp"
#include "sim/watch/repeats.hpp"
#include "sim/watch/sampler.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

/// How far p lies beside the box in plan; 0 over or under it.
double beside_mm(const Box3& box, Vec3 p) {
  return norm(Vec2{std::max({box.low.x - p.x, p.x - box.high.x, 0.0}),
                   std::max({box.low.y - p.y, p.y - box.high.y, 0.0})});
}

/// Depth of the pass of every cutting move: from the level cut before it in the same pocket. Going up begins
/// a pocket anew, from the sheet's top (a shelf cut after the deep part counts as deeper than it is).
std::vector<double> pass_steps_mm(const Path& path, const std::vector<double>& level, double top_mm) {
  std::vector<double> step(path.moves.size());
  double above = top_mm, here = top_mm;
  for (std::size_t i = 0; i < path.moves.size(); ++i) {
    if (!is_feed(path.moves[i]) || level[i] >= top_mm - kSameLevel_mm)
      continue;
    if (level[i] < here - kSameLevel_mm)
      above = here;
    if (level[i] > here + kSameLevel_mm)
      above = top_mm;
    here = level[i];
    step[i] = above - here;
  }
  // A rapid belongs to the pass of the feed it leads to, or leaves.
  const auto take_from = [&](std::size_t i, std::size_t other) {
    if (path.moves[i].kind == MoveKind::rapid && step[i] == 0 &&
        std::abs(level[i] - level[other]) < kSameLevel_mm)
      step[i] = step[other];
  };
  for (std::size_t i = path.moves.size(); i-- > 1;)
    take_from(i - 1, i);
  for (std::size_t i = 1; i < path.moves.size(); ++i)
    take_from(i, i - 1);
  return step;
}

constexpr double kJoint_mm = 1e-6; ///< far over the rounding of a way's length, far under any spacing

/// The heading at which the way goes on after each move, as long as nothing but plunges lies between.
std::vector<Vec2> headings_after(const Path& path) {
  std::vector<Vec2> after(path.moves.size());
  for (std::size_t i = path.moves.size(); i-- > 1;) {
    const Vec2 own = length_mm(path.moves[i]) > 0 ? heading_at(path.moves[i], 0) : Vec2{};
    after[i - 1] = norm(own) > 0 ? own : after[i];
  }
  return after;
}

bool is_straight_up(const Move& move) {
  return move.kind != MoveKind::arc && move.to.z > move.from.z && move.to.x == move.from.x &&
         move.to.y == move.from.y;
}

/// The share of a move at which its tip first goes under a height; it does so somewhere.
double share_under(const Move& move, double z_mm) {
  if (move.from.z < z_mm)
    return 0;
  if (move.kind != MoveKind::arc || move.plane == ArcPlane::xy)
    return std::clamp((z_mm - move.from.z) / (move.to.z - move.from.z), 0.0, 1.0);
  constexpr int kSteps = 256;
  int under = 1;
  while (under < kSteps && point_at(move, static_cast<double>(under) / kSteps).z >= z_mm)
    ++under;
  double above = (under - 1.0) / kSteps, below = static_cast<double>(under) / kSteps;
  for (int n = 0; n < 40; ++n) {
    const double middle = 0.5 * (above + below);
    (point_at(move, middle).z >= z_mm ? above : below) = middle;
  }
  return below;
}

} // namespace

Sampler::Sampler(const Path& path, double top_mm)
    : path_(path), top_mm_(top_mm), level_(pass_levels_mm(path)), step_(pass_steps_mm(path, level_, top_mm)),
      leads_to_(headings_after(path)) {}

Sample Sampler::at(std::uint32_t move, double share, Vec2 before) const {
  Vec2 heading = heading_at(path_.moves[move], share);
  if (norm(heading) == 0)
    heading = norm(leads_to_[move]) > 0 ? leads_to_[move] : before;
  return {move, share, point_at(path_.moves[move], share), heading, level_[move], step_[move]};
}

/// Is what the move does still the same pass?
bool Sampler::goes_on(const Sample& from, std::size_t move) const {
  return !is_straight_up(path_.moves[move]) && lowest_z_mm(path_.moves[move]) < top_mm_ &&
         std::abs(level_[move] - from.pass_z_mm) < kSameLevel_mm;
}

Sample Sampler::along(const Sample& from, double way_mm) const {
  std::size_t move = from.move;
  double share = from.share;
  const bool ahead = way_mm > 0;
  for (double left = std::abs(way_mm); left > 0;) {
    const Move& here = path_.moves[move];
    const double length = length_mm(here), end = ahead ? (1 - share) * length : share * length;
    if (left <= end && !(ahead && is_straight_up(here))) {
      share = std::clamp(share + (ahead ? left : -left) / length, 0.0, 1.0);
      break;
    }
    if (!(ahead && is_straight_up(here)))
      left -= end, share = ahead ? 1 : 0;
    std::size_t next = move;
    do
      next = ahead ? next + 1 : next - 1; // past the first move it is no index
    while (next < path_.moves.size() && !(length_mm(path_.moves[next]) > 0));
    if (next >= path_.moves.size() || !goes_on(from, next))
      break;
    move = next, share = ahead ? 0 : 1;
  }
  if (!ahead && !(point_at(path_.moves[move], share).z < top_mm_))
    share = share_under(path_.moves[move], top_mm_);
  return at(static_cast<std::uint32_t>(move), share, from.heading);
}

std::vector<Sample> sample_path(const Path& path, double spacing_mm, double top_mm) {
  constexpr double kFar_mm = 1e300;
  return sample_path(path, spacing_mm, Box3{{-kFar_mm, -kFar_mm, -kFar_mm}, {kFar_mm, kFar_mm, top_mm}}, 0);
}

std::vector<Sample> sample_path(const Path& path, double spacing_mm, const Box3& sheet, double reach_mm) {
  const double top_mm = sheet.high.z;
  require_finite("the spacing of samples, the sheet's top and the reach", spacing_mm, top_mm, reach_mm);
  if (!(spacing_mm > 0))
    throw std::invalid_argument("the spacing of samples must be positive");
  const Sampler sampler(path, top_mm);
  const std::vector<char> repeats = repeats_of(path, sampler.steps_mm(), top_mm);
  std::vector<Sample> samples;
  double at = 0, next = 0; // way gone under the top, and to the next sample
  double taken = -1;       // way gone to the last sample
  bool under = false;
  Vec2 heading; // of the way so far under the top
  for (std::size_t i = 0; i < path.moves.size(); ++i) {
    const Move& move = path.moves[i];
    const double length = length_mm(move);
    if (!(length > 0))
      continue;
    const auto take = [&](double share, double way) {
      const Sample sample = sampler.at(static_cast<std::uint32_t>(i), share, heading);
      if (!(sample.tip_mm.z < top_mm) || beside_mm(sheet, sample.tip_mm) > reach_mm)
        return;
      taken = way;
      if (!repeats[i])
        samples.push_back(sample);
    };
    if (lowest_z_mm(move) >= top_mm) {
      under = false;
      continue;
    }
    double entry = 0; // share where the tip goes under the top
    if (!under || move.from.z >= top_mm) {
      entry = share_under(move, top_mm);
      at = 0, taken = -1;
      next = 0.5 * spacing_mm;
      heading = {};
    }
    const bool straight_up = is_straight_up(move);
    if (straight_up && under && at > taken + kJoint_mm && (i == 0 || !is_straight_up(path.moves[i - 1])))
      take(0, at);
    const double end = at + (1 - entry) * length;
    if (!straight_up) {
      // What falls on a joint is taken at the next move's start, on whichever side of it rounding puts it.
      while (next < end - kJoint_mm) {
        const double share = std::clamp(entry + (next - at) / length, 0.0, 1.0);
        const double beside = beside_mm(sheet, point_at(move, share)) - reach_mm;
        if (beside > 0) { // no way leads back to the sheet sooner
          next += spacing_mm * std::max(1.0, std::floor(beside / spacing_mm));
          continue;
        }
        take(share, next);
        next += spacing_mm;
      }
      at = end;
    }
    if (const Vec2 last = heading_at(move, 1); norm(last) > 0)
      heading = last;
    under = move.to.z < top_mm;
  }
  return samples;
}

} // namespace snagmap
