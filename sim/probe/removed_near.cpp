// Sweeps near a piece of the way, and where along it what they leave begins to change.
#include "sim/probe/removed.hpp"
#include "sim/probe/removed_rule.hpp"
#include "sim/record/mesh.hpp"
#include "sim/record/near.hpp"

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

void RemovedBy::gather(const Patch& patch, double t0, double t1) {
  Box2 box;
  if (patch.wedge) {
    const SweptArc& arc = runs_.arcs().arcs[sweep_.arc];
    const Vec2 p = patch.origin + arc.radius * unit(t0), q = patch.origin + arc.radius * unit(t1);
    const double bulge = arc.radius * (1 - std::cos(0.5 * (t1 - t0)));
    box = {{std::min(p.x, q.x) - bulge, std::min(p.y, q.y) - bulge},
           {std::max(p.x, q.x) + bulge, std::max(p.y, q.y) + bulge}};
  } else {
    const Vec2 p = patch.origin + std::clamp(t0, 0.0, patch.length) * patch.ahead,
               q = patch.origin + std::clamp(t1, 0.0, patch.length) * patch.ahead;
    box = {{std::min(p.x, q.x), std::min(p.y, q.y)}, {std::max(p.x, q.x), std::max(p.y, q.y)}};
  }
  box.low = box.low - Vec2{radius_, radius_};
  box.high = box.high + Vec2{radius_, radius_};
  indices_.clear();
  for_sweeps_near(data_, {{box.low.x, box.low.y, low_}, {box.high.x, box.high.y, high_}}, index_,
                  [&](std::uint32_t n) { indices_.push_back(runs_.first(n)); });
  std::sort(indices_.begin(), indices_.end());
  indices_.erase(std::unique(indices_.begin(), indices_.end()), indices_.end());
  near_.clear();
  bands_.clear();
  for (const std::uint32_t n : indices_) {
    const bool run = runs_.end(n) > n + 1;
    const std::uint32_t next = stacks_.next[n];
    if (!run && next < index_ && std::binary_search(indices_.begin(), indices_.end(), next))
      continue; // that one speaks for both
    const Sweep sweep = runs_.joined(n);
    if (sweep.kind == SweepKind::none)
      continue;
    const Box2 plan = plan_box(sweep, runs_.arcs());
    const bool level = is_level(sweep);
    for (const BodyPart& part : data_.bodies[sweep.body].flutes) {
      double low = std::min(sweep.za, sweep.zb) + part.low, high = std::max(sweep.za, sweep.zb) + part.high;
      double r = part.radius;
      if (!run && stacks_.low[n] < stacks_.high[n]) {
        low = stacks_.low[n];
        high = stacks_.high[n];
      }
      if (low >= high_ || high <= low_ || plan.low.x - r >= box.high.x || plan.high.x + r <= box.low.x ||
          plan.low.y - r >= box.high.y || plan.high.y + r <= box.low.y)
        continue;
      if (!part.flat)
        r = reach(sweep, part, low_, high_);
      if (!(r > 0))
        continue;
      int band = -1;
      if (sweep.kind == SweepKind::arc) {
        band = static_cast<int>(bands_.size());
        bands_.emplace_back(runs_.arcs().arcs[sweep.arc], 0, 1, r);
      }
      const bool steady = part.flat && (level || sweep.kind == SweepKind::upright);
      double from = -1e300, to = 1e300; // along a straight patch
      if (!patch.wedge) {
        const double a = dot(sweep.a - patch.origin, patch.ahead),
                     b = dot(sweep.b - patch.origin, patch.ahead);
        from = std::min(a, b) - r;
        to = std::max(a, b) + r;
        if (band >= 0) {
          const SweptArc& arc = runs_.arcs().arcs[sweep.arc];
          const double c = dot(arc.centre - patch.origin, patch.ahead);
          from = c - arc.radius - r;
          to = c + arc.radius + r;
        }
      }
      near_.push_back({n, sweep, &part, r, Capsule(sweep.a, sweep.b, r), band, steady, low, high, from, to});
    }
  }
  std::stable_sort(near_.begin(), near_.end(), [](const Near& a, const Near& b) {
    return std::make_tuple(!a.steady, a.low, a.high) < std::make_tuple(!b.steady, b.low, b.high);
  });
  edges_.clear();
  if (!data_.mesh.triangles.empty())
    mesh_edges(data_.mesh, data_.grid, box.low, box.high, edges_);
  // Of the others the latest comes first: along a chain of short sweeps it is what bounds the next.
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
  if (near.band < 0) {
    const Vec2 e = near.sweep.b - near.sweep.a;
    const double l2 = dot(e, e), s = l2 > 0 ? std::clamp(dot(ap, e) / l2, 0.0, 1.0) : 0;
    const Vec2 off = ap - s * e;
    return dot(off, off) < r * r;
  }
  Windows windows;
  arc_windows(runs_.arcs().arcs[near.sweep.arc], r, p, windows);
  return windows.count > 0;
}

/// A place where the area may begin to change, unless another sweep holds it and hides the outline of `own`.
void RemovedBy::add_break(double t0, double t1, double t, Vec2 at, std::size_t own) {
  if (!(t > t0 + kOn_mm && t < t1 - kOn_mm))
    return;
  const double low = own < near_.size() ? std::max(low_, near_[own].low) : low_,
               high = own < near_.size() ? std::min(high_, near_[own].high) : high_;
  for (std::size_t k = 0; k < near_.size() && near_[k].steady; ++k)
    if (k != own && near_[k].low <= low && near_[k].high >= high && inside(near_[k], at))
      return;
  breaks_.push_back(t);
}

