#include "sim/control/flow.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <tuple>
#include <utility>

namespace snagmap {
namespace {

constexpr int kDeepest = 10; // LinuxCNC, interp_internal.hh, INTERP_SUB_ROUTINE_LEVELS
constexpr std::uintmax_t kLargestCalled = 64u << 20;
constexpr std::uint64_t kHurry = 100'000; // lines that are still run when no path will come of it

} // namespace

Flow::Flow(std::string name, std::string text, std::string folder, const ProgramOptions& options,
           Parameters& parameters)
    : options_(options), parameters_(parameters), folder_(std::move(folder)), most_(options.most_lines),
      start_(std::chrono::steady_clock::now()) {
  load(std::move(name), std::move(text));
}

int Flow::load(std::string file, std::string text) {
  texts_.push_back(std::make_unique<FlowText>(std::move(file), std::move(text), parameters_));
  return static_cast<int>(texts_.size()) - 1;
}

void Flow::hurry() {
  most_ = std::min(most_, run_ + kHurry);
}

/// Makes a line, counted from 0, the one that is spoken of.
void Flow::show(int text, int line) {
  const FlowText& own = *texts_[static_cast<std::size_t>(text)];
  std::tie(line_.begin, line_.end) = own.line(line);
  line_.number = line + 1;
  line_.file = &own.file();
}

const Flow::Line* Flow::next() {
  while (at_ >= text().lines()) {
    if (frames_.empty())
      return nullptr;
    leave(); // a subprogram may end with its file
  }
  show(here_, at_);
  line_.main_line = line_.number;
  if (here_ != 0) {
    const auto from_main =
        std::find_if(frames_.rbegin(), frames_.rend(), [](const Frame& frame) { return frame.text == 0; });
    if (from_main != frames_.rend())
      line_.main_line = from_main->call_line + 1;
  }
  ++at_;
  count_line();
  return &line_;
}

/// Counts a line that is run, and stops past the bounds.
void Flow::count_line() {
  ++run_;
  const bool late =
      run_ % 1024 == 0 &&
      std::chrono::duration<double>(std::chrono::steady_clock::now() - start_).count() > options_.most_s;
  if (run_ <= most_ && !late)
    return;
  const std::string what = what_runs();
  throw Stop{{1,
              late ? fmt::format("{} ran away: after {:.0f} s it has not ended", what, options_.most_s)
                   : fmt::format("{} ran away: after {} lines it has not ended", what, most_),
              "check what ends it"}};
}

/// The innermost loop, or else the innermost call that is repeated, which is then the line spoken of.
std::string Flow::what_runs() {
  for (std::size_t depth = frames_.size() + 1; depth-- > 0;) { // of calls; 0: the program itself
    const Frame* const frame = depth > 0 ? &frames_[depth - 1] : nullptr;
    if (const auto& open = frame ? frame->loops : loops_; !open.empty()) {
      show(depth < frames_.size() ? frames_[depth].text : here_, open.back().line);
      return fmt::format("loop o{} {} of line {}", open.back().label, word_of(open.back().kind),
                         line_.number);
    }
    if (frame && frame->repeats_left > 0) {
      show(frame->text, frame->call_line);
      return fmt::format("the call of line {}", line_.number);
    }
  }
  return "the program";
}

/// A subprogram in a file of its own lies beside the program, by a plain name.
int Flow::load_beside(const std::string& what, const std::string& shown, const std::string& label,
                      int column) {
  const auto refusal = [&](const std::string& why) {
    return Refusal{column, what + ": " + why,
                   "a subprogram stands in the program, or in a file NAME.ngc beside it",
                   "call without its subprogram"};
  };
  if (folder_.empty())
    throw refusal("no such subprogram in this program");
  if (shown.find_first_of("/\\") != std::string::npos || shown.find("..") != std::string::npos)
    throw refusal("a name with '/' or '..' leads elsewhere, and only files beside the program are read");
  for (const std::string& name : {shown + ".ngc", label + ".ngc", shown + ".nc", label + ".nc"}) {
    const std::filesystem::path file = std::filesystem::path(folder_) / name;
    if (const auto known = loaded_.find(name); known != loaded_.end())
      return known->second;
    std::error_code error;
    if (!std::filesystem::is_regular_file(file, error))
      continue;
    if (std::filesystem::file_size(file, error) > kLargestCalled || error)
      throw refusal("its file is over 64 MB");
    std::ifstream in(file, std::ios::binary);
    std::string text{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
    if (!in.good() && !in.eof())
      throw refusal("its file cannot be read");
    return loaded_[name] = load(file.string(), std::move(text));
  }
  throw refusal("no such subprogram in this program, and no such file beside it");
}

/// In the file that is run, else in the program itself.
std::optional<Flow::Place> Flow::find(const std::string& label, FlowKind kind) const {
  for (const int in : {here_, 0})
    if (const auto line = texts_[static_cast<std::size_t>(in)]->find(label, kind))
      return Place{in, *line};
  return {};
}

/// Of M98: the line O and its number stand on.
Flow::Place Flow::program_called(int number, const Block& block) {
  const std::string label = std::to_string(number);
  if (const auto place = find(label, FlowKind::number))
    return *place;
  const int in = load_beside(fmt::format("M98 P{}", number), label, label, block.column_of('P'));
  if (const auto line = texts_[static_cast<std::size_t>(in)]->find(label, FlowKind::number))
    return {in, *line};
  throw Refusal{block.column_of('P'), fmt::format("M98 P{}: its file has no line O{}", number, number),
                fmt::format("begin it with O{}", number)};
}

/// Of an O word's call: the line of its sub.
Flow::Place Flow::sub_called(const OWord& o) {
  if (const auto place = find(o.label, FlowKind::sub))
    return *place;
  const int in = load_beside(fmt::format("call of o<{}>", o.shown), o.shown, o.label, o.column);
  if (const auto line = texts_[static_cast<std::size_t>(in)]->find(o.label, FlowKind::sub))
    return {in, *line};
  throw Refusal{o.column, fmt::format("call of o<{}>: its file has no o<{}> sub", o.shown, o.label),
                fmt::format("write o<{}> sub ... o<{}> endsub in it", o.label, o.label)};
}

void Flow::enter(const Call& call) {
  if (static_cast<int>(frames_.size()) >= kDeepest)
    throw Stop{{call.column,
                fmt::format("o{} is the call number {} within each other: does it call itself?", call.label,
                            kDeepest + 1),
                fmt::format("at most {} calls stand within each other", kDeepest)}};
  Frame frame{here_, at_ - 1, call.place.line + 1, call.repeats - 1, call.own_parameters};
  if (call.own_parameters) {
    for (std::size_t i = 0; i < kMostArguments; ++i) {
      frame.saved[i] = parameters_.value[i + 1];
      parameters_.value[i + 1] = i < call.arguments.size() ? call.arguments[i] : 0;
    }
    parameters_.local.emplace_back();
  }
  frames_.push_back(std::move(frame));
  ++parameters_.depth;
  here_ = call.place.text;
  at_ = call.place.line + 1;
}

void Flow::leave() {
  Frame& frame = frames_.back();
  if (frame.repeats_left > 0) {
    --frame.repeats_left;
    frame.loops.clear();
    at_ = frame.first_line;
    return;
  }
  if (frame.own_parameters) {
    for (std::size_t i = 0; i < kMostArguments; ++i)
      parameters_.value[i + 1] = frame.saved[i];
    parameters_.local.pop_back();
  }
  here_ = frame.text;
  at_ = frame.call_line + 1;
  frames_.pop_back();
  --parameters_.depth;
}

bool Flow::m_call(const Block& block) {
  const int column = block.m[0].column;
  if (block.call == 99) {
    if (block.has('P'))
      throw Refusal{block.column_of('P'), "M99 with P: a return to another line is not read",
                    "return by M99 alone, or write the program out in full"};
    if (frames_.empty())
      return false;
    leave();
    return true;
  }
  if (!block.has('P'))
    throw Refusal{column, fmt::format("M{} without P: which subprogram?", block.call),
                  fmt::format("write M{} P100", block.call)};
  const int number = whole(block, 'P', 99'999'999);
  const int repeats = block.has('L') ? whole(block, 'L', 1'000'000) : 1;
  if (repeats == 0)
    return true;
  Place place{};
  if (block.call == 97) {
    const auto line = text().block(number);
    if (!line)
      throw Refusal{block.column_of('P'), fmt::format("M97 P{}: there is no line N{}", number, number),
                    "write the block number of a line of this program"};
    place = {here_, *line - 1}; // that line itself is run
  } else
    place = program_called(number, block);
  enter({place, std::to_string(number), column, repeats});
  return true;
}

} // namespace snagmap
