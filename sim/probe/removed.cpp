#include "sim/probe/removed.hpp"

#include "sim/probe/removed_rule.hpp"
#include "sim/probe/volumes.hpp"
#include "sim/threads/parallel.hpp"

namespace snagmap {
using namespace removed_rule;
namespace {

constexpr std::size_t kMostPieces = 4; // of a chunk
constexpr double kChunk_mm = 8;        // sweeps near are gathered for so much of the way at a time
constexpr double kLeast_mm = 1e-3;     // shortest piece of the rule along the way
constexpr double kAgree = 2e-3;        // so well the rule of three must agree with that of five
constexpr double kSmall = 0.05; // of the sweep's volume so far: a piece may be as wrong as so much of it
constexpr int kHalvings = 5;
// Shorter pieces are not halved: where heights are steady everything bends at breaks, else nearly so.
constexpr double kShortSteady_radii = 0.5, kShort_radii = 0.1;
// So much worse may each of the hundred chords of a helix agree, and what bends at breaks only: there the
// rule of five is far nearer the truth than to that of three.
constexpr double kChordAgrees = 10, kSteadyAgrees = 5;

} // namespace

const std::vector<RemovedPart>& RemovedBy::sweep(std::uint32_t n) {
  out_.clear();
  lines_ = 0;
  volume_ = thickest_ = 0;
  by_columns_ = false;
  index_ = n;
  if (runs_.first(n) != n || stacks_.idle[n])
    return out_;
  sweep_ = runs_.joined(n);
  if (sweep_.kind == SweepKind::none)
    return out_;
  if (crowded()) {
    by_columns_ = true;
    take_columns();
    return out_;
  }
  body_ = &data_.bodies[sweep_.body];
  low_ = std::max(std::min(sweep_.za, sweep_.zb) + body_->flute_low, data_.grid.box.low.z);
  high_ = std::min(std::max(sweep_.za, sweep_.zb) + body_->flute_high, data_.grid.box.high.z);
  if (!(high_ > low_))
    return out_;
  radius_ = 0;
  for (const BodyPart& part : body_->flutes)
    radius_ = std::max(radius_, reach(sweep_, part, low_, high_));
  if (!(radius_ > 0))
    return out_;
  steady_ = is_level(sweep_) && body_->flat && body_->flutes.size() == 1;
  const bool chord =
      !body_->flat && sweep_.kind == SweepKind::line && norm(sweep_.b - sweep_.a) < 0.5 * radius_;
  agree_ = chord ? kChordAgrees : steady_ ? kSteadyAgrees : 1;
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
    patch({false, sweep_.a, (1 / length) * (sweep_.b - sweep_.a), length, begun ? 0 : -radius_,
           length + radius_});
  } else {
    const SweptArc& arc = runs_.arcs().arcs[sweep_.arc];
    const double turn = std::abs(arc.turn), side = arc.turn < 0 ? -1 : 1;
    const double first = arc.turn < 0 ? arc.angle0 + std::max(arc.turn, -kTwoPi) : arc.angle0;
    patch({true, arc.centre, {}, 0, first, first + std::min(turn, kTwoPi)});
    if (turn < kTwoPi) {
      const double last = arc.angle0 + arc.turn;
      end_ = arc.centre + arc.radius * unit(last);
      patch({false, end_, side * left_of(unit(last)), 0, -radius_, radius_, true});
      if (!begun)
        patch({false, arc.centre + arc.radius * unit(arc.angle0), side * left_of(unit(arc.angle0)), 0,
               -radius_, radius_, true, true});
    }
  }
  return out_;
}

