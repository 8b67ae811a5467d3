#include "sim/record/removed.hpp"

#include "sim/record/mesh.hpp"
#include "sim/record/near.hpp"
#include "sim/threads/parallel.hpp"

#include <tuple>

namespace snagmap {
namespace {

constexpr double kPi = 3.14159265358979323846;
constexpr double kTwoPi = 2 * kPi;
constexpr double kChunk_mm = 8;     // sweeps near are gathered for so much of the way at a time
constexpr double kPiece_radii = 1;  // longest piece of the rule along the way
constexpr double kOn_mm = 1e-7;     // nearer than this two places are one
constexpr double kLeast_mm = 1e-3;    // shortest piece of the rule along the way
constexpr double kThinnest_mm = 1e-9; // thinner is rounding
constexpr double kInside_mm = 1e-6; // deeper than any rounding of an outline

/// Gauss's places on 0..1 after x -> x^2 (3 - 2 x), which makes square roots at both ends smooth; weights with the
/// map's slope. Constants and straight lines stay exact: the map is even about the middle.
struct Rule {
  std::vector<double> at, weight;
};
Rule rule(const std::vector<double>& places, const std::vector<double>& weights) { // of -1..1
  Rule r;
  double sum = 0;
  for (std::size_t k = 0; k < places.size(); ++k) {
    const double x = 0.5 * (1 + places[k]);
    r.at.push_back(x * x * (3 - 2 * x));
    r.weight.push_back(weights[k] * x * (1 - x));
    sum += r.weight.back();
  }
  for (double& weight : r.weight)
    weight /= sum;
  return r;
}
// Abramowitz and Stegun, table 25.4.
const Rule kThree = rule({-0.774596669241483, 0, 0.774596669241483},
                         {0.555555555555556, 0.888888888888889, 0.555555555555556});
const Rule kFive = rule({-0.906179845938664, -0.538469310105683, 0, 0.538469310105683, 0.906179845938664},
                        {0.236926885056189, 0.478628670499366, 0.568888888888889, 0.478628670499366,
                         0.236926885056189});

Vec2 unit(double angle) {
  return {std::cos(angle), std::sin(angle)};
}

/// When the move takes height z of the line: as it comes over it, or on a slope as its tip gets there.
double share_taking(const Sweep& sweep, const Heights& h, double z) {
  const double rise = sweep.zb - sweep.za;
  if (rise == 0)
    return h.s0;
  const double s = rise < 0 ? (z - h.low) / -rise : (z - h.high) / rise; // back from where the extreme is reached
  const double end = std::min(1.0, 2 * h.s - h.s0);                      // the window is even about its middle
  return std::clamp(rise < 0 ? end - s : end + s, h.s0, std::max(h.s0, end));
}

} // namespace

const std::vector<RemovedPart>& RemovedBy::sweep(std::uint32_t n) {
  out_.clear();
  lines_ = 0;
  index_ = n;
  sweep_ = data_.sweeps[n];
  if (sweep_.kind == SweepKind::none)
    return out_;
  body_ = &data_.bodies[sweep_.body];
  radius_ = body_->flute_radius;
  low_ = std::max(std::min(sweep_.za, sweep_.zb) + body_->flute_low, data_.grid.box.low.z);
  high_ = std::min(std::max(sweep_.za, sweep_.zb) + body_->flute_high, data_.grid.box.high.z);
  if (!(high_ > low_))
    return out_;
  steady_ = is_level(sweep_) && body_->flat && body_->flutes.size() == 1;
  // What the sweep before left at its end is gone already.
  bool begun = false;
  if (n > 0 && sweep_.za == sweep_.zb && !(data_.sweeps.kept[n].flags & KeptSweep::kJumps)) {
    const KeptSweep& before = data_.sweeps.kept[n - 1];
    begun = before.kind != SweepKind::none && before.body == sweep_.body;
  }
  if (sweep_.kind == SweepKind::upright) {
    patch({false, sweep_.a, {1, 0}, 0, -radius_, radius_});
  } else if (sweep_.kind == SweepKind::line) {
    const double length = norm(sweep_.b - sweep_.a);
    patch({false, sweep_.a, (1 / length) * (sweep_.b - sweep_.a), length, begun ? 0 : -radius_, length + radius_});
  } else {
    const SweptArc& arc = data_.sweeps.arcs[sweep_.arc];
    const double turn = std::abs(arc.turn), side = arc.turn < 0 ? -1 : 1;
    const double first = arc.turn < 0 ? arc.angle0 + std::max(arc.turn, -kTwoPi) : arc.angle0;
    patch({true, arc.centre, {}, 0, first, first + std::min(turn, kTwoPi)});
    if (turn < kTwoPi) {
      const double last = arc.angle0 + arc.turn;
      end_ = arc.centre + arc.radius * unit(last);
      patch({false, end_, side * left_of(unit(last)), 0, -radius_, radius_, true});
      if (!begun)
        patch({false, arc.centre + arc.radius * unit(arc.angle0), side * left_of(unit(arc.angle0)), 0, -radius_,
               radius_, true, true});
    }
  }
  return out_;
}

void RemovedBy::gather(const Patch& patch, double t0, double t1) {
  Box2 box;
  if (patch.wedge) {
    const SweptArc& arc = data_.sweeps.arcs[sweep_.arc];
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
                  [&](std::uint32_t n) { indices_.push_back(n); });
  std::sort(indices_.begin(), indices_.end());
  indices_.erase(std::unique(indices_.begin(), indices_.end()), indices_.end());
  near_.clear();
  bands_.clear();
  for (const std::uint32_t n : indices_) {
    const std::uint32_t next = stacks_.next[n];
    if (next < index_ && std::binary_search(indices_.begin(), indices_.end(), next))
      continue; // that one speaks for both
    const Sweep sweep = data_.sweeps[n];
    if (sweep.kind == SweepKind::none)
      continue;
    const Box2 plan = plan_box(sweep, data_.sweeps);
    const bool level = is_level(sweep);
    for (const BodyPart& part : data_.bodies[sweep.body].flutes) {
      double low = std::min(sweep.za, sweep.zb) + part.low, high = std::max(sweep.za, sweep.zb) + part.high;
      const double r = part.radius;
      if (stacks_.low[n] < stacks_.high[n]) {
        low = stacks_.low[n];
        high = stacks_.high[n];
      }
      if (low >= high_ || high <= low_ || plan.low.x - r >= box.high.x || plan.high.x + r <= box.low.x ||
          plan.low.y - r >= box.high.y || plan.high.y + r <= box.low.y)
        continue;
      int band = -1;
      if (sweep.kind == SweepKind::arc) {
        band = static_cast<int>(bands_.size());
        bands_.emplace_back(data_.sweeps.arcs[sweep.arc], 0, 1, r);
      }
      const bool steady = part.flat && (level || sweep.kind == SweepKind::upright);
      double from = -1e300, to = 1e300; // along a straight patch
      if (!patch.wedge) {
        const double a = dot(sweep.a - patch.origin, patch.ahead), b = dot(sweep.b - patch.origin, patch.ahead);
        from = std::min(a, b) - r;
        to = std::max(a, b) + r;
        if (band >= 0) {
          const SweptArc& arc = data_.sweeps.arcs[sweep.arc];
          const double c = dot(arc.centre - patch.origin, patch.ahead);
          from = c - arc.radius - r;
          to = c + arc.radius + r;
        }
      }
      near_.push_back({sweep, &part, Capsule(sweep.a, sweep.b, r), band, steady, low, high, from, to});
    }
  }
  std::stable_sort(near_.begin(), near_.end(), [](const Near& a, const Near& b) {
    return std::make_tuple(!a.steady, a.low, a.high) < std::make_tuple(!b.steady, b.low, b.high);
  });
  edges_.clear();
  if (!data_.mesh.triangles.empty())
    mesh_edges(data_.mesh, data_.grid, box.low, box.high, edges_);
}

bool RemovedBy::inside(const Near& near, Vec2 p) const {
  const double r = near.part->radius - kInside_mm;
  const Vec2 ap = p - near.sweep.a;
  if (near.band < 0) {
    const Vec2 e = near.sweep.b - near.sweep.a;
    const double l2 = dot(e, e), s = l2 > 0 ? std::clamp(dot(ap, e) / l2, 0.0, 1.0) : 0;
    const Vec2 off = ap - s * e;
    return dot(off, off) < r * r;
  }
  Windows windows;
  arc_windows(data_.sweeps.arcs[near.sweep.arc], r, p, windows);
  return windows.count > 0;
}

bool RemovedBy::in_wedge(Vec2 p) const {
  const SweptArc& arc = data_.sweeps.arcs[sweep_.arc];
  const Vec2 cp = p - arc.centre;
  if (std::abs(norm(cp) - arc.radius) > radius_)
    return false;
  double at = (std::atan2(cp.y, cp.x) - arc.angle0) * (arc.turn < 0 ? -1 : 1);
  at -= kTwoPi * std::floor(at / kTwoPi);
  return at <= std::abs(arc.turn);
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

void RemovedBy::find_breaks(const Patch& patch, double t0, double t1) {
  breaks_.clear();
  const std::size_t none = near_.size();
  if (patch.wedge) {
    const double ring = data_.sweeps.arcs[sweep_.arc].radius;
    for (std::size_t k = 0; k < near_.size(); ++k)
      for (const Vec2 disc : {near_[k].sweep.a, near_[k].sweep.b}) {
        // The rays from the centre that touch the disc.
        const Vec2 c = disc - patch.origin;
        const double far = norm(c), r = near_[k].part->radius;
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
  for (std::size_t k = 0; k < near_.size(); ++k) {
    const Near& near = near_[k];
    const double r = near.part->radius;
    const bool b_ahead = dot(near.sweep.b - near.sweep.a, patch.ahead) > 0;
    tip(k, (b_ahead ? near.sweep.b : near.sweep.a) + r * patch.ahead);
    tip(k, (b_ahead ? near.sweep.a : near.sweep.b) - r * patch.ahead);
    if (near.band >= 0) {
      const SweptArc& arc = data_.sweeps.arcs[near.sweep.arc];
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
        for (const double t : {chords.at[static_cast<std::size_t>(n)].low, chords.at[static_cast<std::size_t>(n)].high})
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
    const SweptArc& arc = data_.sweeps.arcs[sweep_.arc];
    for (const double s : {0.0, 1.0})
      for (const double q : {std::max(0.0, arc.radius - radius_), arc.radius + radius_})
        tip(none, arc.centre + q * unit(arc.angle0 + s * arc.turn));
    for (const double side : {-radius_, radius_})
      for (const double s : {0.0, 1.0})
        tip(none, arc.centre + arc.radius * unit(arc.angle0 + s * arc.turn) + side * patch.ahead);
  }
}

void RemovedBy::patch(const Patch& patch) {
  const SweptArc* const arc = sweep_.kind == SweepKind::arc ? &data_.sweeps.arcs[sweep_.arc] : nullptr;
  const double mm_a_t = patch.wedge ? arc->radius + radius_ : 1;
  const double piece = kPiece_radii * radius_ / mm_a_t;
  // Ends of the straight part, then chunks.
  std::array<double, 4> stops{patch.first, patch.first, patch.last, patch.last};
  if (!patch.wedge) {
    stops[1] = std::max(patch.first, 0.0);
    stops[2] = std::clamp(patch.length, stops[1], patch.last);
  }
  for (std::size_t part = 0; part < 3; ++part) {
    const double span = stops[part + 1] - stops[part];
    if (!(span > 0))
      continue;
    const int chunks = static_cast<int>(std::ceil(span * mm_a_t / kChunk_mm));
    for (int c = 0; c < chunks; ++c) {
      const double t0 = stops[part] + span * c / chunks,
                   t1 = c + 1 == chunks ? stops[part + 1] : stops[part] + span * (c + 1) / chunks;
      gather(patch, t0, t1);
      find_breaks(patch, t0, t1);
      breaks_.push_back(t1);
      std::sort(breaks_.begin(), breaks_.end());
      double from = t0;
      for (const double to : breaks_) {
        if ((to - from) * mm_a_t < kLeast_mm && to != t1)
          continue;
        const int pieces = std::max(1, static_cast<int>(std::ceil((to - from) / piece)));
        const double step = (to - from) / pieces;
        // Long plain ways need no more than three.
        const Rule& rule = pieces == 1 && !patch.wedge ? kFive : kThree;
        for (int n = 0; n < pieces; ++n) {
          const double begin = from + n * step;
          double done = 0;
          for (std::size_t k = 0; k < rule.at.size(); ++k) {
            Line line{};
            line.t = begin + step * rule.at[k];
            line.weight = step * rule.weight[k];
            line.across = line.weight * (patch.wedge ? arc->radius : 1);
            line.number = lines_++;
            const double cell0 = begin + step * done;
            done += rule.weight[k];
            const double cell1 = begin + step * done;
            const double a_share = patch.wedge ? std::abs(arc->turn) : patch.length;
            if (a_share > 0) {
              line.before = (line.t - cell0) / a_share;
              line.after = (cell1 - line.t) / a_share;
              if (patch.wedge && arc->turn < 0)
                std::swap(line.before, line.after);
            }
            if (patch.wedge) {
              line.origin = patch.origin;
              line.along = unit(line.t);
              line.u0 = std::max(0.0, arc->radius - radius_);
              line.u1 = arc->radius + radius_;
            } else {
              const double over = line.t < 0 ? line.t : std::max(0.0, line.t - patch.length);
              const double half = std::sqrt(std::max(0.0, radius_ * radius_ - over * over));
              line.origin = patch.origin + line.t * patch.ahead;
              line.along = left_of(patch.ahead);
              line.u0 = -half;
              line.u1 = half;
            }
            cut_line(patch, line);
          }
        }
        from = to;
      }
    }
  }
}

/// True when another piece takes all that this one takes within the sweep's heights.
bool RemovedBy::hidden(const Along& one) const {
  const double low = std::max(one.low, low_), high = std::min(one.high, high_);
  return std::any_of(along_.begin(), along_.end(), [&](const Along& other) {
    return other.near < 0 && other.low <= low && other.high >= high && other.u0 <= one.u0 + kThinnest_mm &&
           other.u1 >= one.u1 - kThinnest_mm;
  });
}

/// Fills along_ with what the sweeps before take of the line: steady ones of equal heights joined, hidden ones
/// left out. False when they take all of it.
bool RemovedBy::lay_along(const Line& line, double u0, double u1) {
  along_.clear();
  group_.clear();
  const auto flush = [&](double low, double high) {
    std::sort(group_.begin(), group_.end(), [](const Chord& a, const Chord& b) { return a.low < b.low; });
    for (std::size_t n = 0; n < group_.size();) {
      Along one{group_[n].low, group_[n].high, low, high, -1};
      for (++n; n < group_.size() && group_[n].low <= one.u1 + kThinnest_mm; ++n)
        one.u1 = std::max(one.u1, group_[n].high);
      if (one.u0 <= u0 && one.u1 >= u1 && low <= low_ && high >= high_)
        return false;
      if (!hidden(one))
        along_.push_back(one);
    }
    group_.clear();
    return true;
  };
  for (std::size_t k = 0; k < near_.size(); ++k) {
    const Near& near = near_[k];
    const auto add = [&](double low, double high) {
      low = std::max(low, u0);
      high = std::min(high, u1);
      if (!(high > low))
        return;
      if (near.steady) {
        group_.push_back({low, high});
        return;
      }
      const Along one{low, high, near.low, near.high, static_cast<int>(k)};
      if (!hidden(one))
        along_.push_back(one);
    };
    if (line.t >= near.from && line.t <= near.to) {
      Chord chord;
      if (near.band >= 0) {
        Chords chords;
        bands_[static_cast<std::size_t>(near.band)].chords(line.origin, line.along, chords);
        for (int n = 0; n < chords.count; ++n)
          add(chords.at[static_cast<std::size_t>(n)].low, chords.at[static_cast<std::size_t>(n)].high);
      } else if (near.capsule.chord(line.origin, line.along, chord)) {
        add(chord.low, chord.high);
      }
    }
    const bool last = k + 1 == near_.size() || !near_[k + 1].steady || near_[k + 1].low != near.low ||
                      near_[k + 1].high != near.high;
    if (near.steady && last && !flush(near.low, near.high))
      return false;
  }
  return true;
}

void RemovedBy::cut_line(const Patch& patch, const Line& line) {
  const Box3& box = data_.grid.box;
  double u0 = line.u0, u1 = line.u1;
  const auto clip = [&](double o, double d, double low, double high) {
    if (d == 0) {
      if (o <= low || o >= high)
        u1 = u0;
      return;
    }
    const double a = (low - o) / d, b = (high - o) / d;
    u0 = std::max(u0, std::min(a, b));
    u1 = std::min(u1, std::max(a, b));
  };
  clip(line.origin.x, line.along.x, box.low.x, box.high.x);
  clip(line.origin.y, line.along.y, box.low.y, box.high.y);
  if (!(u1 > u0))
    return;
  if (!lay_along(line, u0, u1))
    return;
  ends_.clear();
  for (const Along& one : along_) {
    ends_.push_back(one.u0);
    ends_.push_back(one.u1);
  }
  const auto end_at = [&](double u) {
    if (u > u0 && u < u1)
      ends_.push_back(u);
  };
  if (!steady_) {
    // Places where the surfaces of the parts and of slopes turn: a radius of each part, and the axis.
    for (const BodyPart& part : body_->flutes)
      for (const double side : {-part.radius, part.radius})
        end_at(patch.wedge ? data_.sweeps.arcs[sweep_.arc].radius + side : side);
    end_at(patch.wedge ? data_.sweeps.arcs[sweep_.arc].radius : 0);
  }
  if (patch.not_in_wedge) {
    const SweptArc& arc = data_.sweeps.arcs[sweep_.arc];
    const Vec2 oc = line.origin - arc.centre;
    for (const double s : {0.0, 1.0}) {
      const Vec2 ray = unit(arc.angle0 + s * arc.turn);
      const double turn = cross(line.along, ray);
      if (turn != 0)
        end_at(-cross(oc, ray) / turn);
    }
    const auto circle = [&](Vec2 off, double r) {
      const double m = -dot(off, line.along), h = cross(line.along, off), k2 = r * r - h * h;
      if (k2 > 0) {
        end_at(m - std::sqrt(k2));
        end_at(m + std::sqrt(k2));
      }
    };
    circle(oc, arc.radius + radius_);
    circle(oc, arc.radius - radius_);
    if (patch.not_in_end)
      circle(line.origin - end_, radius_);
  }
  for (const auto& edge : edges_) {
    const Vec2 e = edge[1] - edge[0], op = edge[0] - line.origin;
    const double turn = cross(line.along, e);
    if (turn == 0)
      continue;
    const double s = cross(line.along, op) / -turn; // where the line meets the edge
    if (s >= 0 && s <= 1)
      end_at(cross(op, e) / turn);
  }
  ends_.push_back(u1);
  std::sort(ends_.begin(), ends_.end());
  double from = u0;
  for (const double to : ends_) {
    if (to - from < kThinnest_mm)
      continue;
    const double middle = 0.5 * (from + to);
    // What steady sweeps leave of the heights decides whether others matter.
    active_.clear();
    bool steady = steady_ && data_.mesh.triangles.empty();
    double covered = low_; // up to here, from below, without a gap
    for (const Along& one : along_) {
      if (one.u0 > middle || middle > one.u1)
        continue;
      if (one.near < 0) {
        if (one.low <= covered)
          covered = std::max(covered, one.high);
        active_.push_back(&one);
        continue;
      }
      const double low = std::max(one.low, low_), high = std::min(one.high, high_);
      const bool hidden = std::any_of(active_.begin(), active_.end(), [&](const Along* other) {
        return other->near < 0 && other->low <= low && other->high >= high;
      });
      if (hidden || high <= covered)
        continue;
      active_.push_back(&one);
      steady = false;
    }
    bool all = covered >= high_;
    const Vec2 at = line.origin + middle * line.along;
    if (patch.not_in_wedge && (in_wedge(at) || (patch.not_in_end && norm(at - end_) < radius_)))
      all = true;
    if (!all && steady) {
      cut_steady(patch, line, from, to);
    } else if (!all) {
      const int pieces = std::max(1, static_cast<int>(std::ceil((to - from) / (0.25 * radius_))));
      const double step = (to - from) / pieces;
      for (int n = 0; n < pieces; ++n)
        for (std::size_t k = 0; k < 3; ++k) {
          const double u = from + step * (n + kThree.at[k]);
          cut_place(line, line.origin + u * line.along,
                    step * kThree.weight[k] * line.weight * (patch.wedge ? u : 1));
        }
    }
    from = to;
  }
}

/// A piece of a line whose heights do not change along it.
void RemovedBy::cut_steady(const Patch& patch, const Line& line, double from, double to) {
  // The cutter comes over it first where the piece is nearest to the axis, last at an end.
  double first = 2, last = -1;
  const double axis = patch.wedge ? data_.sweeps.arcs[sweep_.arc].radius : 0, nudge = 1e-6 * (to - from);
  for (const double u : {from + nudge, to - nudge, std::clamp(axis, from + nudge, to - nudge)}) {
    Windows windows;
    windows_over(sweep_, data_.sweeps, radius_, line.origin + u * line.along, windows);
    double share = 2;
    for (int n = 0; n < windows.count; ++n)
      share = std::min(share, windows.at[static_cast<std::size_t>(n)].s0);
    if (share > 1)
      continue; // on the rim
    first = std::min(first, share);
    last = std::max(last, share);
  }
  if (last < 0)
    first = last = 0;
  const double area = (to - from) * line.weight * (patch.wedge ? 0.5 * (from + to) : 1);
  const auto add = [&](double low, double high) {
    if (high - low > kOn_mm)
      out_.push_back({std::max(0.0, first - line.before), std::min(1.0, last + line.after), low, high, area,
                      line.across, line.number});
  };
  double low = low_;
  for (const Along* const one : active_) { // from below
    if (one->low >= high_)
      break;
    if (one->low > low)
      add(low, one->low);
    low = std::max(low, one->high);
  }
  if (high_ > low)
    add(low, high_);
}

void RemovedBy::cut_place(const Line& line, Vec2 p, double area) {
  air_.clear();
  HeightsList list;
  for (const Along* const one : active_) {
    if (one->near < 0) {
      air_.push_back({one->low, one->high});
      continue;
    }
    const Near& near = near_[static_cast<std::size_t>(one->near)];
    list.count = 0;
    heights_over(near.sweep, data_.sweeps, *near.part, p, list);
    for (int n = 0; n < list.count; ++n)
      air_.push_back({list.at[static_cast<std::size_t>(n)].low, list.at[static_cast<std::size_t>(n)].high});
  }
  if (!data_.mesh.triangles.empty()) {
    crossings_.clear();
    mesh_crossings(data_.mesh, data_.grid, p, crossings_);
    double from = data_.grid.box.low.z;
    for (std::size_t n = 0; n + 1 < crossings_.size(); n += 2) {
      air_.push_back({from, crossings_[n]});
      from = crossings_[n + 1];
    }
    air_.push_back({from, data_.grid.box.high.z});
  }
  for (const BodyPart& part : body_->flutes) {
    list.count = 0;
    heights_over(sweep_, data_.sweeps, part, p, list);
    for (int n = 0; n < list.count; ++n) {
      const Heights& h = list.at[static_cast<std::size_t>(n)];
      const double high = std::min(h.high, high_);
      double low = std::max(h.low, low_);
      if (!(high > low))
        continue;
      std::sort(air_.begin(), air_.end());
      const double own_low = low;
      for (const auto& [from, to] : air_) {
        if (from >= high)
          break;
        if (from > low)
          take(h, low, from, area, line);
        low = std::max(low, to);
      }
      if (high > low)
        take(h, low, high, area, line);
      air_.push_back({own_low, high}); // the sweep's next turn finds it gone
    }
  }
}

void RemovedBy::take(const Heights& h, double low, double high, double area, const Line& line) {
  if (!(high - low > kOn_mm))
    return;
  const double a = share_taking(sweep_, h, high), b = share_taking(sweep_, h, low);
  out_.push_back({std::max(0.0, std::min(a, b) - line.before), std::min(1.0, std::max(a, b) + line.after), low, high,
                  area, line.across, line.number});
}

std::vector<double> removed_by_move(const RecordData& data) {
  std::vector<double> removed(data.moves, 0);
  const SweepStacks stacks = stacks_of(data);
  parallel_pieces(data.moves, 64, [&](std::size_t first, std::size_t last) {
    RemovedBy by(data, stacks);
    for (std::size_t m = first; m < last; ++m)
      for (std::uint32_t n = data.sweeps.count_at(static_cast<std::uint32_t>(m));
           n < data.sweeps.count_at(static_cast<std::uint32_t>(m) + 1); ++n)
        for (const RemovedPart& part : by.sweep(n))
          removed[m] += part.volume_mm3();
  });
  return removed;
}

} // namespace snagmap
