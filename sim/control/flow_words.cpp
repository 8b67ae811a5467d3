// What each O word does to the line that is run next.
#include "sim/control/flow.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {

void Flow::o_word(int column) {
  OWord o({line_.begin, line_.begin + column - 1, line_.end, parameters_}, OWord::Label::evaluated);
  if (!o.kind)
    throw Refusal{column, fmt::format("{}: no word of the language", o.name()),
                  "sub, call, return, while, do, if, elseif, else, repeat, break and continue are read, and "
                  "their ends"};
  switch (*o.kind) {
  case FlowKind::number:
  case FlowKind::endif:
    return o.end();
  case FlowKind::sub:
    return skip_sub(o);
  case FlowKind::endsub:
  case FlowKind::return_:
    return return_from(o);
  case FlowKind::call:
    return call(o);
  case FlowKind::do_:
    return begin_do(o);
  case FlowKind::while_:
    return while_(o);
  case FlowKind::endwhile:
    return end_while(o);
  case FlowKind::repeat:
    return repeat(o);
  case FlowKind::endrepeat:
    return end_repeat(o);
  case FlowKind::if_:
    return if_(o);
  case FlowKind::elseif: // met from above: the branch that was taken ends here
    return skip_to_endif(o);
  case FlowKind::else_:
    o.end();
    return skip_to_endif(o);
  case FlowKind::break_:
    return leave_loop(o);
  case FlowKind::continue_:
    return next_round(o);
  }
}

/// The line further down that ends what `o` begins or stands in.
int Flow::after(const OWord& o, FlowKind end) const {
  return text().find_after(line_index(), o.label, {end}, o.column);
}

/// Its lines are run when it is called.
void Flow::skip_sub(OWord& o) {
  o.end();
  at_ = after(o, FlowKind::endsub) + 1;
}

void Flow::call(OWord& o) {
  std::vector<double> arguments = o.values(kMostArguments);
  o.end();
  enter({sub_called(o), o.label, o.column, 1, true, std::move(arguments)});
}

void Flow::return_from(OWord& o) {
  if (frames_.empty())
    throw Refusal{o.column, o.name() + " outside a subprogram",
                  fmt::format("write o{} sub before it", o.shown)};
  const bool answers = o.has_value();
  if (answers)
    parameters_.global["_value"] = o.value();
  parameters_.global["_value_returned"] = answers;
  o.end();
  leave();
}

void Flow::begin_do(OWord& o) {
  o.end();
  loops().push_back({FlowKind::do_, o.label, line_index()});
}

/// Begins a loop, or ends one that began with do.
void Flow::while_(OWord& o) {
  auto& open = loops();
  const bool ends_do = !open.empty() && open.back().kind == FlowKind::do_ && open.back().label == o.label;
  const bool holds = o.value() != 0;
  o.end();
  if (ends_do && holds)
    at_ = open.back().line + 1;
  else if (ends_do)
    open.pop_back();
  else if (holds)
    open.push_back({FlowKind::while_, o.label, line_index()});
  else
    at_ = after(o, FlowKind::endwhile) + 1;
}

void Flow::end_while(OWord& o) {
  o.end();
  at_ = closed_by(o, FlowKind::while_).line;
  loops().pop_back(); // the condition decides anew
}

void Flow::repeat(OWord& o) {
  const double times = o.value();
  o.end();
  if (!(std::abs(times) < 1e9))
    throw Refusal{o.column, fmt::format("o{} repeat [{:.10g}]: too often", o.shown, times),
                  "check the value"};
  if (times < 1)
    at_ = after(o, FlowKind::endrepeat) + 1;
  else
    loops().push_back({FlowKind::repeat, o.label, line_index(), static_cast<long>(times)});
}

void Flow::end_repeat(OWord& o) {
  o.end();
  Loop& loop = closed_by(o, FlowKind::repeat);
  if (--loop.left > 0)
    at_ = loop.line + 1;
  else
    loops().pop_back();
}

/// Goes to the first branch whose condition holds, the else, or the end.
void Flow::if_(OWord& o) {
  bool holds = o.value() != 0;
  o.end();
  int branch = line_index();
  while (!holds) {
    branch =
        text().find_after(branch, o.label, {FlowKind::elseif, FlowKind::else_, FlowKind::endif}, o.column);
    at_ = branch + 1;
    OWord next = text().word_at(branch);
    if (next.kind != FlowKind::elseif)
      return next.end(fmt::format("o{} else or endif", o.shown));
    const std::string name = fmt::format("o{} elseif", o.shown);
    if (!next.has_value())
      throw value_missing(name, o.column);
    holds = next.value() != 0;
    next.end(name);
  }
}

void Flow::skip_to_endif(const OWord& o) {
  at_ = after(o, FlowKind::endif) + 1;
}

/// break
void Flow::leave_loop(OWord& o) {
  o.end();
  const FlowKind kind = loop_of(o).kind;
  at_ = after(o, kind == FlowKind::do_      ? FlowKind::while_
                 : kind == FlowKind::while_ ? FlowKind::endwhile
                                            : FlowKind::endrepeat) +
        1;
  loops().pop_back();
}

/// continue
void Flow::next_round(OWord& o) {
  o.end();
  const Loop& loop = loop_of(o);
  if (loop.kind == FlowKind::while_) {
    at_ = loop.line;
    loops().pop_back(); // it is entered anew
  } else
    at_ = after(o, loop.kind == FlowKind::do_ ? FlowKind::while_ : FlowKind::endrepeat);
}

/// The loop that a break or continue names; loops within it are left.
Flow::Loop& Flow::loop_of(const OWord& o) {
  auto& open = loops();
  const auto loop =
      std::find_if(open.rbegin(), open.rend(), [&](const Loop& one) { return one.label == o.label; });
  if (loop == open.rend())
    throw Refusal{o.column, fmt::format("o{} {} outside the loop of this label", o.label, o.word),
                  "write the label of the loop it stands in"};
  open.erase(loop.base(), open.end());
  return open.back();
}

/// The loop that `o` ends; loops within it are left.
Flow::Loop& Flow::closed_by(const OWord& o, FlowKind begin) {
  auto& open = loops();
  while (!open.empty() && open.back().label != o.label)
    open.pop_back();
  if (open.empty() || open.back().kind != begin)
    throw Refusal{o.column, fmt::format("{} without its {}", o.name(), word_of(begin)),
                  fmt::format("write o{} {} before it", o.shown, word_of(begin))};
  return open.back();
}

} // namespace snagmap