/// Cuts the lines of one piece by the rule of five, in halves as far as the rule of three tells another
/// volume.
void RemovedBy::cut_piece(const Patch& patch, double from, double to, int halvings) {
  const SweptArc* const arc = sweep_.kind == SweepKind::arc ? &runs_.arcs().arcs[sweep_.arc] : nullptr;
  const double a_share = patch.wedge ? std::abs(arc->turn) : patch.length, step = to - from;
  const std::size_t mark = out_.size();
  double done = 0, sum = 0, sum_of_three = 0;
  for (std::size_t k = 0; k < kFive.at.size(); ++k) {
    Line line{};
    line.t = from + step * kFive.at[k];
    line.weight = step * kFive.weight[k];
    line.across = line.weight * (patch.wedge ? arc->radius : 1);
    line.number = lines_++;
    const double cell0 = from + step * done;
    done += kFive.weight[k];
    const double cell1 = from + step * done;
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
    const std::size_t before = out_.size();
    cut_line(patch, line);
    double volume = 0;
    for (std::size_t n = before; n < out_.size(); ++n)
      volume += out_[n].volume_mm3();
    thickest_ = std::max(thickest_, volume / line.across);
    sum += volume;
    sum_of_three += volume / kFive.weight[k] * kThreeOfFive[k];
  }
  const double long_mm = step * (patch.wedge ? arc->radius + radius_ : 1);
  const bool brief = long_mm < (steady_ ? kShortSteady_radii : kShort_radii) * radius_;
  if (halvings == 0 || brief ||
      std::abs(sum - sum_of_three) <= agree_ * kAgree * std::max(sum, kSmall * volume_)) {
    volume_ += sum;
    return;
  }
  out_.resize(mark);
  const double middle = 0.5 * (from + to);
  cut_piece(patch, from, middle, halvings - 1);
  cut_piece(patch, middle, to, halvings - 1);
}

void RemovedBy::patch(const Patch& patch) {
  const SweptArc* const arc = sweep_.kind == SweepKind::arc ? &runs_.arcs().arcs[sweep_.arc] : nullptr;
  const double mm_a_t = patch.wedge ? arc->radius + radius_ : 1;
  // Ends of the straight part, then chunks.
  std::array<double, 4> stops{patch.first, patch.first, patch.last, patch.last};
  if (!patch.wedge) {
    stops[1] = std::max(patch.first, 0.0);
    stops[2] = std::clamp(patch.length, stops[1], patch.last);
  }
  // A short sweep looks round itself once.
  const double whole = std::min((patch.last - patch.first) * mm_a_t, kChunk_mm);
  const bool at_once = !patch.wedge && whole < kChunk_mm;
  if (at_once) {
    gather({patch, patch.first, patch.last});
    find_breaks({patch, patch.first, patch.last});
  }
  // The way itself first: what it takes is the measure for the ends.
  for (const std::size_t part : {1, 0, 2}) {
    const double span = stops[part + 1] - stops[part];
    if (!(span > 0))
      continue;
    const int chunks = static_cast<int>(std::ceil(span * mm_a_t / kChunk_mm));
    for (int c = 0; c < chunks; ++c) {
      const double t0 = stops[part] + span * c / chunks,
                   t1 = c + 1 == chunks ? stops[part + 1] : stops[part] + span * (c + 1) / chunks;
      if (!at_once) {
        gather({patch, t0, t1});
        find_breaks({patch, t0, t1});
      }
      // Where heights change along the lines, breaks hardly matter: those closer than one in kMostPieces are
      // left to the halving.
      const bool many = !steady_ && breaks_.size() > kMostPieces;
      const double least = many ? std::max(kLeast_mm, whole / kMostPieces) : kLeast_mm;
      double from = t0;
      for (const double to : breaks_) {
        if (!(to > t0 && to < t1) || (to - from) * mm_a_t < least)
          continue;
        cut_piece(patch, from, to, kHalvings);
        from = to;
      }
      cut_piece(patch, from, t1, kHalvings);
    }
  }
}

std::vector<double> removed_mm3(const RemovalRecord& record) {
  const RecordData& data = record.data();
  std::vector<double> removed(data.moves, 0);
  const ChordRuns runs(data.sweeps);
  const SweepStacks stacks = stacks_of(data, runs);
  parallel_pieces(data.moves, 64, [&](std::size_t first, std::size_t last) {
    RemovedBy by(data, stacks, runs);
    for (std::size_t m = first; m < last; ++m)
      for (std::uint32_t n = data.sweeps.count_at(static_cast<std::uint32_t>(m));
           n < data.sweeps.count_at(static_cast<std::uint32_t>(m) + 1); ++n)
        for (const RemovedPart& part : by.sweep(n))
          removed[m] += part.volume_mm3();
  });
  return removed;
}

bool removes_foam(const RemovalRecord& record) {
  const auto any = [](const std::vector<double>& by_move) {
    return std::any_of(by_move.begin(), by_move.end(), [](double mm3) { return mm3 > 0; });
  };
  return any(record.data().counted_mm3) || any(removed_mm3(record));
}

} // namespace snagmap
