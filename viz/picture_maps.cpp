// The sheet from above: depths in grey, one quantity along the walls or the path in colour.
#include "viz/picture_set.hpp"
#include "viz/raster.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

/// The skin seen from straight above, flat grey by depth: true outlines, no voxel steps.
Image depth_image(PictureSource& source, Vec2 corner, Vec2 size) {
  const Box3& box = source.preview.scene.sheet;
  Drawing blank;
  blank.width = std::max(2, static_cast<int>(std::lround(size.x)));
  blank.height = std::max(2, static_cast<int>(std::lround(size.y)));
  Stage stage(blank.width, blank.height, {93, 95, 96});
  stage.set(fit({-90, 90}, box, {0, 0}, {static_cast<double>(blank.width), static_cast<double>(blank.height)}));
  const Mesh& skin = source.skin();
  std::vector<Colour> colours;
  colours.reserve(skin.triangles.size());
  const double tall = std::max(box.high.z - box.low.z, 1e-9);
  for (const Triangle& t : skin.triangles) {
    const double z = (skin.points[t[0]].z + skin.points[t[1]].z + skin.points[t[2]].z) / 3;
    const auto grey = static_cast<std::uint8_t>(150 + 90 * std::clamp((z - box.low.z) / tall, 0.0, 1.0));
    colours.push_back({static_cast<std::uint8_t>(0.97 * grey), static_cast<std::uint8_t>(0.985 * grey), grey});
  }
  stage.add_unlit(skin, colours);
  Pixels pixels = rasterised(blank, &stage);
  return {corner, size.x, size.y, pixels.columns, pixels.rows, std::move(pixels.rgb)};
}

Colour thin_is_bright(double share) { return cividis(1 - share); }

} // namespace

