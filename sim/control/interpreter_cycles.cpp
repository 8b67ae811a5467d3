// Canned cycles: drilling and boring written out as moves along the plane's third axis.
#include "sim/control/interpreter.hpp"

#include <fmt/format.h>

#include <cmath>

namespace snagmap {
namespace {

constexpr double kFarthest_mm = 1e6, kLongestDwell_s = 1e6;
constexpr double kClearance_mm = 0.254; // 0.010 inch: where a peck re-enters above the last bottom
constexpr int kMostRepeats = 9999, kMostPecks = 100000;

int third_axis(ArcPlane plane) {
  return plane == ArcPlane::xy ? 2 : plane == ArcPlane::zx ? 1 : 0;
}

} // namespace

/// A cycle's line: what is done at each place.
struct Interpreter::CycleLine {
  const Block& block;
  int code, column, third;
  std::string name;
  double r = 0, bottom = 0, clear = 0; ///< heights along the third axis, mm
  double feed_mm_min = 0;
  int repeats = 1;

  char depth() const { return static_cast<char>('X' + third); }
  int column_of(char letter) const { return block.has(letter) ? block.column_of(letter) : column; }
  bool dwells() const { return code == 820 || code == 860 || code == 880 || code == 890; }
  bool pecks() const { return code == 830 || code == 730; }
  bool taps() const { return code == 840 || code == 740; }
  bool stops_spindle() const { return code == 860 || code == 880; }
};

void Interpreter::cycle(const Block& block) {
  CycleLine line{block, *motion_, block.has(GroupG::motion) ? block[GroupG::motion].column : 1,
                 third_axis(plane_), g_name(*motion_)};
  if (inverse_time_)
    throw Refusal{line.column, line.name + " under G93: a cycle has no one time",
                  "write G94 and a feed before it"};
  if (cycle_.code != line.code || cycle_.incremental != incremental_)
    cycle_ = {};
  cycle_.code = line.code;
  cycle_.incremental = incremental_;
  take_heights(line);
  take_repeats(line);
  take_dwell(line);
  take_peck(line);
  remark_cycle(line);
  line.feed_mm_min = feed_for(block, 0, line.column);
  cut_ = true;
  const int third = line.third;
  if (!incremental_ && block.has(line.depth()))
    lost_ &= ~(1u << third);
  const double from = at_[third];
  if (!return_told_ && from > line.r)
    remark(RemarkKind::returns_to_r, {line.name});
  line.clear = return_to_r_ ? line.r : std::max(from, line.r);
  if (from < line.r)
    along_third(line, MoveKind::rapid, line.r);
  for (int i = 0; i < line.repeats; ++i) {
    Offset over = targets(block);
    over[third] = at_[third];
    go(MoveKind::rapid, over, 0);
    along_third(line, MoveKind::rapid, line.r);
    drill(line);
    come_out(line);
  }
}

/// R and the bottom, of this line or of one before.
void Interpreter::take_heights(CycleLine& line) {
  const Block& block = line.block;
  const double from = at_[line.third];
  const auto number = [&](char letter) {
    return incremental_ ? block[letter] * scale_ : block[letter] * scale_ + shift_[line.third];
  };
  used_ |= letter_bit('R');
  if (block.has('R'))
    cycle_.r = number('R');
  if (block.has(line.depth())) {
    cycle_.bottom = number(line.depth());
    if (!incremental_)
      placed_ |= 1u << line.third;
  }
  if (!cycle_.r)
    throw Refusal{line.column, line.name + " without R: where does the cutter clear the work?", "write R"};
  if (!cycle_.bottom)
    throw Refusal{line.column, fmt::format("{} without {}: how deep?", line.name, line.depth()),
                  fmt::format("write {}", line.depth())};
  line.r = incremental_ ? from + *cycle_.r : *cycle_.r;
  line.bottom = incremental_ ? line.r + *cycle_.bottom : *cycle_.bottom;
  if (!(std::abs(line.r) <= kFarthest_mm && std::abs(line.bottom) <= kFarthest_mm))
    throw Refusal{line.column, line.name + " reaches more than 1 km from the sheet",
                  "check the numbers and the units"};
  if (line.r < line.bottom)
    throw Refusal{line.column_of('R'),
                  fmt::format("{} with R below {}: it would drill upwards", line.name, line.depth()),
                  fmt::format("write R above {}", line.depth())};
}

void Interpreter::take_repeats(CycleLine& line) {
  used_ |= letter_bit('L');
  if (line.block.has('L')) {
    const double l = line.block['L'];
    if (!(l >= 1 && l <= kMostRepeats) || std::abs(l - std::round(l)) > 1e-4)
      throw Refusal{line.block.column_of('L'),
                    fmt::format("L{:.10g}: a cycle is repeated 1 to {} times", l, kMostRepeats),
                    "write a whole number"};
    line.repeats = static_cast<int>(std::round(l));
  }
  if (failed_ && !incremental_)
    line.repeats = 1; // no path will come of it, and the end is the same
}

/// The seconds at the bottom: some cycles need them, taps may have them.
void Interpreter::take_dwell(const CycleLine& line) {
  if (!line.dwells() && !line.taps())
    return;
  used_ |= letter_bit('P');
  if (line.block.has('P')) {
    cycle_.dwell = line.block['P'];
    if (!(*cycle_.dwell >= 0 && *cycle_.dwell <= kLongestDwell_s))
      throw Refusal{line.block.column_of('P'),
                    fmt::format("P{:.10g}: a dwell is 0 to 1000000 seconds", *cycle_.dwell),
                    "check the seconds"};
  }
  if (line.dwells() && !cycle_.dwell)
    throw Refusal{line.column, line.name + " without P: it needs the seconds of its dwell", "write P"};
}

void Interpreter::take_peck(const CycleLine& line) {
  if (!line.pecks())
    return;
  used_ |= letter_bit('Q');
  if (line.block.has('Q'))
    cycle_.peck = line.block['Q'] * scale_;
  if (!cycle_.peck || !(*cycle_.peck > 0))
    throw Refusal{line.column_of('Q'), line.name + " without Q above 0: how deep is a peck?", "write Q"};
  if ((line.r - line.bottom) / *cycle_.peck > kMostPecks)
    throw Refusal{line.column_of('Q'), fmt::format("{} makes more than {} pecks", line.name, kMostPecks),
                  "check Q and the depth"};
}

/// What is not modelled of the cycle, or taken otherwise than some controls do.
void Interpreter::remark_cycle(const CycleLine& line) {
  if (line.code == 730)
    remark(RemarkKind::backs_off, {}, {}, kClearance_mm);
  if (line.taps()) {
    restore(RemarkKind::thread_again, {line.name});
    remark(RemarkKind::thread_left_out, {line.name});
  }
  if (line.code == 880)
    remark(RemarkKind::retract_by_hand);
}

void Interpreter::along_third(const CycleLine& line, MoveKind kind, double height) {
  Offset to = at_;
  to[line.third] = height;
  go(kind, to, kind == MoveKind::rapid ? 0 : line.feed_mm_min);
}

/// From R to the bottom.
void Interpreter::drill(const CycleLine& line) {
  if (!line.pecks() || failed_)
    return along_third(line, MoveKind::line, line.bottom);
  for (int n = 1;; ++n) {
    const double depth = std::max(line.bottom, line.r - n * *cycle_.peck);
    along_third(line, MoveKind::line, depth);
    if (depth <= line.bottom)
      return;
    if (line.code == 830)
      along_third(line, MoveKind::rapid, line.r);
    along_third(line, MoveKind::rapid, std::min(line.r, depth + kClearance_mm));
  }
}

/// From the bottom to where the next hole is gone to.
void Interpreter::come_out(const CycleLine& line) {
  const bool turned = spindle_on_;
  if (line.taps())
    anticlockwise_ = !anticlockwise_; // it turns back on the way out
  if (line.dwells() || (line.taps() && cycle_.dwell > 0))
    stand(MoveKind::dwell, *cycle_.dwell);
  if (line.stops_spindle())
    spindle_on_ = false;
  if (line.code == 880)
    stand(MoveKind::stop, 0);
  if (line.taps() || line.code == 850)
    along_third(line, MoveKind::line, line.r);
  if (line.code == 890)
    along_third(line, MoveKind::line, line.clear);
  if (line.taps())
    anticlockwise_ = !anticlockwise_;
  along_third(line, MoveKind::rapid, line.clear);
  if (turned && !spindle_on_) {
    spindle_on_ = true;
    stand(MoveKind::dwell, 0); // it runs up again
  }
}

} // namespace snagmap
