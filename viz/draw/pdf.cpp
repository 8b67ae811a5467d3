#include "viz/draw/pdf.hpp"

#include <cairo-pdf.h>

#include <memory>
#include <variant>

namespace snagmap {
namespace {

constexpr double kPoint_mm = 25.4 / 72; // the unit of PDF (ISO 32000-1, 8.3.2.3)
constexpr double kPixel_mm = 25.4 / 96; // of CSS, where the drawing names no width on paper

using Surface = std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)>;
using Context = std::unique_ptr<cairo_t, decltype(&cairo_destroy)>;

cairo_status_t keep(void* bytes, const unsigned char* data, unsigned int count) {
  auto* all = static_cast<std::vector<std::uint8_t>*>(bytes);
  all->insert(all->end(), data, data + count);
  return CAIRO_STATUS_SUCCESS;
}

void paint_with(cairo_t* c, Colour colour) {
  cairo_set_source_rgba(c, colour.r / 255.0, colour.g / 255.0, colour.b / 255.0, colour.a / 255.0);
}

void follow(cairo_t* c, const std::vector<Vec2>& points) {
  for (const Vec2 p : points)
    cairo_line_to(c, p.x, p.y);
}

struct PdfWriter {
  cairo_t* c;

  void operator()(const Line& line) const {
    const double dashes[] = {8, 6};
    cairo_set_dash(c, dashes, line.dashed ? 2 : 0, 0);
    cairo_set_line_width(c, line.width);
    paint_with(c, line.colour);
    follow(c, line.points);
    cairo_stroke(c);
  }
  void operator()(const Area& area) const {
    paint_with(c, area.fill);
    follow(c, area.points);
    cairo_fill(c);
  }
  void operator()(const Band& band) const {
    paint_with(c, band.fill);
    follow(c, band.low);
    follow(c, {band.high.rbegin(), band.high.rend()});
    cairo_fill(c);
  }
  void operator()(const Text& text) const {
    paint_with(c, text.colour);
    cairo_select_font_face(c, "Helvetica", CAIRO_FONT_SLANT_NORMAL,
                           text.bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(c, text.size);
    cairo_text_extents_t extents;
    cairo_text_extents(c, text.words.c_str(), &extents);
    const double back = text.anchor == Anchor::start    ? 0
                        : text.anchor == Anchor::middle ? 0.5 * extents.x_advance
                                                        : extents.x_advance;
    cairo_save(c);
    cairo_translate(c, text.at.x, text.at.y);
    if (text.upright)
      cairo_rotate(c, -0.5 * 3.14159265358979323846);
    cairo_move_to(c, -back, 0);
    cairo_show_text(c, text.words.c_str());
    cairo_restore(c);
  }
  void operator()(const Image& image) const {
    const int stride = cairo_format_stride_for_width(CAIRO_FORMAT_RGB24, image.columns);
    std::vector<std::uint8_t> pixels(static_cast<std::size_t>(stride) * static_cast<std::size_t>(image.rows));
    for (int y = 0; y < image.rows; ++y)
      for (int x = 0; x < image.columns; ++x) {
        const std::uint8_t* from = &image.rgb[3 * (static_cast<std::size_t>(y) * image.columns + x)];
        const std::uint32_t word = std::uint32_t(from[0]) << 16 | std::uint32_t(from[1]) << 8 | from[2];
        reinterpret_cast<std::uint32_t*>(&pixels[static_cast<std::size_t>(y) * stride])[x] = word;
      }
    const Surface picture(cairo_image_surface_create_for_data(pixels.data(), CAIRO_FORMAT_RGB24,
                                                              image.columns, image.rows, stride),
                          cairo_surface_destroy);
    cairo_save(c);
    cairo_translate(c, image.corner.x, image.corner.y);
    cairo_scale(c, image.width / image.columns, image.height / image.rows);
    cairo_set_source_surface(c, picture.get(), 0, 0);
    cairo_paint(c);
    cairo_restore(c);
    cairo_surface_flush(picture.get());
  }
};

} // namespace

Outcome<std::vector<std::uint8_t>> to_pdf(const Drawing& drawing) {
  const double wide_mm = drawing.width_mm > 0 ? drawing.width_mm : drawing.width * kPixel_mm;
  const double points = wide_mm / kPoint_mm, scale = points / drawing.width;
  std::vector<std::uint8_t> bytes;
  Surface surface(cairo_pdf_surface_create_for_stream(keep, &bytes, points, scale * drawing.height),
                  cairo_surface_destroy);
  // A fixed date: two runs give the same bytes.
  cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_CREATE_DATE, "2000-01-01T00:00:00Z");
  cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_TITLE, drawing.title.c_str());
  cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_SUBJECT, drawing.description.c_str());
  {
    const Context c(cairo_create(surface.get()), cairo_destroy);
    cairo_scale(c.get(), scale, scale);
    cairo_set_line_join(c.get(), CAIRO_LINE_JOIN_ROUND);
    paint_with(c.get(), drawing.background);
    cairo_paint(c.get());
    for (const Shape& shape : drawing.shapes)
      std::visit(PdfWriter{c.get()}, shape);
  }
  cairo_surface_finish(surface.get());
  if (const cairo_status_t status = cairo_surface_status(surface.get()); status != CAIRO_STATUS_SUCCESS)
    return Fault(std::string("the PDF was not made: ") + cairo_status_to_string(status),
                 "the SVG of the same name holds the same chart");
  return bytes;
}

} // namespace snagmap
