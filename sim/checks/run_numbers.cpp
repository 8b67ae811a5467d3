#include "sim/checks/run_numbers.hpp"

#include "sim/path/moves.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr double kSteep = 0.7071; // rise over length of a move that plunges rather than cuts sideways
constexpr double kJoin_mm = 10;   // parts nearer than this along the path are one stretch
constexpr double kMinute_s = 60;

/// Joins parts in the order of the path into stretches, and keeps those that take longest.
class Stretches {
public:
  Stretches(const Path& path, const Motion& motion) : path_(path), motion_(motion) {}

  /// The part of a move between two shares; `at_mm` is the path length at its beginning.
  void add(std::size_t move, double from, double to, double at_mm) {
    const double length = (to - from) * length_mm(path_.moves[move]);
    if (!(length > 0))
      return;
    const double spent = time_between_s(path_, motion_, move, from, to);
    if (open_.length_mm > 0 && at_mm - end_mm_ > kJoin_mm)
      close();
    if (open_.length_mm == 0) {
      open_.from_line = path_.moves[move].line;
      open_.time_s = motion_at(path_, motion_, move, from).time_s;
      open_.place_mm = point_at(path_.moves[move], from);
    }
    open_.to_line = path_.moves[move].line;
    open_.length_mm += length;
    open_.spent_s += spent;
    length_mm_ += length;
    spent_s_ += spent;
    end_mm_ = at_mm + length;
  }
  double length() const { return length_mm_; }
  double spent() const { return spent_s_; }
  std::vector<Stretch> take() {
    close();
    return std::move(kept_);
  }

private:
  void close() {
    if (open_.length_mm > 0) {
      const auto at = std::find_if(kept_.begin(), kept_.end(),
                                   [&](const Stretch& other) { return other.spent_s < open_.spent_s; });
      kept_.insert(at, open_);
      if (kept_.size() > kStretchesKept)
        kept_.pop_back();
    }
    open_ = {};
  }

  const Path& path_;
  const Motion& motion_;
  std::vector<Stretch> kept_;
  Stretch open_;
  double end_mm_ = 0, length_mm_ = 0, spent_s_ = 0;
};

/// Adds the slow parts of [from, to] of a move, whose length is `length` and whose path begins at `at_mm`.
void add_slow(Stretches& slow, const SlowEnds& ends, std::size_t move, double length, double from, double to,
              double at_mm) {
  const double head = std::clamp(ends.start_mm / length, from, to);
  slow.add(move, from, head, at_mm + from * length);
  const double tail = std::clamp(1 - ends.end_mm / length, head, to);
  slow.add(move, tail, to, at_mm + tail * length);
}

FeedWish feed_wish(const Path& path, const Motion& motion, const Scene& scene, const CutTrace& trace) {
  FeedWish wish;
  Stretches slow(path, motion);
  for (std::size_t i = 0; i < path.moves.size(); ++i) {
    const Move& move = path.moves[i];
    const double length = is_feed(move) ? length_mm(move) : 0;
    if (length <= 0)
      continue;
    wish.length_mm += length;
    wish.by_words_s += 60 * length / move.feed_mm_min;
    wish.real_s += motion.start_s[i + 1] - motion.start_s[i];
    add_slow(slow, slower_than(path, motion, i, kFeedReached * move.feed_mm_min / 60), i, length, 0, 1,
             trace.move_mm[i]);
  }
  wish.slow_mm = slow.length();
  wish.slow_s = slow.spent();
  wish.slow = slow.take();
  wish.over = feeds_over_limit(path, scene.machine);
  wish.over_places = wish.over.size();
  for (const FeedOverLimit& run : wish.over)
    wish.over_mm += run.length_mm;
  std::stable_sort(wish.over.begin(), wish.over.end(), [](const FeedOverLimit& a, const FeedOverLimit& b) {
    return a.programmed_mm_min / a.allowed_mm_min > b.programmed_mm_min / b.allowed_mm_min;
  });
  wish.over.resize(std::min(wish.over.size(), kStretchesKept));
  return wish;
}

