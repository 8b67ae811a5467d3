// A flat drawing as a value: lines, shapes, text and images in pixels. One description, two outputs:
// SVG text (drawing.cpp) and pixels (raster.cpp), so a plot's PNG and SVG cannot tell different stories.
#pragma once

#include "models/base/vec.hpp"
#include "viz/draw/colours.hpp"

#include <cstdint>
#include <string>
#include <variant>
#include <vector>

namespace snagmap {

enum class Anchor { start, middle, end };

struct Line {
  std::vector<Vec2> points;
  Colour colour = kInk;
  double width = 1;
  bool dashed = false;
};
/// Convex and filled.
struct Area {
  std::vector<Vec2> points;
  Colour fill = kFoam;
};
/// Filled between two lines with the same number of points.
struct Band {
  std::vector<Vec2> low, high;
  Colour fill = kFoam;
};
struct Text {
  Vec2 at; ///< on the baseline
  std::string words;
  double size = 16;
  Colour colour = kInk;
  Anchor anchor = Anchor::start;
  bool bold = false;
  bool upright = false; ///< read from below, turned a quarter turn anticlockwise
};
/// RGB pixels, rows from the top, drawn into the rectangle.
struct Image {
  Vec2 corner;
  double width = 0, height = 0;
  int columns = 0, rows = 0;
  std::vector<std::uint8_t> rgb;
};
using Shape = std::variant<Line, Area, Band, Text, Image>;

/// Pixels, x to the right, y down.
struct Drawing {
  int width = 1600, height = 1000;
  double width_mm = 0; ///< on paper; 0: as wide as its pixels make it
  Colour background{255, 255, 255};
  std::string title, description; ///< alternative text
  std::vector<Shape> shapes;

  void line(std::vector<Vec2> points, Colour colour = kInk, double line_width = 1.5, bool dashed = false);
  void rectangle(Vec2 low, Vec2 high, Colour fill);
  void frame(Vec2 low, Vec2 high, Colour colour = kInk, double line_width = 1.5);
  void disc(Vec2 centre, double radius, Colour fill);
  void text(Vec2 at, std::string words, double size = 18, Anchor anchor = Anchor::start, Colour colour = kInk,
            bool bold = false, bool upright = false);
};

/// Width of a text in pixels, from the metrics of the Helvetica family (within a few percent).
double text_width(const std::string& words, double size, bool bold = false);
/// The text cut with "..." to a width.
std::string fitted(const std::string& words, double size, double width, bool bold = false);
/// The text broken at spaces into lines of at most a width.
std::vector<std::string> wrapped(const std::string& words, double size, double width);

/// Stand-alone SVG 1.1 with title and description.
std::string to_svg(const Drawing& drawing);
/// Base 64 of bytes (RFC 4648).
std::string base64(const std::vector<std::uint8_t>& bytes);
/// Text safe inside XML and HTML.
std::string escaped(const std::string& text);

} // namespace snagmap
