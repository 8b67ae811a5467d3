// The same view of several cases, side by side.
#pragma once

#include "sim/study/compare.hpp"
#include "viz/draw/drawing.hpp"
#include "viz/pictures/pictures.hpp"

namespace snagmap {

constexpr std::size_t kMostPictured = 6;

/// Each sheet from the same eye at the same scale, webs painted by snag number, with its case's numbers. At
/// most kMostPictured cases are drawn. Needs ensure_off_screen() to have succeeded.
Drawing side_by_side_picture(const Comparison& comparison, const std::vector<const Preview*>& previews,
                             const PictureOptions& options);

} // namespace snagmap
