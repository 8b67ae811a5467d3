// Text in lines of so many columns. Words are never broken: one longer than a line stands alone in it.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

namespace snagmap {

/// Lines without their ends; those after the first begin with `indent`. Empty text gives no line.
std::vector<std::string> wrapped(const std::string& text, std::size_t columns,
                                 const std::string& indent = "");

/// A column of a table: `right` for numbers; the one with `fills` takes what the others leave and wraps.
struct TableColumn {
  std::string head;
  bool right = false, fills = false;
};
/// Rows in lines of at most so many columns, cells two apart, headed; a filling cell takes further lines.
std::vector<std::vector<std::string>> fitted(const std::vector<TableColumn>& columns,
                                             const std::vector<std::vector<std::string>>& rows,
                                             std::size_t width);

} // namespace snagmap
