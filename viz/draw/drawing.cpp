#include "viz/draw/drawing.hpp"

#include "models/base/plain_text.hpp"
#include "viz/draw/raster.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>

namespace snagmap {

void Drawing::line(std::vector<Vec2> points, Colour colour, double line_width, bool dashed) {
  shapes.emplace_back(std::in_place_type<Line>, Line{std::move(points), colour, line_width, dashed});
}
void Drawing::rectangle(Vec2 low, Vec2 high, Colour fill) {
  shapes.emplace_back(std::in_place_type<Area>, Area{{low, {high.x, low.y}, high, {low.x, high.y}}, fill});
}
void Drawing::frame(Vec2 low, Vec2 high, Colour colour, double line_width) {
  line({low, {high.x, low.y}, high, {low.x, high.y}, low}, colour, line_width);
}
void Drawing::disc(Vec2 centre, double radius, Colour fill) {
  std::vector<Vec2> points;
  for (int i = 0; i < 24; ++i) {
    const double angle = i * 2 * M_PI / 24;
    points.push_back(centre + radius * Vec2{std::cos(angle), std::sin(angle)});
  }
  shapes.emplace_back(std::in_place_type<Area>, Area{std::move(points), fill});
}
void Drawing::text(Vec2 at, std::string words, double size, Anchor anchor, Colour colour, bool bold,
                   bool upright) {
  shapes.emplace_back(std::in_place_type<Text>,
                      Text{at, plain_text(words), size, colour, anchor, bold, upright});
}

double text_width(const std::string& words, double size, bool bold) {
  // Helvetica advance widths in thousandths of the size, ASCII 32 to 126 (Adobe's published metrics).
  static constexpr std::array<int, 95> kWidth = {
      278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333,  278, 278, 556, 556, 556,
      556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667,
      611, 778, 722, 278, 500, 667, 556, 833, 722, 778, 667, 778, 722, 667,  611, 722, 667, 944, 667,
      667, 611, 278, 278, 278, 469, 556, 333, 556, 556, 500, 556, 556, 278,  556, 556, 222, 222, 500,
      222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500,  500, 334, 260, 334, 584};
  double sum = 0;
  for (const unsigned char c : words) {
    if (c >= 32 && c < 127)
      sum += kWidth[c - 32u];
    else if (c >= 0xc0)
      sum += 556; // first byte of a longer character
  }
  return sum * size / 1000 * (bold ? 1.15 : 1.09); // the font drawn runs a little wider
}

std::string fitted(const std::string& words, double size, double width, bool bold) {
  if (text_width(words, size, bold) <= width)
    return words;
  std::string cut = words;
  while (!cut.empty() && text_width(cut + "...", size, bold) > width) {
    do
      cut.pop_back();
    while (!cut.empty() && (static_cast<unsigned char>(cut.back()) & 0xc0u) == 0xc0u);
  }
  return cut + "...";
}

std::vector<std::string> wrapped(const std::string& words, double size, double width) {
  std::vector<std::string> lines;
  std::string line;
  std::size_t at = 0;
  while (at < words.size()) {
    const std::size_t space = std::min(words.find(' ', at), words.size());
    const std::string word = words.substr(at, space - at);
    const std::string longer = line.empty() ? word : line + " " + word;
    if (!line.empty() && text_width(longer, size) > width) {
      lines.push_back(line);
      line = word;
    } else {
      line = longer;
    }
    at = space + 1;
  }
  if (!line.empty())
    lines.push_back(line);
  return lines;
}

std::string escaped(const std::string& text) {
  std::string out;
  for (const char c : plain_lines(text)) {
    if (c == '&')
      out += "&amp;";
    else if (c == '<')
      out += "&lt;";
    else if (c == '>')
      out += "&gt;";
    else if (c == '"')
      out += "&quot;";
    else
      out += c;
  }
  return out;
}

std::string base64(const std::vector<std::uint8_t>& bytes) {
  static constexpr char kLetters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string out;
  out.reserve((bytes.size() + 2) / 3 * 4);
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    const std::size_t n = std::min<std::size_t>(3, bytes.size() - i);
    std::uint32_t word = 0;
    for (std::size_t k = 0; k < 3; ++k)
      word = word << 8 | (k < n ? bytes[i + k] : 0u);
    for (std::size_t k = 0; k < 4; ++k)
      out += k <= n ? kLetters[word >> (18 - 6 * k) & 63u] : '=';
  }
  return out;
}

