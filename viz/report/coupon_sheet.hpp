// The test piece for people: a drawing with a number on every wall, and one sheet to print and fill in.
#pragma once

#include "sim/trust/coupon.hpp"
#include "viz/draw/drawing.hpp"

#include <string>
#include <utility>
#include <vector>

namespace snagmap {

Drawing coupon_drawing(const Coupon& coupon);
/// One HTML file with the drawing in it: how to cut, what to measure, where to write it. No script.
std::string coupon_sheet_html(const Coupon& coupon);

/// Tests that need no router: file name and content of each one-page sheet, and readings.toml to fill in.
std::vector<std::pair<std::string, std::string>> bench_sheets();

} // namespace snagmap
