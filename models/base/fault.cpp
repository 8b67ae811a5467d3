#include "models/base/fault.hpp"

#include "models/base/plain_text.hpp"

#include <algorithm>
#include <fmt/format.h>
#include <stdexcept>
#include <string_view>

namespace snagmap {
namespace {

/// Columns count characters of the excerpt as it was read; an escape shown in its stead takes more places.
std::size_t places_before(std::string_view excerpt, int column) {
  std::size_t places = 0;
  for (int at = 1; at < column; ++at) {
    const std::size_t bytes = std::max<std::size_t>(first_character(excerpt).bytes, 1);
    places += excerpt.empty() ? 1 : text_width(plain_text(excerpt.substr(0, bytes)));
    excerpt.remove_prefix(std::min(bytes, excerpt.size()));
  }
  return places;
}

} // namespace

std::string to_text(const Fault& fault) {
  std::string text;
  if (!fault.file.empty()) {
    text += plain_text(fault.file) + ":";
    if (fault.line > 0) {
      text += fmt::format("{}:", fault.line);
      if (fault.column > 0)
        text += fmt::format("{}:", fault.column);
    }
    text += " ";
  }
  text += plain_text(fault.what);
  if (!fault.excerpt.empty()) {
    text += "\n  " + plain_text(fault.excerpt);
    if (fault.column > 0)
      text += "\n  " + std::string(places_before(fault.excerpt, fault.column), ' ') + "^";
  }
  if (!fault.way_out.empty())
    text += "\n  " + plain_text(fault.way_out);
  return text;
}

void no_value(const std::vector<Fault>& faults) {
  throw std::logic_error("a value was taken where there is none: " +
                         (faults.empty() ? std::string("it was moved away") : to_text(faults.front())));
}

} // namespace snagmap