namespace {

std::string paint(const char* attribute, Colour colour) {
  std::string text = fmt::format("{}=\"{}\"", attribute, to_hex(colour));
  if (colour.a != 255)
    text += fmt::format(" {}-opacity=\"{:.3f}\"", attribute, colour.a / 255.0);
  return text;
}

std::string list(const std::vector<Vec2>& points) {
  std::string text;
  for (const Vec2 p : points)
    text += fmt::format("{:.1f},{:.1f} ", p.x, p.y);
  return text;
}

struct SvgWriter {
  std::string& out;
  void operator()(const Line& line) const {
    out += fmt::format("<polyline points=\"{}\" fill=\"none\" {} stroke-width=\"{:.1f}\"{}/>\n",
                       list(line.points), paint("stroke", line.colour), line.width,
                       line.dashed ? " stroke-dasharray=\"8 6\"" : "");
  }
  void operator()(const Area& area) const {
    out += fmt::format("<polygon points=\"{}\" {}/>\n", list(area.points), paint("fill", area.fill));
  }
  void operator()(const Band& band) const {
    std::vector<Vec2> round = band.low;
    round.insert(round.end(), band.high.rbegin(), band.high.rend());
    out += fmt::format("<polygon points=\"{}\" {}/>\n", list(round), paint("fill", band.fill));
  }
  void operator()(const Text& text) const {
    static constexpr const char* kAnchors[] = {"start", "middle", "end"};
    const std::string turn =
        text.upright ? fmt::format(" transform=\"rotate(-90 {:.1f} {:.1f})\"", text.at.x, text.at.y) : "";
    out += fmt::format(
        "<text x=\"{:.1f}\" y=\"{:.1f}\" font-size=\"{:.1f}\" text-anchor=\"{}\"{} {}{}>{}</text>\n",
        text.at.x, text.at.y, text.size, kAnchors[static_cast<int>(text.anchor)],
        text.bold ? " font-weight=\"bold\"" : "", paint("fill", text.colour), turn, escaped(text.words));
  }
  void operator()(const Image& image) const {
    out += fmt::format("<image x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\" "
                       "preserveAspectRatio=\"none\" href=\"data:image/png;base64,{}\"/>\n",
                       image.corner.x, image.corner.y, image.width, image.height,
                       base64(png_of({image.columns, image.rows, image.rgb})));
  }
};

} // namespace

std::string to_svg(const Drawing& drawing) {
  const std::string size = drawing.width_mm > 0
                               ? fmt::format("width=\"{:g}mm\" height=\"{:.3f}mm\"", drawing.width_mm,
                                             drawing.width_mm * drawing.height / drawing.width)
                               : fmt::format("width=\"{}\" height=\"{}\"", drawing.width, drawing.height);
  std::string out = fmt::format(
      "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" "
      "viewBox=\"0 0 {0} {1}\" {5} font-family=\"Helvetica, Arial, sans-serif\" "
      "role=\"img\">\n<title>{2}</title>\n<desc>{3}</desc>\n<rect width=\"{0}\" height=\"{1}\" {4}/>\n",
      drawing.width, drawing.height, escaped(drawing.title), escaped(drawing.description),
      paint("fill", drawing.background), size);
  for (const Shape& shape : drawing.shapes)
    std::visit(SvgWriter{out}, shape);
  return out + "</svg>\n";
}

} // namespace snagmap
