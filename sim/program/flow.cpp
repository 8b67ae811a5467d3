#include "sim/program/flow.hpp"

#include "sim/language/expression.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <optional>
#include <utility>

namespace snagmap {
namespace {

constexpr int kDeepest = 10; // LinuxCNC, interp_internal.hh, INTERP_SUB_ROUTINE_LEVELS
constexpr std::size_t kMostArguments = 30, kLargestCalled = 64u << 20;
constexpr int kNotFound = -1;
constexpr std::uint64_t kHurry = 100'000; // lines that are still run when no path will come of it

const char* word_of(FlowKind kind) {
  static constexpr const char* kWords[] = {"",       "sub",       "endsub", "return",  "call", "do",
                                           "while",  "endwhile",  "if",     "elseif",  "else", "endif",
                                           "repeat", "endrepeat", "break",  "continue"};
  return kWords[static_cast<std::size_t>(kind)];
}

bool digit(char c) {
  return static_cast<unsigned char>(c - '0') < 10;
}
char lower(char c) {
  return static_cast<unsigned char>(c - 'A') < 26 ? static_cast<char>(c | 0x20) : c;
}

/// The letters that stand next, in lower case, with blanks anywhere.
std::string letters(Cursor& cursor) {
  std::string word;
  for (char c; static_cast<unsigned char>((c = lower(cursor.peek())) - 'a') < 26; ++cursor.at)
    word += c;
  return word;
}

struct Parsed {
  std::string label, shown;
  std::string word;
};

/// The cursor stands on the O. A label by an expression is evaluated when `values` says so, else left empty.
Parsed parse(Cursor& cursor, bool values) {
  const int column = cursor.column();
  ++cursor.at;
  Parsed parsed;
  const char c = cursor.peek();
  if (c == '<') {
    const char* from = cursor.at + 1;
    parsed.label = read_name(cursor, column);
    parsed.shown.assign(from, cursor.at - 1);
  } else if (digit(c)) {
    while (digit(cursor.peek()))
      parsed.label += *cursor.at++;
    parsed.label.erase(0, std::min(parsed.label.find_first_not_of('0'), parsed.label.size() - 1));
  } else if ((c == '#' || c == '[') && values) {
    const double value = read_value(cursor, 'O');
    if (!(value >= 0 && value < 1e9) || value != std::floor(value))
      throw Refusal{column, fmt::format("O{:.10g}: a label is a whole number", value), "check its value"};
    parsed.label = fmt::format("{:.0f}", value);
  } else if (c == '#' || c == '[') {
    return parsed;
  } else
    throw Refusal{column, "O without a number or <name>", "write O100, or O<name>"};
  if (parsed.shown.empty())
    parsed.shown = parsed.label;
  parsed.word = letters(cursor);
  return parsed;
}

std::optional<FlowKind> kind_of(const std::string& word) {
  for (int k = 0; k <= static_cast<int>(FlowKind::continue_); ++k)
    if (word == word_of(static_cast<FlowKind>(k)))
      return static_cast<FlowKind>(k);
  return {};
}

} // namespace

const char* next_line(const char* p, const char* end, const char*& stop) {
  stop = static_cast<const char*>(std::memchr(p, '\n', static_cast<std::size_t>(end - p)));
  const bool feed = stop != nullptr;
  if (!feed)
    stop = end;
  const char* back =
      p < stop ? static_cast<const char*>(std::memchr(p, '\r', static_cast<std::size_t>(stop - p))) : nullptr;
  if (!back)
    return feed ? stop + 1 : end;
  const bool pair = feed && back + 1 == stop;
  stop = back;
  return pair ? back + 2 : back + 1;
}

Flow::Flow(std::string name, std::string text, std::string folder, const ProgramOptions& options,
           Parameters& parameters)
    : options_(options), parameters_(parameters), folder_(std::move(folder)), most_(options.most_lines),
      start_(std::chrono::steady_clock::now()) {
  load(std::move(name), std::move(text));
}

int Flow::load(std::string name, std::string text) {
  auto own = std::make_unique<FlowText>();
  own->name = std::move(name);
  own->text = std::move(text);
  const char *begin = own->text.data(), *end = begin + own->text.size(), *stop = end;
  for (const char* p = begin; p < end;) {
    const char* after = next_line(p, end, stop);
    const int line = static_cast<int>(own->lines.size());
    own->lines.emplace_back(p - begin, stop - begin);
    Cursor cursor{p, p, stop, parameters_};
    if (cursor.peek() == '/')
      ++cursor.at;
    if ((cursor.peek() | 0x20) == 'n') {
      ++cursor.at;
      int number = 0;
      for (; digit(cursor.peek()); ++cursor.at)
        number = number < 100'000'000 ? 10 * number + (*cursor.at - '0') : number;
      own->block_number.emplace(number, line);
    }
    if ((cursor.peek() | 0x20) == 'o' || cursor.peek() == ':')
      try {
        const Parsed parsed = parse(cursor, false);
        const auto kind = kind_of(parsed.word);
        if (kind && !parsed.label.empty())
          own->words.push_back({line, *kind, parsed.label});
      } catch (const Refusal&) { // said when the line is run
      }
    p = after;
  }
  texts_.push_back(std::move(own));
  return static_cast<int>(texts_.size()) - 1;
}

void Flow::hurry() {
  most_ = std::min(most_, run_ + kHurry);
}

/// Counts a line that is run; past the bounds it names the innermost loop, or else the call.
void Flow::count_line() {
  ++run_;
  const bool late =
      run_ % 1024 == 0 &&
      std::chrono::duration<double>(std::chrono::steady_clock::now() - start_).count() > options_.most_s;
  if (run_ <= most_ && !late)
    return;
  std::string what = "the program";
  for (std::size_t f = frames_.size() + 1;
       f-- > 0;) { // frame f - 1 is what the call f made; 0 is the program
    const auto& open = f > 0 ? frames_[f - 1].loops : loops_;
    int text = f < frames_.size() ? frames_[f].text : here_;
    if (!open.empty()) {
      line_.number = open.back().line + 1;
      what =
          fmt::format("loop o{} {} of line {}", open.back().label, word_of(open.back().kind), line_.number);
    } else if (f > 0 && frames_[f - 1].repeats_left > 0) {
      text = frames_[f - 1].text;
      line_.number = frames_[f - 1].call_line + 1;
      what = fmt::format("the call of line {}", line_.number);
    } else
      continue;
    line_.file = &texts_[static_cast<std::size_t>(text)]->name;
    const auto [begin, end] =
        texts_[static_cast<std::size_t>(text)]->lines[static_cast<std::size_t>(line_.number - 1)];
    line_.begin = texts_[static_cast<std::size_t>(text)]->text.data() + begin;
    line_.end = texts_[static_cast<std::size_t>(text)]->text.data() + end;
    break;
  }
  throw Stop{{1,
              late ? fmt::format("{} ran away: after {:.0f} s it has not ended", what, options_.most_s)
                   : fmt::format("{} ran away: after {} lines it has not ended", what, most_),
              "check what ends it"}};
}

const Flow::Line* Flow::next() {
  while (at_ >= static_cast<int>(text().lines.size())) {
    if (frames_.empty())
      return nullptr;
    leave(); // a subprogram may end with its file
  }
  const auto [begin, end] = text().lines[static_cast<std::size_t>(at_)];
  line_.begin = text().text.data() + begin;
  line_.end = text().text.data() + end;
  line_.number = at_ + 1;
  line_.file = &text().name;
  line_.main_line = line_.number;
  if (here_ != 0)
    for (auto frame = frames_.rbegin(); frame != frames_.rend(); ++frame)
      if (frame->text == 0) {
        line_.main_line = frame->call_line + 1;
        break;
      }
  ++at_;
  count_line();
  return &line_;
}

int Flow::find(int text, const std::string& label, FlowKind kind) const {
  for (const FlowText::Word& word : texts_[static_cast<std::size_t>(text)]->words)
    if (word.kind == kind && word.label == label)
      return word.line;
  return kNotFound;
}

/// The line of the next O word with this label and one of these kinds. Throws Refusal when there is none.
int Flow::find_after(int line, const std::string& label, std::initializer_list<FlowKind> kinds,
                     int column) const {
  const auto& words = text().words;
  auto word = std::upper_bound(words.begin(), words.end(), line,
                               [](int at, const FlowText::Word& other) { return at < other.line; });
  for (; word != words.end(); ++word)
    if (word->label == label && std::find(kinds.begin(), kinds.end(), word->kind) != kinds.end())
      return word->line;
  throw Refusal{column, fmt::format("o{} has no {} after it", label, word_of(*(kinds.end() - 1))),
                fmt::format("write o{} {} where it ends", label, word_of(*(kinds.end() - 1))),
                "O word without its end"};
}

/// A subprogram in a file of its own lies beside the program, by a plain name.
int Flow::load_beside(const std::string& what, const std::string& shown, const std::string& label,
                      int column) {
  const auto refuse = [&](const std::string& why) {
    throw Refusal{column, what + ": " + why,
                  "a subprogram stands in the program, or in a file NAME.ngc beside it",
                  "call without its subprogram"};
  };
  if (folder_.empty())
    refuse("no such subprogram in this program");
  if (shown.find_first_of("/\\") != std::string::npos || shown.find("..") != std::string::npos)
    refuse("a name with '/' or '..' leads elsewhere, and only files beside the program are read");
  for (const std::string& name : {shown + ".ngc", label + ".ngc", shown + ".nc", label + ".nc"}) {
    const std::filesystem::path file = std::filesystem::path(folder_) / name;
    if (const auto known = loaded_.find(name); known != loaded_.end())
      return known->second;
    std::error_code error;
    if (!std::filesystem::is_regular_file(file, error))
      continue;
    if (std::filesystem::file_size(file, error) > kLargestCalled || error)
      refuse("its file is over 64 MB");
    std::ifstream in(file, std::ios::binary);
    std::string text{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
    if (!in.good() && !in.eof())
      refuse("its file cannot be read");
    return loaded_[name] = load(file.string(), std::move(text));
  }
  refuse("no such subprogram in this program, and no such file beside it");
  return kNotFound;
}

void Flow::enter(int text, int line, int repeats, bool own_parameters, const std::vector<double>& arguments,
                 const std::string& label, int column) {
  if (static_cast<int>(frames_.size()) >= kDeepest)
    throw Stop{{column,
                fmt::format("o{} is the call number {} within each other: does it call itself?", label,
                            kDeepest + 1),
                fmt::format("at most {} calls stand within each other", kDeepest)}};
  Frame frame{here_, at_, at_ - 1, own_parameters, repeats - 1, line + 1, {}, {}, label};
  frame.return_to = at_;
  if (own_parameters) {
    for (std::size_t i = 0; i < kMostArguments; ++i) {
      frame.saved[i] = parameters_.value[i + 1];
      parameters_.value[i + 1] = i < arguments.size() ? arguments[i] : 0;
    }
    parameters_.local.emplace_back();
  }
  // `text` of a frame is where the caller stands.
  frames_.push_back(std::move(frame));
  ++parameters_.depth;
  here_ = text;
  at_ = line + 1;
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
  at_ = frame.return_to;
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
  const std::string label = std::to_string(number);
  if (block.call == 97) {
    const auto found = text().block_number.find(number);
    if (found == text().block_number.end())
      throw Refusal{block.column_of('P'), fmt::format("M97 P{}: there is no line N{}", number, number),
                    "write the block number of a line of this program"};
    enter(here_, found->second - 1, repeats, false, {}, label, column);
    return true;
  }
  int in = here_, line = find(here_, label, FlowKind::number);
  if (line == kNotFound)
    line = find(in = 0, label, FlowKind::number);
  if (line == kNotFound) {
    in = load_beside(fmt::format("M98 P{}", number), label, label, block.column_of('P'));
    line = find(in, label, FlowKind::number);
    if (line == kNotFound)
      throw Refusal{block.column_of('P'), fmt::format("M98 P{}: its file has no line O{}", number, number),
                    fmt::format("begin it with O{}", number)};
  }
  enter(in, line, repeats, false, {}, label, column);
  return true;
}

/// break and continue: out of the loop with this label, or to its next round.
void Flow::loop_out(const std::string& label, int column, bool go_on) {
  auto& open = loops();
  const auto loop = std::find_if(open.rbegin(), open.rend(), [&](const Loop& l) { return l.label == label; });
  if (loop == open.rend())
    throw Refusal{column,
                  fmt::format("o{} {} outside the loop of this label", label, go_on ? "continue" : "break"),
                  "write the label of the loop it stands in"};
  open.erase(loop.base(), open.end()); // loops within it are left
  const Loop own = open.back();
  int to = 0;
  switch (own.kind) {
  case FlowKind::do_:
    to = find_after(line_.number - 1, label, {FlowKind::while_}, column);
    break;
  case FlowKind::while_:
    to = go_on ? own.line : find_after(line_.number - 1, label, {FlowKind::endwhile}, column);
    break;
  default:
    to = find_after(line_.number - 1, label, {FlowKind::endrepeat}, column);
  }
  if (!go_on)
    open.pop_back();
  else if (own.kind == FlowKind::while_)
    open.pop_back(); // it is entered anew
  at_ = go_on ? to : to + 1;
}

void Flow::o_word(int column) {
  Cursor cursor{line_.begin, line_.begin + column - 1, line_.end, parameters_};
  const Parsed parsed = parse(cursor, true);
  const std::string& label = parsed.label;
  const auto kind = kind_of(parsed.word);
  if (!kind)
    throw Refusal{column, fmt::format("o{} {}: no word of the language", parsed.shown, parsed.word),
                  "sub, call, return, while, do, if, elseif, else, repeat, break and continue are read, and "
                  "their ends"};
  const auto value = [&] {
    if (cursor.peek() != '[')
      throw Refusal{cursor.column(), fmt::format("o{} {} without its [value]", parsed.shown, parsed.word),
                    fmt::format("write o{} {} [value]", parsed.shown, parsed.word)};
    return read_value(cursor, '[');
  };
  const auto to_end = [&] { // comments may follow
    const char c = cursor.peek();
    if (c != 0 && c != '(' && c != ';')
      throw Refusal{cursor.column(), fmt::format("text after o{} {}", parsed.shown, parsed.word),
                    "put it on a line of its own"};
  };
  const int line = line_.number - 1;
  auto& open = loops();
  const auto closes = [&](FlowKind begin) {
    while (!open.empty() && open.back().label != label)
      open.pop_back();
    if (open.empty() || open.back().kind != begin)
      throw Refusal{column, fmt::format("o{} {} without its {}", parsed.shown, parsed.word, word_of(begin)),
                    fmt::format("write o{} {} before it", parsed.shown, word_of(begin))};
  };
  switch (*kind) {
  case FlowKind::number:
    return to_end();
  case FlowKind::sub: // its lines are run when it is called
    to_end();
    at_ = find_after(line, label, {FlowKind::endsub}, column) + 1;
    return;
  case FlowKind::endsub:
  case FlowKind::return_: {
    if (frames_.empty())
      throw Refusal{column, fmt::format("o{} {} outside a subprogram", parsed.shown, parsed.word),
                    fmt::format("write o{} sub before it", parsed.shown)};
    const bool answers = cursor.peek() == '[';
    if (answers)
      parameters_.global["_value"] = value();
    parameters_.global["_value_returned"] = answers;
    to_end();
    return leave();
  }
  case FlowKind::call: {
    std::vector<double> arguments;
    while (cursor.peek() == '[') {
      if (arguments.size() == kMostArguments)
        throw Refusal{cursor.column(), fmt::format("a call with more than {} values", kMostArguments),
                      "pass fewer, or set parameters before"};
      arguments.push_back(read_value(cursor, '['));
    }
    to_end();
    int in = here_, at = find(here_, label, FlowKind::sub);
    if (at == kNotFound)
      at = find(in = 0, label, FlowKind::sub);
    if (at == kNotFound) {
      in = load_beside(fmt::format("call of o<{}>", parsed.shown), parsed.shown, label, column);
      at = find(in, label, FlowKind::sub);
      if (at == kNotFound)
        throw Refusal{column, fmt::format("call of o<{}>: its file has no o<{}> sub", parsed.shown, label),
                      fmt::format("write o<{}> sub ... o<{}> endsub in it", label, label)};
    }
    return enter(in, at, 1, true, arguments, label, column);
  }
  case FlowKind::do_:
    to_end();
    open.push_back({FlowKind::do_, label, line, 0});
    return;
  case FlowKind::while_: {
    const bool ends_do = !open.empty() && open.back().kind == FlowKind::do_ && open.back().label == label;
    const bool holds = value() != 0;
    to_end();
    if (ends_do) {
      if (holds)
        at_ = open.back().line + 1;
      else
        open.pop_back();
    } else if (holds) {
      open.push_back({FlowKind::while_, label, line, 0});
    } else
      at_ = find_after(line, label, {FlowKind::endwhile}, column) + 1;
    return;
  }
  case FlowKind::endwhile:
    to_end();
    closes(FlowKind::while_);
    at_ = open.back().line;
    open.pop_back(); // the condition decides anew
    return;
  case FlowKind::repeat: {
    const double times = value();
    to_end();
    if (!(std::abs(times) < 1e9))
      throw Refusal{column, fmt::format("o{} repeat [{:.10g}]: too often", parsed.shown, times),
                    "check the value"};
    if (times < 1)
      at_ = find_after(line, label, {FlowKind::endrepeat}, column) + 1;
    else
      open.push_back({FlowKind::repeat, label, line, static_cast<long>(times)});
    return;
  }
  case FlowKind::endrepeat:
    to_end();
    closes(FlowKind::repeat);
    if (--open.back().left > 0)
      at_ = open.back().line + 1;
    else
      open.pop_back();
    return;
  case FlowKind::if_:
  case FlowKind::elseif: {
    // An elseif that is met from above ends the branch that was taken.
    if (*kind == FlowKind::elseif) {
      at_ = find_after(line, label, {FlowKind::endif}, column) + 1;
      return;
    }
    bool holds = value() != 0;
    to_end();
    int from = line;
    while (!holds) {
      const int branch =
          find_after(from, label, {FlowKind::elseif, FlowKind::else_, FlowKind::endif}, column);
      const auto [begin, end] = text().lines[static_cast<std::size_t>(branch)];
      Cursor there{text().text.data() + begin, text().text.data() + begin, text().text.data() + end,
                   parameters_};
      while ((there.peek() | 0x20) != 'o')
        ++there.at;
      at_ = branch + 1;
      if (parse(there, true).word != "elseif") {
        if (const char c = there.peek(); c != 0 && c != '(' && c != ';')
          throw Refusal{there.column(), fmt::format("text after o{} else or endif", parsed.shown),
                        "put it on a line of its own"};
        return;
      }
      if (there.peek() != '[')
        throw Refusal{column, fmt::format("o{} elseif without its [value]", parsed.shown),
                      fmt::format("write o{} elseif [value]", parsed.shown)};
      holds = read_value(there, '[') != 0;
      if (const char c = there.peek(); c != 0 && c != '(' && c != ';')
        throw Refusal{there.column(), fmt::format("text after o{} elseif", parsed.shown),
                      "put it on a line of its own"};
      from = branch;
    }
    return;
  }
  case FlowKind::else_:
    to_end();
    at_ = find_after(line, label, {FlowKind::endif}, column) + 1;
    return;
  case FlowKind::endif:
    return to_end();
  case FlowKind::break_:
    to_end();
    return loop_out(label, column, false);
  case FlowKind::continue_:
    to_end();
    return loop_out(label, column, true);
  }
}

} // namespace snagmap
