// Lines of a terminal: their width, what may be coloured, columns.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

namespace snagmap {

using Lines = std::vector<std::string>;

struct TerminalStyle {
  bool colour = false;      ///< escape codes allowed
  std::size_t columns = 80; ///< of a line
};

/// Of the stream: COLUMNS, else what the terminal says, else 80; at least 40, at most 120.
std::size_t terminal_columns(int file_descriptor);
/// True when escape codes may be sent to the stream: a terminal, NO_COLOR unset or empty, TERM not dumb.
bool wants_colour(int file_descriptor);

void add(Lines& to, const Lines& lines);
/// Each with its end of line.
std::string joined(const Lines& lines);
/// Plain text in lines of the style's columns; all but the first indented.
Lines wrapped_plain(const std::string& text, const TerminalStyle& style, const std::string& indent = "");
/// In the one alarm colour, and in bold, where colours are allowed.
std::string alarm_text(const std::string& line, const TerminalStyle& style);
std::string bold_text(const std::string& line, const TerminalStyle& style);
Lines alarm_lines(Lines lines, const TerminalStyle& style);

/// Columns aligned by their widest cell, each cell as plain text; `right` marks columns of numbers.
std::string aligned(std::vector<std::vector<std::string>> rows, const std::vector<bool>& right);

/// The short cautions at the end of every command that leads to a cut.
std::string cautions(const TerminalStyle& style);

} // namespace snagmap
