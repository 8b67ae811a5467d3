#include "models/fault.hpp"

#include <fmt/format.h>

namespace snagmap {

std::string to_text(const Fault& fault) {
  std::string text;
  if (!fault.file.empty()) {
    text += fault.file + ":";
    if (fault.line > 0) {
      text += fmt::format("{}:", fault.line);
      if (fault.column > 0)
        text += fmt::format("{}:", fault.column);
    }
    text += " ";
  }
  text += fault.what;
  if (!fault.excerpt.empty()) {
    text += "\n  " + fault.excerpt;
    if (fault.column > 0)
      text += "\n  " + std::string(static_cast<std::size_t>(fault.column - 1), ' ') + "^";
  }
  if (!fault.way_out.empty())
    text += "\n  " + fault.way_out;
  return text;
}

} // namespace snagmap
