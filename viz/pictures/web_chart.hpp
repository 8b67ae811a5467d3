// Several cases web by web: S of each with its band.
#pragma once

#include "sim/study/compare.hpp"
#include "viz/draw/drawing.hpp"
#include "viz/draw/picture_options.hpp"
#include "viz/words/shown.hpp"

namespace snagmap {

constexpr std::size_t kMostWebsDrawn = 24; ///< rows; the others stand in compare-webs.csv
constexpr std::size_t kMostCasesDrawn = 6; ///< marks

/// A row for each web that decides, worst first: a mark for each case over its band, S on a logarithmic axis,
/// the edge at 1 drawn. A plain chart is as high as its rows.
Drawing web_chart(const Comparison& comparison, const Shown& shown, const PictureOptions& options);

} // namespace snagmap
