#include "sim/text/csv.hpp"

#include "models/base/plain_text.hpp"

#include <algorithm>
#include <array>
#include <cstdlib>
#include <fmt/format.h>
#include <optional>
#include <string_view>

namespace snagmap {
namespace {

constexpr std::string_view kMark = "\xef\xbb\xbf"; // UTF-8 byte order mark

struct Cell {
  std::string text;
  int line = 0, column = 0; ///< where it begins, 1-based, in characters
  bool quoted = false;
};

std::string trimmed(std::string_view text) {
  const std::size_t first = text.find_first_not_of(" \t"), last = text.find_last_not_of(" \t");
  return first == std::string_view::npos ? "" : std::string(text.substr(first, last - first + 1));
}

/// "12", "-0.5", "1e-3": what a spreadsheet takes for a number whatever it begins with.
bool is_number(const std::string& text) {
  if (text.empty() || text.find_first_not_of("+-.0123456789eE") != std::string::npos)
    return false;
  char* end = nullptr;
  std::strtod(text.c_str(), &end);
  return *end == '\0';
}

/// Whether a spreadsheet would take the text for a formula, apostrophes in front of it passed over.
bool is_formula(std::string_view text) {
  text.remove_prefix(std::min(text.find_first_not_of('\''), text.size()));
  text.remove_prefix(std::min(text.find_first_not_of(' '), text.size())); // some drop blanks in front
  for (const std::string_view sign : {"=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20"})
    if (text.substr(0, sign.size()) == sign) // full-width signs too
      return true;
  return false;
}

/// Goes through the text record by record. A record may run over several lines inside quotes.
class Records {
public:
  Records(std::string_view text, char delimiter) : text_(text), delimiter_(delimiter) {}
  bool at_end() const { return at_ >= text_.size(); }
  int line() const { return line_; }
  void part_by(char delimiter) { delimiter_ = delimiter; }
  std::string_view rest_of_line() const { return text_.substr(at_, text_.find('\n', at_) - at_); }
  void skip_line() {
    at_ = std::min(text_.find('\n', at_), text_.size() - 1) + 1;
    ++line_;
  }

