#include "viz/terminal/style.hpp"

#include "models/base/plain_text.hpp"
#include "viz/words/wrapped.hpp"

#include <algorithm>
#include <cstdlib>
#include <fmt/format.h>
#include <sys/ioctl.h>
#include <unistd.h>

namespace snagmap {
namespace {

/// Bold for what alarms, in the one alarm colour of all views (viz/draw/colours.hpp); nothing else is
/// coloured.
constexpr const char* kAlarmCode = "1;38;2;213;50;20";
constexpr std::size_t kLeastColumns = 40, kMostColumns = 120;

std::string with_code(const std::string& text, const char* code, bool colour) {
  return colour ? fmt::format("\x1b[{}m{}\x1b[0m", code, text) : text;
}

} // namespace

std::size_t terminal_columns(int file_descriptor) {
  long columns = 0;
  if (const char* word = std::getenv("COLUMNS"))
    columns = std::strtol(word, nullptr, 10);
  winsize size{};
  if (columns <= 0 && isatty(file_descriptor) && ioctl(file_descriptor, TIOCGWINSZ, &size) == 0)
    columns = size.ws_col;
  if (columns <= 0)
    return 80;
  return std::clamp(static_cast<std::size_t>(columns), kLeastColumns, kMostColumns);
}

bool wants_colour(int file_descriptor) {
  const char* no_colour = std::getenv("NO_COLOR");
  const char* term = std::getenv("TERM");
  return isatty(file_descriptor) && !(no_colour && *no_colour) && !(term && std::string(term) == "dumb");
}

void add(Lines& to, const Lines& lines) {
  to.insert(to.end(), lines.begin(), lines.end());
}

std::string joined(const Lines& lines) {
  std::string text;
  for (const std::string& line : lines)
    text += line + "\n";
  return text;
}

Lines wrapped_plain(const std::string& text, const TerminalStyle& style, const std::string& indent) {
  return wrapped(plain_text(text), style.columns, indent);
}

std::string alarm_text(const std::string& line, const TerminalStyle& style) {
  return with_code(line, kAlarmCode, style.colour);
}

std::string bold_text(const std::string& line, const TerminalStyle& style) {
  return with_code(line, "1", style.colour);
}

Lines alarm_lines(Lines lines, const TerminalStyle& style) {
  for (std::string& line : lines)
    line = alarm_text(line, style);
  return lines;
}

std::string aligned(std::vector<std::vector<std::string>> rows, const std::vector<bool>& right) {
  for (auto& row : rows)
    for (std::string& cell : row)
      cell = plain_text(cell);
  std::vector<std::size_t> widths(right.size());
  for (const auto& row : rows)
    for (std::size_t i = 0; i < row.size(); ++i)
      widths[i] = std::max(widths[i], text_width(row[i]));
  std::string text;
  for (const auto& row : rows) {
    std::string line;
    for (std::size_t i = 0; i < row.size(); ++i) {
      const std::string pad(widths[i] - text_width(row[i]), ' ');
      line += (i > 0 ? "  " : "") + (right[i] ? pad + row[i] : row[i] + pad);
    }
    line.erase(line.find_last_not_of(' ') + 1);
    text += line + "\n";
  }
  return text;
}

std::string cautions(const TerminalStyle& style) {
  return joined(wrapped_plain(
      "These are predictions with stated uncertainty, not a clearance to cut. The machine's manual, local "
      "rules "
      "and trained practice come first. Never reach for a strand on a turning cutter; no gloves or loose "
      "sleeves; "
      "eye protection and dust extraction; a rubbing cutter can light foam; stay with the first run.",
      style));
}

} // namespace snagmap