/// Short moves take crescents between the round ends of two discs: these begin and end where a disc at an end
/// of the sweep crosses the outlines near.
void RemovedBy::cross_round_ends(const Patch& patch, double t0, double t1) {
  const auto at_place = [&](std::size_t k, Vec2 p) {
    if (inside(near_[k], p))
      return; // not on its outline
    const Vec2 op = p - patch.origin;
    double t = dot(op, patch.ahead);
    if (patch.wedge) {
      t = std::atan2(op.y, op.x);
      t += kTwoPi * std::ceil((t0 - t) / kTwoPi);
    }
    add_break(t0, t1, t, p, k);
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
      if (near.band >= 0) {
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

void RemovedBy::find_breaks(const Patch& patch, double t0, double t1) {
  breaks_.clear();
  add_breaks(patch, t0, t1);
  std::sort(breaks_.begin(), breaks_.end());
}

void RemovedBy::add_breaks(const Patch& patch, double t0, double t1) {
  const std::size_t none = near_.size();
  cross_round_ends(patch, t0, t1);
  if (patch.wedge) {
    const double ring = runs_.arcs().arcs[sweep_.arc].radius;
    for (std::size_t k = 0; k < outlines_; ++k)
      for (const Vec2 disc : {near_[k].sweep.a, near_[k].sweep.b}) {
        // The rays from the centre that touch the disc.
        const Vec2 c = disc - patch.origin;
        const double far = norm(c), r = near_[k].radius;
        if (!(far > r))
          continue;
        const double q = std::sqrt(far * far - r * r);
        if (std::abs(q - ring) > radius_)
          continue;
        for (const double side : {-1.0, 1.0}) {
          const double angle = std::atan2(c.y, c.x) + side * std::asin(r / far);
          const double t = angle + kTwoPi * std::ceil((t0 - angle) / kTwoPi);
          add_break(t0, t1, t, patch.origin + q * unit(t), k);
        }
      }
    return;
  }
  const Vec2 across = left_of(patch.ahead);
  const auto tip = [&](std::size_t k, Vec2 p) {
    const Vec2 op = p - patch.origin;
    if (std::abs(dot(op, across)) < radius_)
      add_break(t0, t1, dot(op, patch.ahead), p, k);
  };
  for (std::size_t k = 0; k < outlines_; ++k) {
    const Near& near = near_[k];
    const double r = near.radius;
    const bool b_ahead = dot(near.sweep.b - near.sweep.a, patch.ahead) > 0;
    tip(k, (b_ahead ? near.sweep.b : near.sweep.a) + r * patch.ahead);
    tip(k, (b_ahead ? near.sweep.a : near.sweep.b) - r * patch.ahead);
    // Where a round end becomes a side.
    if (near.sweep.kind != SweepKind::upright)
      for (const Vec2 end : {near.sweep.a, near.sweep.b}) {
        const Vec2 way = near.band < 0 ? left_of(near.sweep.b - near.sweep.a)
                                       : end - runs_.arcs().arcs[near.sweep.arc].centre;
        const double length = norm(way);
        for (const double side : {-r, r})
          if (length > 0)
            tip(k, end + (side / length) * way);
      }
    if (near.band >= 0) {
      const SweptArc& arc = runs_.arcs().arcs[near.sweep.arc];
      for (const double q : {arc.radius + r, arc.radius - r, -arc.radius - r, r - arc.radius})
        tip(k, arc.centre + q * patch.ahead);
      tip(k, (b_ahead ? near.sweep.a : near.sweep.b) + r * patch.ahead);
      tip(k, (b_ahead ? near.sweep.b : near.sweep.a) - r * patch.ahead);
    }
    for (const double side : {-radius_, 0.0, radius_}) {
      const Vec2 o = patch.origin + side * across;
      Chords chords;
      Chord chord;
      if (near.band >= 0)
        bands_[static_cast<std::size_t>(near.band)].chords(o, patch.ahead, chords);
      else if (near.capsule.chord(o, patch.ahead, chord))
        chords.add(chord.low, chord.high);
      for (int n = 0; n < chords.count; ++n)
        for (const double t :
             {chords.at[static_cast<std::size_t>(n)].low, chords.at[static_cast<std::size_t>(n)].high})
          add_break(t0, t1, t, o + t * patch.ahead, k);
    }
  }
  // The sheet's border, and the sides of one that came as a mesh.
  const Box3& box = data_.grid.box;
  for (const double side : {-radius_, 0.0, radius_}) {
    const Vec2 o = patch.origin + side * across;
    for (const double x : {box.low.x, box.high.x})
      if (std::abs(patch.ahead.x) > 1e-9)
        add_break(t0, t1, (x - o.x) / patch.ahead.x, {1e300, 1e300}, none);
    for (const double y : {box.low.y, box.high.y})
      if (std::abs(patch.ahead.y) > 1e-9)
        add_break(t0, t1, (y - o.y) / patch.ahead.y, {1e300, 1e300}, none);
  }
  for (const auto& edge : edges_)
    for (const Vec2 p : edge)
      tip(none, p);
  if (patch.not_in_wedge) { // corners of the wedge, and the other disc
    const SweptArc& arc = runs_.arcs().arcs[sweep_.arc];
    for (const double s : {0.0, 1.0})
      for (const double q : {std::max(0.0, arc.radius - radius_), arc.radius + radius_})
        tip(none, arc.centre + q * unit(arc.angle0 + s * arc.turn));
    for (const double side : {-radius_, radius_})
      for (const double s : {0.0, 1.0})
        tip(none, arc.centre + arc.radius * unit(arc.angle0 + s * arc.turn) + side * patch.ahead);
  }
}

} // namespace snagmap
