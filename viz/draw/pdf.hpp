// A drawing as a page of PDF 1.5, for papers: vectors and embedded type, by cairo.
#pragma once

#include "models/base/fault.hpp"
#include "viz/draw/drawing.hpp"

#include <cstdint>
#include <vector>

namespace snagmap {

/// The whole file; the same bytes in each run. Fault when cairo cannot make it.
Outcome<std::vector<std::uint8_t>> to_pdf(const Drawing& drawing);

} // namespace snagmap
