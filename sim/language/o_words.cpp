#include "sim/language/o_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstring>

namespace snagmap {
namespace {

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

std::optional<FlowKind> kind_of(const std::string& word) {
  for (int k = 0; k <= static_cast<int>(FlowKind::continue_); ++k)
    if (word == word_of(static_cast<FlowKind>(k)))
      return static_cast<FlowKind>(k);
  return {};
}

} // namespace

const char* word_of(FlowKind kind) {
  static constexpr const char* kWords[] = {"",       "sub",       "endsub", "return",  "call", "do",
                                           "while",  "endwhile",  "if",     "elseif",  "else", "endif",
                                           "repeat", "endrepeat", "break",  "continue"};
  return kWords[static_cast<std::size_t>(kind)];
}

OWord::OWord(Cursor cursor, Label how) : column(cursor.column()), cursor_(cursor) {
  ++cursor_.at;
  const char c = cursor_.peek();
  if (c == '<') {
    const char* from = cursor_.at + 1;
    label = read_name(cursor_, column);
    shown.assign(from, cursor_.at - 1);
  } else if (digit(c)) {
    while (digit(cursor_.peek()))
      label += *cursor_.at++;
    label.erase(0, std::min(label.find_first_not_of('0'), label.size() - 1));
  } else if (c != '#' && c != '[') {
    throw Refusal{column, "O without a number or <name>", "write O100, or O<name>"};
  } else if (how == Label::as_written) {
    kind = FlowKind::number;
    return;
  } else {
    const double value = read_value(cursor_, 'O');
    if (!(value >= 0 && value < 1e9) || value != std::floor(value))
      throw Refusal{column, fmt::format("O{:.10g}: a label is a whole number", value), "check its value"};
    label = fmt::format("{:.0f}", value);
  }
  if (shown.empty())
    shown = label;
  word = letters(cursor_);
  kind = kind_of(word);
}

Refusal value_missing(const std::string& name, int column) {
  return {column, name + " without its [value]", fmt::format("write {} [value]", name)};
}

double OWord::value() {
  if (!has_value())
    throw value_missing(name(), cursor_.column());
  return read_value(cursor_, '[');
}

std::vector<double> OWord::values(std::size_t most) {
  std::vector<double> all;
  while (has_value()) {
    if (all.size() == most)
      throw Refusal{cursor_.column(), fmt::format("a call with more than {} values", most),
                    "pass fewer, or set parameters before"};
    all.push_back(read_value(cursor_, '['));
  }
  return all;
}

void OWord::end(const std::string& what) {
  const char c = cursor_.peek();
  if (c != 0 && c != '(' && c != ';')
    throw Refusal{cursor_.column(), "text after " + what, "put it on a line of its own"};
}

FlowText::FlowText(std::string file, std::string text, Parameters& parameters)
    : file_(std::move(file)), text_(std::move(text)), parameters_(parameters) {
  const char *begin = text_.data(), *end = begin + text_.size(), *stop = end;
  for (const char* p = begin; p < end;) {
    const char* after = next_line(p, end, stop);
    lines_.emplace_back(p - begin, stop - begin);
    index(lines() - 1, p, stop);
    p = after;
  }
}

/// Remembers a line's block number and its O word. What is wrong with them is said when the line is run.
void FlowText::index(int line, const char* begin, const char* end) {
  Cursor cursor{begin, begin, end, parameters_};
  if (cursor.peek() == '/')
    ++cursor.at;
  if ((cursor.peek() | 0x20) == 'n') {
    ++cursor.at;
    int number = 0;
    for (; digit(cursor.peek()); ++cursor.at)
      number = number < 100'000'000 ? 10 * number + (*cursor.at - '0') : number;
    blocks_.emplace(number, line);
  }
  const char c = cursor.peek();
  if ((c | 0x20) != 'o' && c != ':')
    return;
  try {
    const OWord o(cursor, OWord::Label::as_written);
    // ':' in place of O names a program and does nothing else.
    if (o.kind && !o.label.empty() && (c != ':' || *o.kind == FlowKind::number))
      words_.push_back({line, o.column, *o.kind, o.label});
  } catch (const Refusal&) {
  }
}

std::pair<const char*, const char*> FlowText::line(int index) const {
  const auto [begin, end] = lines_[static_cast<std::size_t>(index)];
  return {text_.data() + begin, text_.data() + end};
}

std::optional<int> FlowText::find(const std::string& label, FlowKind kind) const {
  for (const Word& word : words_)
    if (word.kind == kind && word.label == label)
      return word.line;
  return {};
}

int FlowText::find_after(int line, const std::string& label, std::initializer_list<FlowKind> kinds,
                         int column) const {
  auto word = std::upper_bound(words_.begin(), words_.end(), line,
                               [](int at, const Word& other) { return at < other.line; });
  for (; word != words_.end(); ++word)
    if (word->label == label && std::find(kinds.begin(), kinds.end(), word->kind) != kinds.end())
      return word->line;
  const char* missed = word_of(*(kinds.end() - 1));
  throw Refusal{column, fmt::format("o{} has no {} after it", label, missed),
                fmt::format("write o{} {} where it ends", label, missed), "O word without its end"};
}

OWord FlowText::word_at(int line) const {
  const auto word = std::lower_bound(words_.begin(), words_.end(), line,
                                     [](const Word& other, int at) { return other.line < at; });
  const auto [begin, end] = this->line(line);
  return {{begin, begin + word->column - 1, end, parameters_}, OWord::Label::evaluated};
}

std::optional<int> FlowText::block(int number) const {
  const auto found = blocks_.find(number);
  return found == blocks_.end() ? std::optional<int>() : found->second;
}

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

} // namespace snagmap
