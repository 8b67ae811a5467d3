// The frame every picture shares: title, finding, legend column, footer; and plots with axes.
#pragma once

#include "viz/draw/drawing.hpp"
#include "viz/draw/picture_options.hpp"
#include "viz/words/shown.hpp"

#include <cstddef>
#include <string>
#include <vector>

namespace snagmap {

constexpr double kPlainWide_mm = 85; ///< a column of a paper

/// Sizes follow the picture's: `u` is 1 at 1600 x 1000, so text stays readable at any size and shape.
struct Page {
  Drawing drawing;
  double u = 1;
  Vec2 low, high;      ///< room for the picture itself
  double column_x = 0; ///< left edge of the legend column
  double column_y = 0; ///< where the next legend entry starts
  double column_width = 0;
  bool plain = false; ///< headings and notes are left out, swatches stand over the chart

  void heading(const std::string& words);
  void note(const std::string& words, Colour colour = kInk, bool bold = false);
  void gap(double px = 14) { column_y += px * u; }
  void swatch(Colour colour, const std::string& words);
  /// Vertical bar of the map from `low_value` to `high_value`, with ticks. With `alarm` the part over it is
  /// alarming.
  void colour_bar(const std::string& title, double low_value, double high_value, Colour (*map)(double share),
                  const std::string& alarm = "", double tall_px = 220);
};

/// `legend_lines`: swatches that a plain page holds over its chart.
Page make_page(const PictureOptions& options, const std::string& title, const std::string& finding,
               const std::string& description, std::size_t legend_lines = 0);

/// Plot axes in a rectangle of the page.
struct Plot {
  Vec2 low, high; ///< pixels, y down
  double x0 = 0, x1 = 1, y0 = 0, y1 = 1;
  Vec2 operator()(double x, double y) const {
    return {low.x + (x - x0) / (x1 - x0) * (high.x - low.x),
            high.y - (y - y0) / (y1 - y0) * (high.y - low.y)};
  }
};
void draw_axes(Page& page, const Plot& plot, const std::string& x_words, const std::string& y_words,
               bool x_numbers = true);

/// Scale bar of a round length for a picture with this many pixels to the millimetre.
void draw_scale_bar(Page& page, Vec2 left, double px_per_mm, const Shown& shown);
/// Round number badges with leaders from the places they name, set where they hide neither each other nor a
/// place.
struct Badge {
  Vec2 place; ///< pixels
  std::string words;
  Colour colour;
};
void draw_badges(Page& page, const std::vector<Badge>& badges);
/// Dimension line between two pixels with its words beside it.
void draw_dimension(Page& page, Vec2 a, Vec2 b, const std::string& words, double side_px);

} // namespace snagmap
