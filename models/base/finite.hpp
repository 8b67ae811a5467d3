// Refusing what is no number before it can spread or send a loop round for ever.
#pragma once

#include <cmath>
#include <stdexcept>
#include <string>

namespace snagmap {

/// Stops the work when a value is infinite or no number. Such a value is a mistake of this program, never of
/// its user, whose input is checked where it is read: so it is thrown (std::invalid_argument), and the
/// command line ends with 1.
template <class... Values> void require_finite(const char* what, Values... values) {
  if (!(std::isfinite(values) && ...))
    throw std::invalid_argument(std::string(what) + " must be finite");
}

} // namespace snagmap
