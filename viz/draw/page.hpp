// The frame every picture shares: title, finding, legend column, footer; and plots with axes.
#pragma once

#include "sim/preview/preview.hpp"
#include "viz/draw/drawing.hpp"
#include "viz/pictures/pictures.hpp"
#include "viz/words/shown.hpp"

#include <string>
#include <vector>

namespace snagmap {

/// Sizes follow the picture's: `u` is 1 at 1600 x 1000, so text stays readable at any size and shape.
struct Page {
  Drawing drawing;
  double u = 1;
  Vec2 low, high;      ///< room for the picture itself
  double column_x = 0; ///< left edge of the legend column
  double column_y = 0; ///< where the next legend entry starts
  double column_width = 0;

  void heading(const std::string& words);
  void note(const std::string& words, Colour colour = kInk, bool bold = false);
  void gap(double px = 14) { column_y += px * u; }
  void swatch(Colour colour, const std::string& words);
  /// Vertical bar of the map from `low_value` to `high_value`, with ticks. With `alarm` the part over it is
  /// alarming.
  void colour_bar(const std::string& title, double low_value, double high_value, Colour (*map)(double share),
                  const std::string& alarm = "");
};

Page make_page(const PictureOptions& options, const std::string& title, const std::string& finding,
               const std::string& description);

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

/// Snag number and band that decide: of the finite elements where they are verified, else of the formula.
struct SnagBand {
  double s = 0, low = 0, high = 0;
  bool solid = false; ///< by finite elements
  std::string text() const { return band_text(s, low, high); }
  std::string words() const; ///< "band 0.59 to 1.11"
};
SnagBand band_of(const Spot& spot);

/// "S 1.56 (1.10 to 2.15), tears" of the worst spot, or that nothing was found.
std::string finding_of(const Preview& preview);
/// Whether two spots, of one preview or of two set-ups of one sheet, concern the same stretch of wall.
bool same_place(const Spot& a, const Spot& b);
/// Ranks of the worst spots, each at a place of its own: passes over one web repeat the same news. Under S =
/// 0.5 only the worst three.
std::vector<std::size_t> worst_places(const Preview& preview, std::size_t most);
/// Why a spot is what it is, and the change that was tried on it: its first reason, and the one that names
/// another S.
std::string reason_of(const Spot& spot, const Shown& shown);

} // namespace snagmap
