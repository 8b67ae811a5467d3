// Sweeps near a piece of the way, and where along it what they leave begins to change.
#include "sim/probe/removed.hpp"
#include "sim/probe/removed_rule.hpp"
#include "sim/record/mesh.hpp"
#include "sim/record/near.hpp"

#include <limits>
#include <tuple>

namespace snagmap {
using namespace removed_rule;
namespace {

constexpr double kInside_mm = 1e-6;   // deeper than any rounding of an outline
constexpr std::size_t kManyNear = 24; // chords of a helix, most of whose outlines lie within one another

} // namespace

/// Widest that the part gets between two heights: a vee no deeper than its cone is narrower there than above.
double RemovedBy::reach(const Sweep& sweep, const BodyPart& part, double low, double high) {
  const double least = std::min(sweep.za, sweep.zb), most = std::max(sweep.za, sweep.zb);
  if (part.low + least >= high || part.high + most <= low)
    return 0;
  return part.flat ? part.radius
                   : std::min(part.under.radius_at(high - least), part.over.radius_at(most - low));
}

/// Fills near_ with the sweeps that may take of a stretch before this one does.
void RemovedBy::gather(const Stretch& stretch) {
  const Box2 box = plan_of(stretch);
  list_sweeps(box);
  near_.clear();
  bands_.clear();
  for (const std::uint32_t n : indices_)
    add_near(n, stretch.patch, box);
  edges_.clear();
  if (!data_.mesh.triangles.empty())
    mesh_edges(data_.mesh, data_.grid, box.low, box.high, edges_);
  order_near();
}

/// The box in plan round all that the cutter covers on a stretch.
Box2 RemovedBy::plan_of(const Stretch& stretch) const {
  const auto& [patch, t0, t1] = stretch;
  Vec2 p, q;
  double bulge = 0;
  if (patch.wedge) {
    const SweptArc& arc = runs_.arcs().arcs[sweep_.arc];
    p = patch.origin + arc.radius * unit(t0);
    q = patch.origin + arc.radius * unit(t1);
    bulge = arc.radius * (1 - std::cos(0.5 * (t1 - t0)));
  } else {
    p = patch.origin + std::clamp(t0, 0.0, patch.length) * patch.ahead;
    q = patch.origin + std::clamp(t1, 0.0, patch.length) * patch.ahead;
  }
  return {{std::min(p.x, q.x) - bulge - radius_, std::min(p.y, q.y) - bulge - radius_},
          {std::max(p.x, q.x) + bulge + radius_, std::max(p.y, q.y) + bulge + radius_}};
}

/// Fills indices_ with the earlier sweeps near, a run of chords by its first, a stack by its latest.
void RemovedBy::list_sweeps(const Box2& box) {
  indices_.clear();
  for_sweeps_near(data_, {{box.low.x, box.low.y, low_}, {box.high.x, box.high.y, high_}}, index_,
                  [&](std::uint32_t n) {
                    n = stacks_.latest(runs_.first(n), index_);
                    if (!stacks_.idle[n] && (indices_.empty() || indices_.back() != n))
                      indices_.push_back(n);
                  });
  std::sort(indices_.begin(), indices_.end());
  indices_.erase(std::unique(indices_.begin(), indices_.end()), indices_.end());
}

/// Adds each part of sweep n that reaches the box within the sweep's heights.
void RemovedBy::add_near(std::uint32_t n, const Patch& patch, const Box2& box) {
  const bool stacked = stacks_.of[n] != kNever;
  const Sweep sweep = runs_.joined(n);
  if (sweep.kind == SweepKind::none)
    return;
  const Box2 plan = plan_box(sweep, runs_.arcs());
  const bool level = is_level(sweep);
  for (const BodyPart& part : data_.bodies[sweep.body].flutes) {
    double low = std::min(sweep.za, sweep.zb) + part.low, high = std::max(sweep.za, sweep.zb) + part.high;
    double r = part.radius;
    if (stacked) {
      low = std::min(low, stacks_.low[n]);
      high = std::max(high, stacks_.high[n]);
    }
    if (low >= high_ || high <= low_ || plan.low.x - r >= box.high.x || plan.high.x + r <= box.low.x ||
        plan.low.y - r >= box.high.y || plan.high.y + r <= box.low.y)
      continue;
    if (!part.flat)
      r = reach(sweep, part, low_, high_);
    if (!(r > 0))
      continue;
    std::optional<std::size_t> band;
    if (sweep.kind == SweepKind::arc) {
      band = bands_.size();
      bands_.emplace_back(runs_.arcs().arcs[sweep.arc], 0, 1, r);
    }
    const bool steady = part.flat && (level || sweep.kind == SweepKind::upright);
    const auto [from, to] = reach_along(sweep, r, patch);
    near_.push_back({n, sweep, &part, r, Capsule(sweep.a, sweep.b, r), band, steady, low, high, from, to,
                     stacked ? std::optional(stacks_.high[n]) : std::nullopt});
  }
}

/// First and last place along a straight patch that a sweep may reach; round a wedge it may be anywhere.
std::array<double, 2> RemovedBy::reach_along(const Sweep& sweep, double radius, const Patch& patch) const {
  constexpr double kNoEnd = std::numeric_limits<double>::infinity();
  if (patch.wedge)
    return {-kNoEnd, kNoEnd};
  if (sweep.kind == SweepKind::arc) {
    const SweptArc& arc = runs_.arcs().arcs[sweep.arc];
    const double c = dot(arc.centre - patch.origin, patch.ahead);
    return {c - arc.radius - radius, c + arc.radius + radius};
  }
  const double a = dot(sweep.a - patch.origin, patch.ahead), b = dot(sweep.b - patch.origin, patch.ahead);
  return {std::min(a, b) - radius, std::max(a, b) + radius};
}

/// Steady ones first, those of equal heights beside each other; of the others the latest: along a chain of
/// short sweeps it is what bounds the next.
void RemovedBy::order_near() {
  std::stable_sort(near_.begin(), near_.end(), [](const Near& a, const Near& b) {
    return std::make_tuple(!a.steady, a.low, a.high) < std::make_tuple(!b.steady, b.low, b.high);
  });
  latest_ = static_cast<std::size_t>(
      std::find_if(near_.begin(), near_.end(), [](const Near& near) { return !near.steady; }) -
      near_.begin());
  outlines_ = near_.size();
  if (latest_ == near_.size())
    return;
  const auto first = near_.begin() + static_cast<std::ptrdiff_t>(latest_);
  std::iter_swap(first, std::max_element(first, near_.end(),
                                         [](const Near& a, const Near& b) { return a.number < b.number; }));
  if (!steady_ && outlines_ > kManyNear)
    outlines_ = latest_ + 1;
}

bool RemovedBy::inside(const Near& near, Vec2 p) const {
  const double r = near.radius - kInside_mm;
  const Vec2 ap = p - near.sweep.a;
  if (!near.band) {
    const Vec2 e = near.sweep.b - near.sweep.a;
    const double l2 = dot(e, e), s = l2 > 0 ? std::clamp(dot(ap, e) / l2, 0.0, 1.0) : 0;
    const Vec2 off = ap - s * e;
    return dot(off, off) < r * r;
  }
  Windows windows;
  arc_windows(runs_.arcs().arcs[near.sweep.arc], r, p, windows);
  return windows.count > 0;
}

/// A place where the area may begin to change, unless another sweep holds it and hides the outline of `own`
/// (an index into near_; none: the sheet's or this sweep's).
void RemovedBy::add_break(const Stretch& stretch, double t, Vec2 at, std::optional<std::size_t> own) {
  if (!(t > stretch.t0 + kOn_mm && t < stretch.t1 - kOn_mm))
    return;
  const double low = own ? std::max(low_, near_[*own].low) : low_,
               high = own ? std::min(high_, near_[*own].high) : high_;
  for (std::size_t k = 0; k < near_.size() && near_[k].steady; ++k)
    if (k != own && near_[k].low <= low && near_[k].high >= high && inside(near_[k], at))
      return;
  breaks_.push_back(t);
}

/// One that nothing hides.
void RemovedBy::add_bare_break(const Stretch& stretch, double t) {
  if (t > stretch.t0 + kOn_mm && t < stretch.t1 - kOn_mm)
    breaks_.push_back(t);
}

/// Short moves take crescents between the round ends of two discs: these begin and end where a disc at an end
/// of the sweep crosses the outlines near.
void RemovedBy::cross_round_ends(const Stretch& stretch) {
  const Patch& patch = stretch.patch;
  const auto at_place = [&](std::size_t k, Vec2 p) {
    if (inside(near_[k], p))
      return; // not on its outline
    const Vec2 op = p - patch.origin;
    double t = dot(op, patch.ahead);
    if (patch.wedge) {
      t = std::atan2(op.y, op.x);
      t += kTwoPi * std::ceil((stretch.t0 - t) / kTwoPi);
    }
    add_break(stretch, t, p, k);
  };
  for (const Vec2 c : {sweep_.a, sweep_.b}) {
    for (std::size_t k = 0; k < outlines_; ++k) {
      const Near& near = near_[k];
      const auto circle = [&](Vec2 other, double r) {
        const Vec2 e = other - c;
        const double d2 = dot(e, e);
        if (!(r > 0) || !(d2 > kOn_mm * kOn_mm))
          return;
        const double m = (d2 + radius_ * radius_ - r * r) / (2 * d2), h2 = radius_ * radius_ / d2 - m * m;
        if (!(h2 > 0))
          return;
        for (const double side : {-1.0, 1.0})
          at_place(k, c + m * e + side * std::sqrt(h2) * left_of(e));
      };
      const double r = near.radius;
      circle(near.sweep.a, r);
      if (near.sweep.kind == SweepKind::upright)
        continue;
      circle(near.sweep.b, r);
      if (near.band) {
        const SweptArc& arc = runs_.arcs().arcs[near.sweep.arc];
        circle(arc.centre, arc.radius + r);
        circle(arc.centre, arc.radius - r);
        continue;
      }
      const Vec2 way = near.sweep.b - near.sweep.a;
      const double length = norm(way);
      const Vec2 along = (1 / length) * way;
      for (const double side : {-r, r}) {
        const Vec2 o = near.sweep.a + side * left_of(along) - c;
        const double m = -dot(o, along), h = cross(along, o), k2 = radius_ * radius_ - h * h;
        if (!(k2 > 0))
          continue;
        for (const double s : {m - std::sqrt(k2), m + std::sqrt(k2)})
          if (s >= 0 && s <= length)
            at_place(k, c + o + s * along);
      }
    }
    if (sweep_.kind == SweepKind::upright)
      return;
  }
}

/// Fills breaks_: where along a stretch the area that is left may begin to change.
void RemovedBy::find_breaks(const Stretch& stretch) {
  breaks_.clear();
  cross_round_ends(stretch);
  if (stretch.patch.wedge) {
    break_at_rays(stretch);
  } else {
    for (std::size_t k = 0; k < outlines_; ++k) {
      break_at_tips(stretch, k);
      break_at_outline(stretch, k);
    }
    break_at_sheet(stretch);
    if (stretch.patch.not_in_wedge)
      break_at_wedge(stretch);
  }
  std::sort(breaks_.begin(), breaks_.end());
}

/// In a wedge: the rays from its centre that touch the round ends of the sweeps near.
void RemovedBy::break_at_rays(const Stretch& stretch) {
  const Patch& patch = stretch.patch;
  const double ring = runs_.arcs().arcs[sweep_.arc].radius;
  for (std::size_t k = 0; k < outlines_; ++k)
    for (const Vec2 disc : {near_[k].sweep.a, near_[k].sweep.b}) {
      const Vec2 c = disc - patch.origin;
      const double far = norm(c), r = near_[k].radius;
      if (!(far > r))
        continue;
      const double q = std::sqrt(far * far - r * r);
      if (std::abs(q - ring) > radius_)
        continue;
      for (const double side : {-1.0, 1.0}) {
        const double angle = std::atan2(c.y, c.x) + side * std::asin(r / far);
        const double t = angle + kTwoPi * std::ceil((stretch.t0 - angle) / kTwoPi);
        add_break(stretch, t, patch.origin + q * unit(t), k);
      }
    }
}

/// At a place of an outline, where the strip holds it.
void RemovedBy::break_at_tip(const Stretch& stretch, Vec2 p, std::optional<std::size_t> own) {
  const Vec2 op = p - stretch.patch.origin;
  if (std::abs(dot(op, left_of(stretch.patch.ahead))) < radius_)
    add_break(stretch, dot(op, stretch.patch.ahead), p, own);
}

/// Where an outline lies furthest ahead and behind, and where a round end becomes a side.
void RemovedBy::break_at_tips(const Stretch& stretch, std::size_t k) {
  const Patch& patch = stretch.patch;
  const Near& near = near_[k];
  const double r = near.radius;
  const bool b_ahead = dot(near.sweep.b - near.sweep.a, patch.ahead) > 0;
  const Vec2 front = b_ahead ? near.sweep.b : near.sweep.a, back = b_ahead ? near.sweep.a : near.sweep.b;
  break_at_tip(stretch, front + r * patch.ahead, k);
  break_at_tip(stretch, back - r * patch.ahead, k);
  if (near.sweep.kind != SweepKind::upright)
    for (const Vec2 end : {near.sweep.a, near.sweep.b}) {
      const Vec2 way =
          near.band ? end - runs_.arcs().arcs[near.sweep.arc].centre : left_of(near.sweep.b - near.sweep.a);
      const double length = norm(way);
      for (const double side : {-r, r})
        if (length > 0)
          break_at_tip(stretch, end + (side / length) * way, k);
    }
  if (near.band) {
    const SweptArc& arc = runs_.arcs().arcs[near.sweep.arc];
    for (const double q : {arc.radius + r, arc.radius - r, -arc.radius - r, r - arc.radius})
      break_at_tip(stretch, arc.centre + q * patch.ahead, k);
    break_at_tip(stretch, back + r * patch.ahead, k);
    break_at_tip(stretch, front - r * patch.ahead, k);
  }
}

/// Where an outline crosses the middle of the strip and its two sides.
void RemovedBy::break_at_outline(const Stretch& stretch, std::size_t k) {
  const Patch& patch = stretch.patch;
  const Vec2 across = left_of(patch.ahead);
  const Near& near = near_[k];
  for (const double side : {-radius_, 0.0, radius_}) {
    const Vec2 o = patch.origin + side * across;
    Chords chords;
    Chord chord;
    if (near.band)
      bands_[*near.band].chords(o, patch.ahead, chords);
    else if (near.capsule.chord(o, patch.ahead, chord))
      chords.add(chord.low, chord.high);
    for (int n = 0; n < chords.count; ++n)
      for (const double t :
           {chords.at[static_cast<std::size_t>(n)].low, chords.at[static_cast<std::size_t>(n)].high})
        add_break(stretch, t, o + t * patch.ahead, k);
  }
}

/// The sheet's border, and the sides of one that came as a mesh.
void RemovedBy::break_at_sheet(const Stretch& stretch) {
  const Patch& patch = stretch.patch;
  const Vec2 across = left_of(patch.ahead);
  const Box3& box = data_.grid.box;
  for (const double side : {-radius_, 0.0, radius_}) {
    const Vec2 o = patch.origin + side * across;
    for (const double x : {box.low.x, box.high.x})
      if (std::abs(patch.ahead.x) > 1e-9)
        add_bare_break(stretch, (x - o.x) / patch.ahead.x);
    for (const double y : {box.low.y, box.high.y})
      if (std::abs(patch.ahead.y) > 1e-9)
        add_bare_break(stretch, (y - o.y) / patch.ahead.y);
  }
  for (const auto& edge : edges_)
    for (const Vec2 p : edge)
      break_at_tip(stretch, p, {});
}

/// Corners of the sweep's own wedge, and the other disc.
void RemovedBy::break_at_wedge(const Stretch& stretch) {
  const SweptArc& arc = runs_.arcs().arcs[sweep_.arc];
  for (const double s : {0.0, 1.0})
    for (const double q : {std::max(0.0, arc.radius - radius_), arc.radius + radius_})
      break_at_tip(stretch, arc.centre + q * unit(arc.angle0 + s * arc.turn), {});
  for (const double side : {-radius_, radius_})
    for (const double s : {0.0, 1.0})
      break_at_tip(stretch,
                   arc.centre + arc.radius * unit(arc.angle0 + s * arc.turn) + side * stretch.patch.ahead,
                   {});
}

} // namespace snagmap
