#include "viz/words/wrapped.hpp"

#include "models/base/plain_text.hpp"

#include <algorithm>
#include <sstream>

namespace snagmap {
namespace {

constexpr std::size_t kLeastFill = 12; // columns of a cell that wraps

} // namespace

std::vector<std::string> wrapped(const std::string& text, std::size_t columns, const std::string& indent) {
  std::vector<std::string> lines;
  std::istringstream words(text);
  std::string word, line;
  while (words >> word) {
    const bool begins = line.empty() || line == indent;
    if (!begins && text_width(line) + 1 + text_width(word) > columns) {
      lines.push_back(line);
      line = indent;
    }
    if (line.empty() || line == indent)
      line += word;
    else
      line += " " + word;
  }
  if (!line.empty() && line != indent)
    lines.push_back(line);
  return lines;
}

std::vector<std::vector<std::string>> fitted(const std::vector<TableColumn>& columns,
                                             const std::vector<std::vector<std::string>>& rows,
                                             std::size_t width) {
  std::vector<std::size_t> wide(columns.size());
  std::size_t others = 0, filling = columns.size();
  for (std::size_t c = 0; c < columns.size(); ++c) {
    wide[c] = text_width(columns[c].head);
    for (const auto& row : rows)
      wide[c] = std::max(wide[c], text_width(row[c]));
    if (columns[c].fills)
      filling = c;
    else
      others += wide[c];
  }
  const std::size_t gaps = 2 * (columns.size() - 1);
  if (filling < columns.size())
    wide[filling] = std::min(
        wide[filling], std::max(kLeastFill, width > others + gaps ? width - others - gaps : std::size_t(0)));
  std::vector<std::vector<std::string>> out;
  const auto add = [&](const std::vector<std::string>& cells) {
    std::vector<std::string> fill;
    if (filling < columns.size())
      fill = wrapped(cells[filling], wide[filling]);
    std::vector<std::string> lines;
    for (std::size_t n = 0; n == 0 || n < fill.size(); ++n) {
      std::string line;
      for (std::size_t c = 0; c < columns.size(); ++c) {
        const std::string cell = c == filling ? (n < fill.size() ? fill[n] : "") : n == 0 ? cells[c] : "";
        const std::size_t has = text_width(cell);
        const std::string pad(wide[c] > has ? wide[c] - has : 0, ' ');
        line += (c > 0 ? "  " : "") + (columns[c].right ? pad + cell : cell + pad);
      }
      line.erase(line.find_last_not_of(' ') + 1);
      lines.push_back(line);
    }
    out.push_back(std::move(lines));
  };
  std::vector<std::string> heads;
  for (const TableColumn& column : columns)
    heads.push_back(column.head);
  add(heads);
  for (const auto& row : rows) {
    std::vector<std::string> cells;
    for (const std::string& cell : row)
      cells.push_back(plain_text(cell));
    add(cells);
  }
  return out;
}

} // namespace snagmap
