// Values in a program line: numbers, parameters, bracketed expressions and functions.
#pragma once

#include "sim/language/block.hpp"

#include <string>

namespace snagmap {

/// A place in a line. `*end` stops every loop: it is '\n', '\r' or 0.
struct Cursor {
  const char *begin, *at, *end;
  Parameters& parameters;
  int column() const { return static_cast<int>(at - begin) + 1; }
  /// The next character that counts (blanks and tabs do not), 0 at the end of the line.
  char peek() {
    while (*at == ' ' || *at == '\t')
      ++at;
    return at < end ? *at : 0;
  }
};

/// The value after a letter (named in faults; '=' for a parameter setting). Decimal numbers are correctly
/// rounded up to 15 digits and within 1e-15 of their size beyond. Throws Refusal.
double read_value(Cursor& cursor, char letter);
/// The whole number of a parameter after '#', checked to be 1 to 5602. `column` is the '#'.
int read_parameter_index(Cursor& cursor, int column);
/// The name between '<' (which stands next) and '>', in lower case and without blanks. `column` is what the
/// fault points at.
std::string read_name(Cursor& cursor, int column);

} // namespace snagmap
