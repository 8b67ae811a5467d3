// From the characters of one line to its Block: words, numbers, expressions, parameters, comments.
#pragma once

#include "sim/language/block.hpp"

namespace snagmap {

/// Reads one line [begin, end) into `block`. `*end` must be readable and must be '\n', '\r' or 0 (it stops
/// the number reader). Parameter settings take effect after the whole line. Throws Refusal at the first
/// fault; what was read before it stays in the block. No allocation on lines without fault.
void scan_line(const char* begin, const char* end, bool block_delete, Parameters& parameters, Block& block);

GroupG group_of_g(int code);
GroupM group_of_m(int code);
/// Why a code known by name is refused, and what to write instead.
struct NamedRefusal {
  int code;
  const char *what, *way_out;
};
const NamedRefusal* refusal_of_g(int code);
const NamedRefusal* refusal_of_m(int code);

} // namespace snagmap