  /// The cells of the record that begins here. Nothing when a quote is not closed, or not before the end of
  /// its cell: the line is passed over then, and `quote` says where the quote stands.
  std::optional<std::vector<Cell>> next(int& quote) {
    const std::size_t begin = at_;
    const int first_line = line_;
    std::vector<Cell> cells;
    std::size_t line_begin = at_;
    const auto column = [&] {
      return static_cast<int>(text_width(text_.substr(line_begin, at_ - line_begin))) + 1;
    };
    for (bool more = true; more; ++at_) {
      while (at_ < text_.size() && (text_[at_] == ' ' || (text_[at_] == '\t' && delimiter_ != '\t')))
        ++at_;
      Cell cell{"", line_, column(), at_ < text_.size() && text_[at_] == '"'};
      if (cell.quoted) {
        for (++at_; at_ < text_.size() && (text_[at_] != '"' || text_.substr(at_, 2) == "\"\""); ++at_) {
          cell.text += text_[at_];
          if (text_[at_] == '"')
            ++at_;
          else if (text_[at_] == '\n')
            ++line_, line_begin = at_ + 1;
        }
        const std::size_t end = std::min(text_.find_first_not_of(" \t\n", at_ + 1), text_.size());
        const std::size_t stop = std::min({text_.find(delimiter_, at_ + 1), text_.find('\n', at_ + 1), end});
        if (at_ >= text_.size() || (stop == end && end < text_.size() && text_[end] != delimiter_)) {
          at_ = begin, line_ = first_line, quote = cell.column;
          skip_line();
          return {};
        }
        at_ = stop;
      } else {
        const std::size_t end = std::min({text_.find(delimiter_, at_), text_.find('\n', at_), text_.size()});
        cell.text = text_.substr(at_, end - at_), at_ = end;
      }
      cell.text = trimmed(cell.text);
      more = at_ < text_.size() && text_[at_] == delimiter_;
      cells.push_back(std::move(cell));
    }
    ++line_;
    return cells;
  }

private:
  std::string_view text_;
  char delimiter_;
  std::size_t at_ = 0;
  int line_ = 1;
};

/// Comma, semicolon or tab, whichever stands most in the header; RFC 4180's comma in doubt.
char delimiter_of(std::string_view header) {
  std::array<int, 3> count{};
  const std::string_view kinds = ",;\t";
  bool quoted = false;
  for (const char c : header) {
    quoted ^= c == '"';
    if (const std::size_t kind = kinds.find(c); !quoted && kind != std::string_view::npos)
      ++count[kind];
  }
  return kinds[static_cast<std::size_t>(std::max_element(count.begin(), count.end()) - count.begin())];
}

struct Column {
  std::string name, unit;
  int line = 0, column = 0;
};

Column column_of(const Cell& cell) {
  const std::string& head = cell.text;
  const std::size_t open = head.find('(');
  if (open == std::string::npos || head.back() != ')')
    return {head, "", cell.line, cell.column};
  return {trimmed(head.substr(0, open)), trimmed(head.substr(open + 1, head.size() - open - 2)), cell.line,
          cell.column};
}

/// A number whose decimals follow a comma, with a point instead; other text as it is. Where commas part the
/// cells, "1,234" may mean either, and is left for the reader of the value to refuse.
std::string with_point(const Cell& cell, char delimiter) {
  const std::size_t comma = cell.text.find(',');
  if (comma == std::string::npos || comma == 0)
    return cell.text;
  const std::size_t end = std::min(cell.text.find_first_not_of("0123456789", comma + 1), cell.text.size());
  const std::size_t decimals = end - comma - 1;
  std::string number = cell.text.substr(0, end);
  number[comma] = '.';
  const bool another = end < cell.text.size() && (cell.text[end] == ',' || cell.text[end] == '.');
  if (decimals == 0 || another || !is_number(number) || (delimiter == ',' && decimals == 3))
    return cell.text;
  return number + cell.text.substr(end);
}

SceneValue value_of(const Cell& cell, const Column& column, char delimiter) {
  SceneValue value;
  value.key = column.name;
  value.key_line = column.line, value.key_column = column.column;
  value.line = cell.line, value.column = cell.column;
  value.kind = SceneValue::Kind::text;
  value.text = cell.text;
  const std::string pointed = with_point(cell, delimiter);
  if (!column.unit.empty())
    value.text = is_number(pointed) ? pointed + " " + column.unit : pointed;
  if (!column.unit.empty() || !is_number(pointed))
    return value;
  value.kind =
      pointed.find_first_of(".eE") == std::string::npos ? SceneValue::Kind::integer : SceneValue::Kind::real;
  value.number = std::strtod(pointed.c_str(), nullptr);
  return value;
}

/// Without what spreadsheets add behind the last cell, and without `csv_cell`'s apostrophes.
void tidy(std::vector<Cell>& cells) {
  while (!cells.empty() && cells.back().text.empty())
    cells.pop_back();
  for (Cell& cell : cells)
    if (cell.text[0] == '\'' && is_formula(cell.text))
      cell.text = trimmed(cell.text.substr(1));
}

std::vector<Column> columns_of(const std::vector<Cell>& header, CsvTable& out, const std::string& text,
                               const std::string& name) {
  std::vector<Column> columns;
  for (const Cell& cell : header) {
    const Column column = column_of(cell);
    const bool twice =
        std::any_of(columns.begin(), columns.end(), [&](const Column& c) { return c.name == column.name; });
    if (twice && !column.name.empty())
      out.faults.push_back(Fault(fmt::format("column \"{}\" stands twice", column.name), "", name, cell.line,
                                 cell.column, scene_line(text, cell.line)));
    columns.push_back(column);
  }
  return columns;
}

void add_row(const std::vector<Cell>& cells, const std::vector<Column>& columns, char delimiter,
             CsvTable& out, const std::string& text, const std::string& name) {
  const int line = cells.front().line;
  if (cells.size() > columns.size()) {
    out.faults.push_back(Fault(fmt::format("{} cells under {} columns", cells.size(), columns.size()),
                               delimiter == ','
                                   ? "cells are parted by commas; a decimal is written with a point"
                                   : "a cell that holds the sign between cells stands in quotes",
                               name, line, 1, scene_line(text, line)));
    return;
  }
  SceneValue row;
  row.kind = SceneValue::Kind::table;
  row.line = line, row.column = 1;
  for (std::size_t i = 0; i < cells.size(); ++i) {
    if (cells[i].text.empty())
      continue;
    if (columns[i].name.empty()) {
      out.faults.push_back(Fault("a cell under a column without a name",
                                 "name the column in the header, or clear the cell", name, cells[i].line,
                                 cells[i].column, scene_line(text, cells[i].line)));
      return;
    }
    row.items.push_back(value_of(cells[i], columns[i], delimiter));
  }
  out.top.items.front().items.push_back(std::move(row));
}

} // namespace

std::string csv_text(const std::string& text) {
  std::string out;
  out.reserve(text.size());
  for (std::size_t i = text.compare(0, kMark.size(), kMark) == 0 ? kMark.size() : 0; i < text.size(); ++i) {
    if (text[i] != '\r')
      out += text[i];
    else if (i + 1 == text.size() || text[i + 1] != '\n')
      out += '\n';
  }
  return out;
}

CsvTable parse_csv_rows(const std::string& raw, const std::string& name, const std::string& key) {
  const std::string text = csv_text(raw);
  CsvTable out;
  out.top.kind = SceneValue::Kind::table;
  out.top.items.emplace_back();
  SceneValue& rows = out.top.items.front();
  rows.kind = SceneValue::Kind::list;
  rows.key = key, rows.line = rows.column = rows.key_line = rows.key_column = 1;
  if (text.find('\0') != std::string::npos) {
    out.faults.push_back(Fault("is not CSV in UTF-8: it holds NUL bytes",
                               "a spreadsheet's \"Unicode text\" is UTF-16: save it as CSV (UTF-8)", name));
    return out;
  }
  std::vector<Column> columns;
  char delimiter = '\0'; // not known before the header
  Records records(text, ',');
  while (!records.at_end()) {
    const std::string words = trimmed(records.rest_of_line());
    if (words.empty() || words[0] == '#') {
      records.skip_line();
      continue;
    }
    if (delimiter == '\0') {
      if (words.rfind("sep=", 0) == 0 && words.size() == 5) { // a spreadsheet's own hint, in front of all
        delimiter = words[4];
        records.skip_line();
        records.part_by(delimiter);
        continue;
      }
      records.part_by(delimiter_of(words));
      if (words.rfind("\"#", 0) != 0)
        delimiter = delimiter_of(words);
    }
    const int line = records.line();
    int quote = 0;
    std::optional<std::vector<Cell>> cells = records.next(quote);
    if (!cells) {
      out.faults.push_back(Fault("a quote stays open on this line",
                                 "close it; inside quotes a quote stands twice", name, line, quote,
                                 scene_line(text, line)));
      continue;
    }
    tidy(*cells);
    if (cells->empty() || cells->front().text[0] == '#')
      continue;
    if (!columns.empty()) {
      add_row(*cells, columns, delimiter, out, text, name);
      continue;
    }
    columns = columns_of(*cells, out, text, name);
    if (!out.faults.empty())
      return out; // rows under a header that is not understood would only repeat it
  }
  if (out.faults.empty() && rows.items.empty())
    out.faults.push_back(Fault("holds no rows", "a header line, then one line for each wall", name));
  return out;
}

std::string csv_cell(const std::string& text) {
  std::string cell = plain_text(text);
  if (is_formula(cell) && !is_number(cell))
    cell.insert(0, 1, '\'');
  if (cell.find_first_of(",;\"") == std::string::npos && trimmed(cell) == cell && cell.find('\'') != 0)
    return cell;
  std::string out = "\"";
  for (const char c : cell)
    out += c == '"' ? std::string("\"\"") : std::string(1, c);
  return out + '"';
}

std::string csv_row(const std::vector<std::string>& cells) {
  std::string row;
  for (const std::string& cell : cells)
    row += (&cell == &cells.front() ? "" : ",") + csv_cell(cell);
  return row + "\r\n";
}

} // namespace snagmap
