// What kept a spot from being solved, for the messages of tests.
#pragma once

#include "sim/judge/found.hpp"

namespace snagmap {

/// Its kind; empty when it was solved.
inline const char* why_not(const SolidCheck& check) {
  return check.why_not ? kind_text(*check.why_not) : "";
}

} // namespace snagmap