Picture map_picture(PictureSource& source, MapKind kind) {
  const Preview& preview = source.preview;
  const Shown& shown = source.shown;
  Picture out;
  static constexpr const char* kNames[] = {"map-snag", "map-thickness", "map-chip"};
  out.name = kNames[static_cast<int>(kind)];
  // What is coloured, where it lies, and the range of the colours.
  float most = 0, least = 1e9f;
  for (const PathSample& s : preview.samples) {
    const float v = kind == MapKind::chip ? s.chip_mm : s.w_mm;
    if (kind != MapKind::chip && s.web < 0) continue;
    if (kind == MapKind::chip && s.z_mm >= preview.scene.sheet.high.z) continue;
    most = std::max(most, v);
    least = std::min(least, v);
  }
  const double unit_mm = shown.inch ? 25.4 : 1;
  double top = 1;
  std::string title, finding;
  if (kind == MapKind::snag) {
    title = "Snag number from above";
    finding = finding_of(preview);
  } else if (kind == MapKind::thickness) {
    top = std::max(round_step(std::max(most, 1.0f) / unit_mm, 1) * unit_mm, unit_mm);
    top = std::min(top, std::ceil(most / unit_mm / 5) * 5 * unit_mm);
    title = "Thickness of the webs beside the cutter";
    finding = least < 1e8f ? fmt::format("Thinnest {}, thickest {} within the watch's reach.", shown.length(least), shown.length(most)) : "No web beside the cutter was found.";
  } else {
    top = std::max(1e-3, static_cast<double>(most));
    title = "Chip load along the path, at the feed the machine really reaches";
    finding = least < 1e8f ? fmt::format("From {:.4f} to {:.4f} {} a tooth; low where corners slow the machine down.", least / unit_mm, most / unit_mm, shown.unit()) : "No cut in foam.";
  }
  Page page = make_page(source.options, title, finding, title + ". " + finding);
  const double u = page.u;
  const Box3& box = preview.scene.sheet;
  const double wide = box.high.x - box.low.x, tall = box.high.y - box.low.y;
  Plot plot;
  const Vec2 low = page.low + Vec2{76 * u, 8 * u}, high = page.high - Vec2{10 * u, 104 * u};
  const double px = std::min((high.x - low.x) / wide, (high.y - low.y) / tall);
  const Vec2 size{px * wide, px * tall}, shift = 0.5 * (high - low - size);
  plot.low = low + shift;
  plot.high = plot.low + size;
  plot.x0 = box.low.x / unit_mm;
  plot.x1 = box.high.x / unit_mm;
  plot.y0 = box.low.y / unit_mm;
  plot.y1 = box.high.y / unit_mm;
  draw_axes(page, plot, fmt::format("X ({})", shown.unit()), fmt::format("Y ({})", shown.unit()));
  page.drawing.shapes.emplace_back(std::in_place_type<Image>, depth_image(source, plot.low, size));
  const auto pixel = [&](double x, double y) { return plot(x / unit_mm, y / unit_mm); };

  // Quiet samples first, so that the worst is never painted over.
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < preview.samples.size(); ++i) {
    const PathSample& s = preview.samples[i];
    if (kind == MapKind::chip ? s.z_mm < box.high.z : s.web >= 0 && s.s > 0) order.push_back(i);
  }
  const auto weight = [&](std::size_t i) {
    const PathSample& s = preview.samples[i];
    return kind == MapKind::snag ? s.s : kind == MapKind::thickness ? -s.w_mm : s.z_mm;
  };
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return weight(a) < weight(b); });
  for (const std::size_t i : order) {
    const PathSample& s = preview.samples[i];
    const bool follows = i + 1 < preview.samples.size() && preview.samples[i + 1].web == s.web;
    const PathSample& next = preview.samples[follows ? i + 1 : i];
    const bool on_path = kind == MapKind::chip;
    Vec2 a = on_path ? pixel(s.x_mm, s.y_mm) : pixel(s.wall_x_mm, s.wall_y_mm);
    Vec2 b = on_path ? pixel(next.x_mm, next.y_mm) : pixel(next.wall_x_mm, next.wall_y_mm);
    if (norm(b - a) > 6 * px) b = a;  // another wall, or a jump
    if (norm(b - a) < 2 * u) b = a + Vec2{2 * u, 0};
    const Colour colour = kind == MapKind::snag ? snag_colour(s.s) : kind == MapKind::thickness ? thin_is_bright(s.w_mm / top) : cividis(s.chip_mm / top);
    page.drawing.line({a, b}, colour, (on_path ? 3 : 6) * u);
  }
  if (kind == MapKind::snag) {
    page.colour_bar("Snag number S", 0, 1, cividis, "1 and more: snags or tears");
    std::vector<int> webs;
    std::vector<Vec2> taken;
    for (const Spot& spot : preview.spots) {
      if (webs.size() >= 6 || spot.s() < 0.5) break;
      if (std::find(webs.begin(), webs.end(), spot.web) != webs.end()) continue;
      webs.push_back(spot.web);
      const Vec2 at = pixel(spot.place_mm.x, spot.place_mm.y);
      Vec2 badge = at + Vec2{34 * u, -34 * u};
      while (std::any_of(taken.begin(), taken.end(), [&](Vec2 q) { return norm(q - badge) < 40 * u; })) badge = badge + Vec2{14 * u, -38 * u};
      taken.push_back(badge);
      draw_badge(page, at, badge, std::to_string(webs.size()), level_colour(spot.level()));
      page.note(fmt::format("{}  line {}: S {:.2f}, {} web", webs.size(), spot.program_line, spot.s(), shown.length(spot.question.web.w_mm)));
    }
  } else if (kind == MapKind::thickness) {
    page.colour_bar(fmt::format("Web thickness w ({})", shown.unit()), 0, top / unit_mm, thin_is_bright);
  } else {
    page.colour_bar(fmt::format("Chip load ({} a tooth)", shown.unit()), 0, top / unit_mm, cividis);
  }
  page.gap();
  page.swatch({233, 236, 240}, "top of the sheet");
  page.swatch({160, 163, 166}, "pockets, darker with depth");
  page.swatch({93, 95, 96}, "cut through");
  draw_scale_bar(page, {page.low.x, page.high.y - 4 * u}, px, shown);
  out.drawing = std::move(page.drawing);
  return out;
}

} // namespace snagmap
