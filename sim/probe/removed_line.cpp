// One line across the way: what earlier sweeps took of it, and what is left for this one.
#include "sim/probe/removed.hpp"
#include "sim/probe/removed_rule.hpp"
#include "sim/record/mesh.hpp"
#include "sim/swept/helix.hpp"

namespace snagmap {
using namespace removed_rule;
namespace {

constexpr double kAgreeAlong = 2e-3; // so well the rule of three must agree with that of five
constexpr double kSmallAlong = 0.05; // of the sweep's thickest line: a piece may be as wrong as so much of it
constexpr int kHalvingsAlong = 6;
constexpr std::size_t kMostAlong = 6; // pieces that ends of sweeps whose heights change may make of a line

/// heights_over, without the nearest way where a cylinder does not ask for it; `s` is the window's middle.
void heights_at(const Sweep& sweep, const Sweeps& sweeps, const BodyPart& part, Vec2 p, HeightsList& out) {
  if (!part.flat && sweep.kind == SweepKind::arc && !is_level(sweep))
    return helix_heights(sweep, sweeps, part, p, out);
  if (!part.flat)
    return heights_over(sweep, sweeps, part, p, out);
  Windows windows;
  windows_over(sweep, sweeps, part.radius, p, windows);
  for (int n = 0; n < windows.count; ++n) {
    const Window& w = windows.at[static_cast<std::size_t>(n)];
    const double z0 = sweep.z_at(w.s0), z1 = sweep.z_at(w.s1);
    out.at[static_cast<std::size_t>(out.count++)] = {
        std::min(z0, z1) + part.low, std::max(z0, z1) + part.high, w.s0, 0.5 * (w.s0 + w.s1), 0};
  }
}

/// When the move takes height z of the line: as it comes over it, or on a slope as its tip gets there.
double share_taking(const Sweep& sweep, const Heights& h, double z) {
  const double rise = sweep.zb - sweep.za;
  if (rise == 0)
    return h.s0;
  const double s =
      rise < 0 ? (z - h.low) / -rise : (z - h.high) / rise; // back from where the extreme is reached
  const double end = std::min(1.0, 2 * h.s - h.s0);         // the window is even about its middle
  return std::clamp(rise < 0 ? end - s : end + s, h.s0, std::max(h.s0, end));
}

} // namespace

bool RemovedBy::in_wedge(Vec2 p) const {
  const SweptArc& arc = runs_.arcs().arcs[sweep_.arc];
  const Vec2 cp = p - arc.centre;
  if (std::abs(norm(cp) - arc.radius) > radius_)
    return false;
  double at = (std::atan2(cp.y, cp.x) - arc.angle0) * (arc.turn < 0 ? -1 : 1);
  at -= kTwoPi * std::floor(at / kTwoPi);
  return at <= std::abs(arc.turn);
}

/// True when another piece takes all that this one takes within the sweep's heights.
bool RemovedBy::hidden(const Along& one) const {
  const double low = std::max(one.low, low_), high = std::min(one.high, high_);
  return std::any_of(along_.begin(), along_.end(), [&](const Along& other) {
    return other.steady() && other.low <= low && other.high >= high && other.u0 <= one.u0 + kThinnest_mm &&
           other.u1 >= one.u1 - kThinnest_mm;
  });
}

/// Fills along_ with what the sweeps before take of the line: steady ones of equal heights joined, hidden
/// ones left out. False when they take all of it.
bool RemovedBy::lay_along(const Line& line, double u0, double u1) {
  along_.clear();
  group_.clear();
  const auto flush = [&](double low, double high) {
    std::sort(group_.begin(), group_.end(), [](const Chord& a, const Chord& b) { return a.low < b.low; });
    for (std::size_t n = 0; n < group_.size();) {
      Along one{group_[n].low, group_[n].high, low, high, {}};
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
      const Along one{low, high, near.low, near.high, k};
      if (!hidden(one))
        along_.push_back(one);
    };
    if (line.t >= near.from && line.t <= near.to) {
      Chord chord;
      if (near.band) {
        Chords chords;
        bands_[*near.band].chords(line.origin, line.along, chords);
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

/// Places along a line, between u0 and u1, where what is left of it may begin or end.
struct RemovedBy::Ends {
  std::vector<End>& at;
  const Line& line;
  double u0, u1;

  void add(double u) {
    if (u > u0 && u < u1)
      at.push_back({u, true});
  }
  /// Where the line meets a circle, `off` from the circle's centre to the line's origin.
  void circle(Vec2 off, double r) {
    const double m = -dot(off, line.along), h = cross(line.along, off), k2 = r * r - h * h;
    if (k2 > 0) {
      add(m - std::sqrt(k2));
      add(m + std::sqrt(k2));
    }
  }
};

void RemovedBy::cut_line(const Patch& patch, const Line& line) {
  const Chord over = over_sheet(line);
  if (!(over.high > over.low) || !lay_along(line, over.low, over.high))
    return;
  ends_.clear();
  Ends ends{ends_, line, over.low, over.high};
  const std::size_t soft = ends_of_others();
  ends_of_body(patch, ends);
  if (patch.not_in_wedge)
    ends_of_wedge(patch, ends);
  ends_of_sheet(ends);
  ends_.push_back({over.high, true});
  std::sort(ends_.begin(), ends_.end());
  // Most ends of sweeps whose heights change lie within what others took; many are left to the halving.
  const double least = soft > kMostAlong ? (over.high - over.low) / kMostAlong : kThinnest_mm;
  double from = over.low;
  for (const auto& [to, hard] : ends_) {
    if (to - from < (hard ? kThinnest_mm : least))
      continue;
    switch (left_between(patch, line, from, to)) {
    case Left::nothing:
      break;
    case Left::steady:
      cut_steady(patch, line, from, to);
      break;
    case Left::changing:
      cut_along(patch, line, from, to, kHalvingsAlong);
    }
    from = to;
  }
}

/// The sweep's own part of the line, over the sheet's box. Empty when high is not above low.
Chord RemovedBy::over_sheet(const Line& line) const {
  const Box3& box = data_.grid.box;
  Chord over{line.u0, line.u1};
  const auto clip = [&](double o, double d, double low, double high) {
    if (d == 0) {
      if (o <= low || o >= high)
        over.high = over.low;
      return;
    }
    const double a = (low - o) / d, b = (high - o) / d;
    over.low = std::max(over.low, std::min(a, b));
    over.high = std::min(over.high, std::max(a, b));
  };
  clip(line.origin.x, line.along.x, box.low.x, box.high.x);
  clip(line.origin.y, line.along.y, box.low.y, box.high.y);
  return over;
}

/// Ends of what other sweeps take. Returns how many of them belong to sweeps whose heights change.
std::size_t RemovedBy::ends_of_others() {
  std::size_t soft = 0;
  for (const Along& one : along_) {
    const bool hard = one.steady() || one.near == latest_;
    ends_.push_back({one.u0, hard});
    ends_.push_back({one.u1, hard});
    soft += one.steady() ? 0 : 2;
  }
  return soft;
}

/// Places where the surfaces of the parts and of slopes turn: a radius of each part, the axis, and where a
/// slope's end stands.
void RemovedBy::ends_of_body(const Patch& patch, Ends& ends) const {
  if (steady_)
    return;
  const double axis = patch.wedge ? runs_.arcs().arcs[sweep_.arc].radius : 0;
  for (const BodyPart& part : body_->flutes)
    for (const double side : {-part.radius, part.radius})
      ends.add(patch.wedge ? std::abs(axis + side) : side);
  ends.add(axis);
  if (body_->flat) {
    for (const BodyPart& part : body_->flutes) {
      ends.circle(ends.line.origin - sweep_.a, part.radius);
      ends.circle(ends.line.origin - sweep_.b, part.radius);
    }
  }
}

/// Where the line enters and leaves the sweep's wedge and the disc at its end.
void RemovedBy::ends_of_wedge(const Patch& patch, Ends& ends) const {
  const SweptArc& arc = runs_.arcs().arcs[sweep_.arc];
  const Vec2 oc = ends.line.origin - arc.centre;
  for (const double s : {0.0, 1.0}) {
    const Vec2 ray = unit(arc.angle0 + s * arc.turn);
    const double turn = cross(ends.line.along, ray);
    if (turn != 0)
      ends.add(-cross(oc, ray) / turn);
  }
  ends.circle(oc, arc.radius + radius_);
  ends.circle(oc, arc.radius - radius_);
  if (patch.not_in_end)
    ends.circle(ends.line.origin - end_, radius_);
}

/// The sides of a sheet that came as a mesh.
void RemovedBy::ends_of_sheet(Ends& ends) const {
  for (const auto& edge : edges_) {
    const Vec2 e = edge[1] - edge[0], op = edge[0] - ends.line.origin;
    const double turn = cross(ends.line.along, e);
    if (turn == 0)
      continue;
    const double s = cross(ends.line.along, op) / -turn; // where the line meets the edge
    if (s >= 0 && s <= 1)
      ends.add(cross(op, e) / turn);
  }
}

/// Fills active_ with what takes of a piece of the line, and says what that leaves. What steady sweeps leave
/// of the heights decides whether others matter.
RemovedBy::Left RemovedBy::left_between(const Patch& patch, const Line& line, double from, double to) {
  const double middle = 0.5 * (from + to);
  active_.clear();
  bool steady = steady_ && data_.mesh.triangles.empty();
  double covered = low_; // up to here, from below, without a gap
  for (const Along& one : along_) {
    if (one.steady() ? one.u0 > middle || middle > one.u1 : one.u0 >= to || from >= one.u1)
      continue;
    if (one.steady()) {
      if (one.low <= covered)
        covered = std::max(covered, one.high);
      active_.push_back(&one);
      continue;
    }
    const double low = std::max(one.low, low_), high = std::min(one.high, high_);
    const bool hidden = std::any_of(active_.begin(), active_.end(), [&](const Along* other) {
      return other->steady() && other->low <= low && other->high >= high;
    });
    if (hidden || high <= covered)
      continue;
    active_.push_back(&one);
    if (one.near == latest_) // most often took all there was: it is asked first
      std::swap(active_.front(), active_.back());
    steady = false;
  }
  if (covered >= high_)
    return Left::nothing;
  const Vec2 at = line.origin + middle * line.along;
  if (patch.not_in_wedge && (in_wedge(at) || (patch.not_in_end && norm(at - end_) < radius_)))
    return Left::nothing;
  return steady ? Left::steady : Left::changing;
}

/// A piece of a line whose heights change along it: places by the rule of five, in halves as far as the rule
/// of three tells another volume, for surfaces may meet in a crease anywhere.
void RemovedBy::cut_along(const Patch& patch, const Line& line, double from, double to, int halvings) {
  const std::size_t mark = out_.size();
  const double step = to - from;
  double sum = 0, sum_of_three = 0;
  for (std::size_t k = 0; k < kFive.at.size(); ++k) {
    const double u = from + step * kFive.at[k], across = patch.wedge ? u : 1;
    const double height =
        cut_place(line, line.origin + u * line.along, step * kFive.weight[k] * line.weight * across);
    sum += kFive.weight[k] * across * height;
    sum_of_three += kThreeOfFive[k] * across * height;
  }
  const double small = kSmallAlong * thickest_ * line.across / (step * line.weight);
  if (halvings == 0 ||
      std::abs(sum - sum_of_three) <= (steady_ ? 1 : agree_) * kAgreeAlong * std::max(sum, small))
    return;
  out_.resize(mark);
  const double middle = 0.5 * (from + to);
  cut_along(patch, line, from, middle, halvings - 1);
  cut_along(patch, line, middle, to, halvings - 1);
}

/// A piece of a line whose heights do not change along it.
void RemovedBy::cut_steady(const Patch& patch, const Line& line, double from, double to) {
  // The cutter comes over it first where the piece is nearest to the axis, last at an end.
  std::optional<Chord> shares;
  const double axis = patch.wedge ? runs_.arcs().arcs[sweep_.arc].radius : 0, nudge = 1e-6 * (to - from);
  for (const double u : {from + nudge, to - nudge, std::clamp(axis, from + nudge, to - nudge)}) {
    Windows windows;
    windows_over(sweep_, runs_.arcs(), radius_, line.origin + u * line.along, windows);
    if (windows.count == 0)
      continue; // on the rim
    double share = windows.at[0].s0;
    for (int n = 1; n < windows.count; ++n)
      share = std::min(share, windows.at[static_cast<std::size_t>(n)].s0);
    if (!shares)
      shares = Chord{share, share};
    shares = Chord{std::min(shares->low, share), std::max(shares->high, share)};
  }
  const double first = shares ? shares->low : 0, last = shares ? shares->high : 0;
  const double area = (to - from) * line.weight * (patch.wedge ? 0.5 * (from + to) : 1);
  // A plunge takes each height as the body's end gets there.
  const double rise = sweep_.zb - sweep_.za;
  const auto reached = [&](double z) {
    const double end = sweep_.za + (rise < 0 ? body_->flute_low : body_->flute_high);
    return std::clamp((z - end) / rise, 0.0, 1.0);
  };
  const auto add = [&](double low, double high) {
    if (!(high - low > kOn_mm))
      return;
    if (sweep_.kind == SweepKind::upright && rise != 0)
      out_.push_back({reached(rise < 0 ? high : low), reached(rise < 0 ? low : high), low, high, area,
                      line.across, line.number});
    else
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

/// Joins a piece of air to those of air_ that it meets: a helix of hundreds of turns leaves one.
void RemovedBy::add_air(double low, double high) {
  auto first = air_.begin();
  while (first != air_.end() && first->second < low)
    ++first;
  auto last = first;
  for (; last != air_.end() && last->first <= high; ++last) {
    low = std::min(low, last->first);
    high = std::max(high, last->second);
  }
  air_.insert(air_.erase(first, last), {low, high});
}

/// Returns the height of the foam that leaves there, mm.
double RemovedBy::cut_place(const Line& line, Vec2 p, double area) {
  own_.clear();
  HeightsList list;
  double least = high_, most = low_;
  for (const BodyPart& part : body_->flutes) {
    list.count = 0;
    heights_at(sweep_, runs_.arcs(), part, p, list);
    for (int n = 0; n < list.count; ++n) {
      Heights h = list.at[static_cast<std::size_t>(n)];
      const double low = std::max(h.low, low_), high = std::min(h.high, high_);
      if (!(high > low))
        continue;
      own_.push_back({h, low, high});
      least = std::min(least, low);
      most = std::max(most, high);
    }
  }
  if (own_.empty())
    return 0;
  air_.clear();
  for (const Along* const one : active_) {
    if (one->steady()) {
      air_.push_back({one->low, one->high});
      continue;
    }
    const Near& near = near_[*one->near];
    list.count = 0;
    heights_at(near.sweep, runs_.arcs(), *near.part, p, list);
    for (int n = 0; n < list.count; ++n) {
      const Heights& h = list.at[static_cast<std::size_t>(n)];
      const double high = std::max(h.high, near.up_to.value_or(h.high));
      if (h.low <= least && high >= most)
        return 0;
      air_.push_back({h.low, high});
    }
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
  std::sort(air_.begin(), air_.end());
  double taken = 0;
  for (const Own& own : own_) {
    double low = own.low;
    for (const auto& [from, to] : air_) {
      if (from >= own.high)
        break;
      if (from > low)
        taken += take(own.heights, low, from, area, line);
      low = std::max(low, to);
    }
    if (own.high > low)
      taken += take(own.heights, low, own.high, area, line);
    if (own_.size() > 1)
      add_air(own.low, own.high); // the sweep's next turn finds it gone
  }
  return taken;
}

double RemovedBy::take(const Heights& h, double low, double high, double area, const Line& line) {
  if (!(high - low > kOn_mm))
    return 0;
  const double a = share_taking(sweep_, h, high), b = share_taking(sweep_, h, low);
  out_.push_back({std::max(0.0, std::min(a, b) - line.before), std::min(1.0, std::max(a, b) + line.after),
                  low, high, area, line.across, line.number});
  return high - low;
}

} // namespace snagmap
