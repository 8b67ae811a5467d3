// Canned cycles: drilling and boring written out as moves along the plane's third axis.
#include "sim/program/interpreter.hpp"

#include <fmt/format.h>

#include <cmath>

namespace snagmap {
namespace {

constexpr double kClearance_mm = 0.254; // 0.010 inch: where a peck re-enters above the last bottom
constexpr int kMostRepeats = 9999, kMostPecks = 100000;

int third_axis(ArcPlane plane) {
  return plane == ArcPlane::xy ? 2 : plane == ArcPlane::zx ? 1 : 0;
}

} // namespace

void Interpreter::cycle(const Block& block) {
  const int third = third_axis(plane_), code = motion_;
  const char depth_letter = static_cast<char>('X' + third);
  const int column = block.has(GroupG::motion) ? block[GroupG::motion].column : 1;
  const std::string name = g_name(code);
  if (inverse_time_)
    throw Refusal{column, name + " under G93: a cycle has no one time", "write G94 and a feed before it"};
  if (cycle_.code != code || cycle_.incremental != incremental_)
    cycle_ = {};
  cycle_.code = code;
  cycle_.incremental = incremental_;
  used_ |= letter_bit('R') | letter_bit('L');
  const double from = at_[third];
  if (block.has('R')) {
    cycle_.r = incremental_ ? block['R'] * scale_ : block['R'] * scale_ + shift_[third];
    cycle_.has_r = true;
  }
  if (block.has(depth_letter)) {
    cycle_.bottom =
        incremental_ ? block[depth_letter] * scale_ : block[depth_letter] * scale_ + shift_[third];
    cycle_.has_bottom = true;
    if (!incremental_)
      placed_ |= 1u << third;
  }
  if (!cycle_.has_r)
    throw Refusal{column, name + " without R: where does the cutter clear the work?", "write R"};
  if (!cycle_.has_bottom)
    throw Refusal{column, fmt::format("{} without {}: how deep?", name, depth_letter),
                  fmt::format("write {}", depth_letter)};
  const double r = incremental_ ? from + cycle_.r : cycle_.r;
  const double bottom = incremental_ ? r + cycle_.bottom : cycle_.bottom;
  if (!(std::abs(r) <= 1e6 && std::abs(bottom) <= 1e6))
    throw Refusal{column, name + " reaches more than 1 km from the sheet", "check the numbers and the units"};
  if (r < bottom)
    throw Refusal{block.has('R') ? block.column_of('R') : column,
                  fmt::format("{} with R below {}: it would drill upwards", name, depth_letter),
                  fmt::format("write R above {}", depth_letter)};
  int repeats = 1;
  if (block.has('L')) {
    const double l = block['L'];
    if (!(l >= 1 && l <= kMostRepeats) || std::abs(l - std::round(l)) > 1e-4)
      throw Refusal{block.column_of('L'),
                    fmt::format("L{:.10g}: a cycle is repeated 1 to {} times", l, kMostRepeats),
                    "write a whole number"};
    repeats = static_cast<int>(std::round(l));
  }
  if (failed_ && !incremental_)
    repeats = 1; // no path will come of it, and the end is the same
  const bool dwells = code == 820 || code == 860 || code == 880 || code == 890;
  if (dwells) {
    used_ |= letter_bit('P');
    if (block.has('P')) {
      cycle_.dwell = block['P'];
      cycle_.has_dwell = true;
      if (!(cycle_.dwell >= 0 && cycle_.dwell <= 1e6))
        throw Refusal{block.column_of('P'),
                      fmt::format("P{:.10g}: a dwell is 0 to 1000000 seconds", cycle_.dwell),
                      "check the seconds"};
    }
    if (!cycle_.has_dwell)
      throw Refusal{column, name + " without P: it needs the seconds of its dwell", "write P"};
  }
  const bool pecks = code == 830 || code == 730;
  if (pecks) {
    used_ |= letter_bit('Q');
    if (block.has('Q')) {
      cycle_.peck = block['Q'] * scale_;
      cycle_.has_peck = true;
    }
    if (!cycle_.has_peck || !(cycle_.peck > 0))
      throw Refusal{block.has('Q') ? block.column_of('Q') : column,
                    name + " without Q above 0: how deep is a peck?", "write Q"};
    if ((r - bottom) / cycle_.peck > kMostPecks)
      throw Refusal{block.has('Q') ? block.column_of('Q') : column,
                    fmt::format("{} makes more than {} pecks", name, kMostPecks), "check Q and the depth"};
  }
  if (code == 730)
    notes_.once("G73", line_, "G73 is no part of the standard: after each peck the cutter backs off {}", {},
                kClearance_mm);
  if (code == 840 || code == 740) {
    used_ |= letter_bit('P');
    if (block.has('P'))
      cycle_.dwell = block['P'];
    if (!(cycle_.dwell >= 0 && cycle_.dwell <= 1e6))
      throw Refusal{block.column_of('P'),
                    fmt::format("P{:.10g}: a dwell is 0 to 1000000 seconds", cycle_.dwell),
                    "check the seconds"};
    restore("tapping", name + " cuts a thread: here it is a plain move down and up; write the cycle again");
    notes_.once("tapping", line_, name + ": the hole is drilled in the preview, the thread is not");
  }
  if (code == 880)
    notes_.once("G88", line_, "G88: the retract by hand is taken as a stop and a rapid");

  const double feed = feed_for(block, 0, column);
  cut_ = true;
  const auto to_depth = [&](MoveKind kind, double depth) {
    Offset to = at_;
    to[third] = depth;
    go(kind, to, kind == MoveKind::rapid ? 0 : feed);
  };
  if (!incremental_ && block.has(depth_letter))
    lost_ &= ~(1u << third);
  if (!return_told_ && from > r)
    notes_.once(
        "return", line_,
        name + " before any G98 or G99 returns to R, as LinuxCNC does; other controls return to where the "
               "cycle began, so write the one that is meant");
  const double clear = return_to_r_ ? r : std::max(from, r);
  if (at_[third] < r)
    to_depth(MoveKind::rapid, r);
  for (int i = 0; i < repeats; ++i) {
    Offset over = targets(block);
    over[third] = at_[third];
    go(MoveKind::rapid, over, 0);
    to_depth(MoveKind::rapid, r);
    if (pecks && !failed_) {
      for (int n = 1;; ++n) {
        const double depth = std::max(bottom, r - n * cycle_.peck);
        to_depth(MoveKind::line, depth);
        if (depth <= bottom)
          break;
        if (code == 830)
          to_depth(MoveKind::rapid, r);
        to_depth(MoveKind::rapid, std::min(r, depth + kClearance_mm));
      }
    } else
      to_depth(MoveKind::line, bottom);
    const bool taps = code == 740 || code == 840;
    if (taps)
      anticlockwise_ = !anticlockwise_; // it turns back on the way out
    if (dwells || (taps && cycle_.dwell > 0))
      stand(MoveKind::dwell, cycle_.dwell);
    const bool turned = spindle_on_;
    if (code == 860 || code == 880)
      spindle_on_ = false;
    if (code == 880)
      stand(MoveKind::stop, 0);
    if (code == 740 || code == 840 || code == 850)
      to_depth(MoveKind::line, r);
    if (code == 890)
      to_depth(MoveKind::line, clear);
    if (taps)
      anticlockwise_ = !anticlockwise_;
    to_depth(MoveKind::rapid, clear);
    if (turned && !spindle_on_) {
      spindle_on_ = true;
      stand(MoveKind::dwell, 0); // it runs up again
    }
  }
}

} // namespace snagmap
