#include "sim/text/csv.hpp"

#include <algorithm>
#include <cstdlib>
#include <fmt/format.h>

namespace snagmap {
namespace {

struct Cell {
  std::string text;
  int column = 1; ///< where it begins, 1-based
};

std::string trimmed(const std::string& text) {
  const std::size_t first = text.find_first_not_of(" \t\r"), last = text.find_last_not_of(" \t\r");
  return first == std::string::npos ? "" : text.substr(first, last - first + 1);
}

/// The cells of a line; false when a quote stays open.
bool split(const std::string& line, std::vector<Cell>& cells) {
  cells = {{"", 1}};
  bool quoted = false;
  for (std::size_t i = 0; i < line.size(); ++i) {
    Cell& cell = cells.back();
    if (quoted && line[i] == '"' && i + 1 < line.size() && line[i + 1] == '"')
      cell.text += line[i++];
    else if (line[i] == '"')
      quoted = !quoted;
    else if (line[i] == ',' && !quoted)
      cells.push_back({"", static_cast<int>(i) + 2});
    else
      cell.text += line[i];
  }
  for (Cell& cell : cells)
    cell.text = trimmed(cell.text);
  return !quoted;
}

struct Column {
  std::string name, unit;
};

Column column_of(const std::string& head) {
  const std::size_t open = head.find('(');
  if (open == std::string::npos || head.back() != ')')
    return {head, ""};
  return {trimmed(head.substr(0, open)), trimmed(head.substr(open + 1, head.size() - open - 2))};
}

SceneValue value_of(const Cell& cell, const Column& column, int line) {
  SceneValue value;
  value.key = column.name;
  value.key_line = value.line = line;
  value.key_column = value.column = cell.column;
  char* end = nullptr;
  const double number = std::strtod(cell.text.c_str(), &end); // only to tell numbers from words
  value.kind = SceneValue::Kind::text;
  value.text = cell.text;
  const bool is_number =
      end && *end == '\0' && cell.text.find_first_not_of("+-.0123456789eE") == std::string::npos;
  if (!is_number)
    return value;
  if (!column.unit.empty()) {
    value.text += " " + column.unit;
    return value;
  }
  value.kind = cell.text.find_first_of(".eE") == std::string::npos ? SceneValue::Kind::integer
                                                                   : SceneValue::Kind::real;
  value.number = number;
  return value;
}

} // namespace

Outcome<SceneValue> parse_csv_rows(const std::string& text, const std::string& name, const std::string& key) {
  SceneValue rows;
  rows.kind = SceneValue::Kind::list;
  rows.key = key, rows.line = rows.column = rows.key_line = rows.key_column = 1;
  std::vector<Fault> faults;
  std::vector<Column> columns;
  std::vector<Cell> cells;
  int line = 0;
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = std::min(text.find('\n', begin), text.size());
    const std::string words = text.substr(begin, end - begin);
    begin = end + 1, ++line;
    if (trimmed(words).empty() || trimmed(words)[0] == '#')
      continue;
    if (!split(words, cells)) {
      faults.push_back(
          {name, line, 1, "a quote stays open on this line", "close it", scene_line(text, line)});
      continue;
    }
    if (columns.empty()) {
      for (const Cell& cell : cells) {
        const Column column = column_of(cell.text);
        if (std::any_of(columns.begin(), columns.end(),
                        [&](const Column& c) { return c.name == column.name; }))
          faults.push_back({name, line, cell.column, fmt::format("column \"{}\" stands twice", column.name),
                            "", scene_line(text, line)});
        columns.push_back(column);
      }
      continue;
    }
    if (cells.size() != columns.size()) {
      faults.push_back({name, line, 1, fmt::format("{} cells under {} columns", cells.size(), columns.size()),
                        "cells are parted by commas; a decimal is written with a point",
                        scene_line(text, line)});
      continue;
    }
    SceneValue row;
    row.kind = SceneValue::Kind::table;
    row.line = line, row.column = 1;
    for (std::size_t i = 0; i < cells.size(); ++i)
      if (!cells[i].text.empty())
        row.items.push_back(value_of(cells[i], columns[i], line));
    rows.items.push_back(std::move(row));
  }
  if (faults.empty() && rows.items.empty())
    faults.push_back({name, 0, 0, "holds no rows", "a header line, then one line for each wall", ""});
  if (!faults.empty())
    return faults;
  SceneValue top;
  top.kind = SceneValue::Kind::table;
  top.items.push_back(std::move(rows));
  return top;
}

std::string csv_cell(const std::string& text) {
  if (text.find_first_of(",\"\n") == std::string::npos)
    return text;
  std::string out = "\"";
  for (const char c : text)
    out += c == '"' ? std::string("\"\"") : std::string(1, c == '\n' ? ' ' : c);
  return out + '"';
}

} // namespace snagmap
