#include "viz/pictures/set.hpp"
#include "viz/words/spot_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {

const Mesh& PictureSource::skin() {
  if (!end_skin)
    end_skin = sheet_skin(preview, zones, 60000); // shows a sheet at any size of picture
  return *end_skin;
}

void draw_sheet_axes(Page& page, const Projection& view, const Box3& box, const Shown& shown) {
  Drawing& d = page.drawing;
  const double u = page.u, unit_mm = shown.unit_mm();
  const Vec2 middle = view(0.5 * (box.low + box.high));
  // The two lower edges nearest the eye: ticks point away from the sheet.
  const double x_edge = view.back.x > 0 ? box.high.x : box.low.x,
               y_edge = view.back.y > 0 ? box.high.y : box.low.y;
  for (int axis = 0; axis < 2; ++axis) {
    const double from = axis ? box.low.y : box.low.x, to = axis ? box.high.y : box.high.x;
    const auto place = [&](double v) {
      return axis ? view({x_edge, v, box.low.z}) : view({v, y_edge, box.low.z});
    };
    const Vec2 a = place(from), b = place(to);
    d.line({a, b}, kInk, 1.5 * u);
    Vec2 out = (1 / std::max(norm(b - a), 1e-9)) * left_of(b - a);
    if (dot(out, 0.5 * (a + b) - middle) < 0)
      out = -1.0 * out;
    const double step =
        round_step((to - from) / unit_mm, std::max(2, static_cast<int>(norm(b - a) / (90 * u))));
    for (double v = std::ceil(from / unit_mm / step - 1e-9) * step; v * unit_mm <= to + 1e-6; v += step) {
      const Vec2 p = place(v * unit_mm), q = p + (9 * u) * out, t = p + (28 * u) * out;
      d.line({p, q}, kInk, 1.5 * u);
      d.text({t.x, t.y + 6 * u}, tick_text(v, step), 17 * u, Anchor::middle);
    }
    const Vec2 name = 0.5 * (a + b) + ((std::abs(out.x) > 0.5 ? 92 : 60) * u) * out;
    d.text({name.x, name.y + 6 * u}, fmt::format("{} ({})", axis ? "Y" : "X", shown.unit()), 18 * u,
           Anchor::middle);
  }
}

PaintedMesh snag_painted(PictureSource& source) {
  return painted_by_snag(source.preview, split_at_zones(source.preview, source.zones, source.skin()));
}

Picture sheet_picture(PictureSource& source) {
  const Preview& preview = source.preview;
  Picture out;
  out.name = "sheet";
  const bool snags = !preview.spots.empty() && preview.spots.front().s() >= 1;
  const std::string head =
      snags ? "Where this sheet is predicted to snag" : "Where this sheet comes nearest to snagging";
  const std::string title = preview.scene.title.empty() ? head : head + ": " + preview.scene.title;
  Page page = make_page(source.options, title, finding_of(preview),
                        "The cut sheet seen from above and in front, webs painted by snag number. " +
                            finding_of(preview));
  const double u = page.u;
  const Box3& box = preview.scene.sheet;
  const Vec2 low = page.low + Vec2{70 * u, 60 * u}, high = page.high - Vec2{50 * u, 96 * u};
  const Projection view = fit({-68, 54}, box, low, high);
  out.stage = std::make_unique<Stage>(page.drawing.width, page.drawing.height, source.options.background);
  out.stage->set(view);
  const PaintedMesh skin = snag_painted(source);
  out.stage->add(skin.mesh, skin.colours);
  draw_sheet_axes(page, view, box, source.shown);
  draw_scale_bar(page, {page.low.x, page.high.y - 4 * u}, view.px_per_mm, source.shown);
  page.drawing.text({page.low.x + 300 * u, page.high.y - 2 * u},
                    "true for lengths in the picture's plane; the axes carry the sheet's own measure", 16 * u,
                    Anchor::start, kPale);

  std::vector<Badge> badges;
  page.heading(snags ? "Webs that snag" : "Webs nearest to it");
  constexpr std::size_t kNumbered = 16, kTold = 4, kNearest = 3; // more numbers would hide the sheet
  for (const WebRow& row : source.answer->rows) {
    if (badges.size() == (snags ? kNumbered : kNearest) || (snags && !row.snags))
      break;
    const Spot& spot = preview.spots[row.spot];
    const std::string name = std::to_string(row.web);
    badges.push_back({view({spot.place_mm.x, spot.place_mm.y, spot.place_mm.z + spot.question.web.h_mm}),
                      name, level_colour(spot.level())});
    if (badges.size() > kTold)
      continue;
    page.note(fmt::format("{}  line {}: S {}, {}", name, spot.program_line, snag_text(spot.s()),
                          to_text(spot.level())),
              spot.s() >= 1 ? kAlarm : kInk, true);
    page.note(fmt::format("{} web, flutes reach {}", source.shown.length(spot.question.web.w_mm),
                          source.shown.length(spot.a_mm)));
    page.gap(6);
  }
  if (badges.size() > kTold)
    page.note(fmt::format("and {} more, numbered", badges.size() - kTold)), page.gap(6);
  draw_badges(page, badges);
  if (snags) {
    page.heading(fmt::format("Why web {}, and what changes it", source.answer->rows.front().web));
    page.note(reason_of(preview.spots.front(), source.shown));
  }
  page.gap(10);
  page.colour_bar("Snag number S", 0, 1, cividis, "1 and more: snags or tears");
  page.swatch(kFoam, "nothing found, or foam behind the rim of a thick web");
  out.drawing = std::move(page.drawing);
  return out;
}

} // namespace snagmap
