#include "models/base/plain_text.hpp"

#include <algorithm>
#include <fmt/format.h>

namespace snagmap {
namespace {

bool acts(char32_t code) {
  return code < 0x20 || (code >= 0x7f && code < 0xa0) || // C0, DEL, C1
         code == 0x2028 || code == 0x2029 ||             // line and paragraph separator
         code == 0x200e || code == 0x200f || code == 0x61c || (code >= 0x202a && code <= 0x202e) ||
         (code >= 0x2066 && code <= 0x2069) || // direction of writing
         code == 0xfeff;                       // byte order mark
}

std::string escape(char32_t code) {
  switch (code) {
  case '\n':
    return "\\n";
  case '\r':
    return "\\r";
  default:
    return code < 0x80 ? fmt::format("\\x{:02x}", static_cast<unsigned>(code))
                       : fmt::format("\\u{:04x}", static_cast<unsigned>(code));
  }
}

std::string plain(std::string_view text, bool lines) {
  std::string out;
  out.reserve(text.size());
  while (!text.empty()) {
    const Utf8Character next = first_character(text);
    if (next.bytes == 0) {
      out += fmt::format("\\x{:02x}", static_cast<unsigned>(static_cast<unsigned char>(text.front())));
      text.remove_prefix(1);
      continue;
    }
    if (next.code == '\t')
      out += lines ? '\t' : ' ';
    else if (acts(next.code) && !(lines && next.code == '\n'))
      out += escape(next.code);
    else
      out += text.substr(0, next.bytes);
    text.remove_prefix(next.bytes);
  }
  return out;
}

} // namespace

Utf8Character first_character(std::string_view text) {
  if (text.empty())
    return {};
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned first = byte(0);
  if (first < 0x80)
    return {1, first};
  const std::size_t bytes = first >= 0xf0 && first <= 0xf4 ? 4 : first >= 0xe0 ? 3 : first >= 0xc2 ? 2 : 0;
  if (bytes == 0 || first > 0xf4 || text.size() < bytes)
    return {};
  char32_t code = first & (0x7fu >> bytes);
  for (std::size_t i = 1; i < bytes; ++i) {
    if ((byte(i) & 0xc0u) != 0x80u)
      return {};
    code = code << 6 | (byte(i) & 0x3fu);
  }
  const char32_t least = bytes == 2 ? 0x80 : bytes == 3 ? 0x800 : 0x10000;
  if (code < least || code > 0x10ffff || (code >= 0xd800 && code <= 0xdfff)) // overlong, surrogates
    return {};
  return {bytes, code};
}

std::string plain_text(std::string_view text) {
  return plain(text, false);
}

std::string plain_lines(std::string_view text) {
  return plain(text, true);
}

std::size_t text_width(std::string_view plain) {
  return static_cast<std::size_t>(std::count_if(
      plain.begin(), plain.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xc0) != 0x80; }));
}

} // namespace snagmap