/// Where the path runs in foam, as path lengths. Gaps up to that of a step (and the rounding of shares) are
/// none.
struct InFoam {
  double from_mm = 0, to_mm = 0;
};
std::vector<InFoam> in_foam(const CutTrace& trace) {
  std::vector<InFoam> all;
  for (const CutStep& step : trace.steps)
    if (!all.empty() && step.from_mm - all.back().to_mm <= 1.01 * kTraceGap_mm)
      all.back().to_mm = std::max(all.back().to_mm, step.to_mm);
    else
      all.push_back({step.from_mm, step.to_mm});
  return all;
}

std::vector<ThinChips> thin_chips(const Path& path, const Motion& motion, const Scene& scene,
                                  const CutTrace& trace) {
  const std::size_t cutters = scene.cutters.size();
  std::vector<ThinChips> all(cutters);
  std::vector<Stretches> rubbing(cutters, Stretches(path, motion));
  for (const InFoam& part : in_foam(trace)) {
    const auto after = std::upper_bound(trace.move_mm.begin(), trace.move_mm.end(), part.from_mm);
    for (auto i = static_cast<std::size_t>(after - trace.move_mm.begin()) - 1;
         i < path.moves.size() && trace.move_mm[i] < part.to_mm; ++i) {
      const Move& move = path.moves[i];
      const double length = is_feed(move) ? length_mm(move) : 0;
      if (length <= 0 || std::abs(move.to.z - move.from.z) > kSteep * length)
        continue;
      const double from = std::clamp((part.from_mm - trace.move_mm[i]) / length, 0.0, 1.0),
                   to = std::clamp((part.to_mm - trace.move_mm[i]) / length, from, 1.0);
      const auto c = static_cast<std::size_t>(move.tool);
      const CutterCard& cutter = scene.cutters[c];
      const double teeth_per_s = cutter.flutes * std::abs(static_cast<double>(move.spindle_rpm)) / 60;
      all[c].in_foam_mm += (to - from) * length;
      all[c].in_foam_s += time_between_s(path, motion, i, from, to);
      add_slow(rubbing[c], slower_than(path, motion, i, cutter.least_chip_mm * teeth_per_s), i, length, from,
               to, trace.move_mm[i]);
    }
  }
  std::vector<ThinChips> used;
  for (std::size_t c = 0; c < cutters; ++c) {
    if (all[c].in_foam_mm <= 0)
      continue;
    all[c].cutter = static_cast<int>(c);
    all[c].least_mm = scene.cutters[c].least_chip_mm;
    all[c].thin_mm = rubbing[c].length();
    all[c].thin_s = rubbing[c].spent();
    all[c].longest = rubbing[c].take();
    used.push_back(std::move(all[c]));
  }
  return used;
}

FoamRemoved foam_removed(const Path& path, const Motion& motion, const CutTrace& trace,
                         const Strands& strands) {
  FoamRemoved foam;
  std::vector<double> at_s(trace.steps.size());
  for (std::size_t n = 0; n < at_s.size(); ++n)
    at_s[n] = motion_at(path, motion, trace.steps[n].move, trace.steps[n].from_s).time_s;
  double within = 0; // removed in the minute that begins with step `first`
  for (std::size_t first = 0, last = 0; first < at_s.size(); ++first) {
    for (; last < at_s.size() && at_s[last] < at_s[first] + kMinute_s; ++last)
      within += trace.steps[last].volume_mm3;
    if (within > foam.busiest_minute_mm3) {
      foam.busiest_minute_mm3 = within;
      foam.busiest_from_s = at_s[first];
      foam.busiest_line = path.moves[trace.steps[first].move].line;
    }
    foam.total_mm3 += trace.steps[first].volume_mm3;
    within -= trace.steps[first].volume_mm3;
  }
  foam.total_mm3 += trace.films_mm3;
  foam.by_columns_mm3 = trace.columns_mm3;
  for (const StrandRun& run : strands.runs)
    if (run.volume_mm3 > foam.largest_run_mm3) {
      foam.largest_run_mm3 = run.volume_mm3;
      foam.run_from_s = run.from_time_s;
      foam.run_line = run.from_line;
      foam.neck_room_mm3 = run.neck_room_mm3;
    }
  return foam;
}

} // namespace

RunNumbers run_numbers(const Path& path, const Motion& motion, const Scene& scene, const CutTrace& trace,
                       const Strands& strands) {
  return {split_time(path, motion), feed_wish(path, motion, scene, trace),
          thin_chips(path, motion, scene, trace), foam_removed(path, motion, trace, strands)};
}

} // namespace snagmap
