// Text from outside (names, files, what a fault quotes) as it may go to a terminal, a table or a sheet.
#pragma once

#include <string>
#include <string_view>

namespace snagmap {

/// Nothing in it acts on what shows it: control codes (C0, DEL, C1), line and paragraph separators, the codes
/// that turn the direction of writing (Unicode TR36, "bidirectional text spoofing") and bytes that are not
/// UTF-8 (RFC 3629) stand there as \n, \x1b or \u202e; a tab becomes a space. Everything else stays as it is.
std::string plain_text(std::string_view text);
/// The same for text of several lines: line feeds and tabs stay.
std::string plain_lines(std::string_view text);
/// Places a terminal takes for plain text: its UTF-8 characters.
std::size_t text_width(std::string_view plain);

/// A character's bytes at the front of `text` and what it is; bytes 0 when it is not UTF-8.
struct Utf8Character {
  std::size_t bytes = 0;
  char32_t code = 0;
};
Utf8Character first_character(std::string_view text);

} // namespace snagmap
