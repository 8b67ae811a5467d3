// One view of two set-ups: the sheet before and after a change, and what became of the worst places.
#include "sim/text/whole_file.hpp"
#include "viz/draw/off_screen.hpp"
#include "viz/draw/raster.hpp"
#include "viz/pictures/set.hpp"
#include "viz/words/spot_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <set>

namespace snagmap {
namespace {

constexpr std::size_t kPlaces = 6;
constexpr double kMostShown = 15; // past this the number says no more

/// The worst spot of a preview at another spot's place; null when no web was found there.
const Spot* spot_at_place(const Preview& preview, const Spot& wanted) {
  for (const Spot& spot : preview.spots) // worst first
    if (same_place(spot, wanted))
      return &spot;
  return nullptr;
}

/// A place that is among the worst of either set-up.
struct Place {
  const Spot* before = nullptr;
  const Spot* after = nullptr;
  const Spot& worse() const { return !after || (before && before->s() >= after->s()) ? *before : *after; }
};

std::vector<Place> places_of(const Preview& before, const Preview& after) {
  std::vector<Place> places;
  for (const std::size_t rank : worst_places(before, kPlaces))
    places.push_back({&before.spots[rank], spot_at_place(after, before.spots[rank])});
  for (const std::size_t rank : worst_places(after, kPlaces)) {
    const Spot& spot = after.spots[rank];
    if (std::none_of(places.begin(), places.end(),
                     [&](const Place& p) { return same_place(p.worse(), spot); }))
      places.push_back({spot_at_place(before, spot), &spot});
  }
  std::stable_sort(places.begin(), places.end(),
                   [](const Place& p, const Place& q) { return p.worse().s() > q.worse().s(); });
  if (places.size() > kPlaces)
    places.resize(kPlaces);
  return places;
}

std::string cutter_words(const Scene& scene, const Shown& shown) {
  std::string words;
  for (const CutterCard& c : scene.cutters)
    words +=
        (words.empty() ? "" : "; ") + fmt::format("{}, flutes {}", c.name, shown.length(c.flute_length_mm));
  return words;
}

/// What tells the two set-ups apart, in words for each.
std::pair<std::string, std::string> differences(const Preview& before, const Preview& after) {
  const Shown shown{before.scene.show_inch};
  std::pair<std::string, std::string> words;
  const auto add = [&](const std::string& a, const std::string& b) {
    if (a == b)
      return;
    words.first += (words.first.empty() ? "" : "; ") + a;
    words.second += (words.second.empty() ? "" : "; ") + b;
  };
  add(cutter_words(before.scene, shown), cutter_words(after.scene, shown));
  add(before.scene.main_foam().name, after.scene.main_foam().name);
  add(std::filesystem::path(before.scene.program_file).filename().string(),
      std::filesystem::path(after.scene.program_file).filename().string());
  if (words.first.empty())
    words = {before.scene.title, after.scene.title};
  return words;
}

/// The axis of S, as far as the places reach.
Plot snag_axis(Page& page, const std::vector<Place>& places, Vec2 low, Vec2 high) {
  Drawing& d = page.drawing;
  const double u = page.u;
  double most = 1.2;
  for (const Place& p : places)
    for (const Spot* spot : {p.before, p.after})
      if (spot)
        most = std::max({most, spot->s(), std::min(band_of(*spot).high, 1.6 * spot->s())});
  Plot plot;
  plot.low = low;
  plot.high = high;
  plot.x1 = std::min(most * 1.05, kMostShown);
  plot.y1 = static_cast<double>(std::max<std::size_t>(places.size(), 1));
  d.rectangle({plot(1, 0).x, plot.low.y}, plot.high, Colour{kAlarm.r, kAlarm.g, kAlarm.b, 26});
  const double step = round_step(plot.x1, 10);
  for (double s = 0; s <= plot.x1 + 1e-9; s += step) {
    d.line({plot(s, 0), {plot(s, 0).x, plot.low.y}}, Colour{222, 226, 230}, u);
    d.text(plot(s, 0) + Vec2{0, 22 * u}, tick_text(s, step), 17 * u, Anchor::middle);
  }
  d.line({plot(1, 0), plot(1, plot.y1)}, kAlarm, 2.5 * u);
  d.frame(plot.low, plot.high, kInk, 1.5 * u);
  d.text({0.5 * (plot.low.x + plot.high.x), plot.high.y + 46 * u}, "snag number S, from 1 on: snags or tears",
         18 * u, Anchor::middle);
  return plot;
}

/// A row for each place: S before (ring) and after (dot) on one axis, each over its band.
void draw_changes(Page& page, const std::vector<Place>& places, const Plot& plot, const Shown& shown) {
  Drawing& d = page.drawing;
  const double u = page.u;
  for (std::size_t i = 0; i < places.size(); ++i) {
    const double row = plot.y1 - static_cast<double>(i) - 0.5;
    const auto at = [&](double s) { return plot(std::min(s, plot.x1), row); };
    const Place& place = places[i];
    const Spot& worse = place.worse();
    d.text({page.low.x, at(0).y + 6 * u}, std::to_string(places[i].worse().web), 18 * u, Anchor::start, kInk,
           true);
    d.text({page.low.x + 22 * u, at(0).y + 6 * u},
           fitted(shown.length(worse.question.web.w_mm) + " web", 17 * u, plot.low.x - page.low.x - 30 * u),
           17 * u);
    if (place.before && place.after)
      d.line({at(place.before->s()), at(place.after->s())}, kInk, 2 * u);
    const Vec2 shift{0, 5 * u};
    for (const bool second : {false, true}) {
      const Spot* const spot = second ? place.after : place.before;
      if (!spot) {
        d.text(plot(0, row) + Vec2{10 * u, 6 * u},
               second ? "after: no web found here" : "before: no web found here", 16 * u, Anchor::start,
               kInk);
        continue;
      }
      const SnagBand band = band_of(*spot);
      const double y = second ? 1 : -1;
      d.line({at(band.low) + y * shift, at(band.high) + y * shift}, second ? kFlutes : kPale, 3 * u);
      d.disc(at(spot->s()), 9 * u, second ? Colour{255, 255, 255} : kInk);
      d.disc(at(spot->s()), 7 * u, second ? level_colour(spot->level()) : Colour{255, 255, 255});
    }
  }
}

std::string change_words(const Preview& before, const Preview& after) {
  const auto alarming = [](const Preview& p) {
    std::set<int> webs;
    for (const Spot& s : p.spots)
      if (s.s() >= 1)
        webs.insert(s.web);
    return webs.size();
  };
  const auto highest = [](const Preview& p) {
    return p.spots.empty() ? std::string("none") : snag_text(p.spots.front().s());
  };
  const std::size_t count = alarming(before);
  return fmt::format("{} web{} snag{} before, {} after. Highest S: {} before, {} after.", count,
                     count == 1 ? "" : "s", count == 1 ? "s" : "", alarming(after), highest(before),
                     highest(after));
}

Box3 both(const Box3& a, const Box3& b) {
  return {{std::min(a.low.x, b.low.x), std::min(a.low.y, b.low.y), std::min(a.low.z, b.low.z)},
          {std::max(a.high.x, b.high.x), std::max(a.high.y, b.high.y), std::max(a.high.z, b.high.z)}};
}

/// One sheet of two: where it stands on the page, and what its places hold.
struct SheetSide {
  const char* title;
  std::string words;
  const Spot* Place::*spot;
  double aside_px; ///< to the right of the left half
};

/// One stage holds both sheets: in parallel projection a shift across the picture changes nothing else.
void show_sheet(Picture& out, Page& page, PictureSource& source, const SheetSide& side,
                const Projection& view) {
  const double u = page.u, half = 0.5 * (page.high.x - page.low.x), x = page.low.x + side.aside_px;
  PaintedMesh skin = snag_painted(source);
  if (side.aside_px > 0) {
    const Vec3 aside = (side.aside_px / view.px_per_mm) * view.right;
    for (Vec3& p : skin.mesh.points)
      p = p + aside;
  }
  out.stage->add(skin.mesh, skin.colours);
  page.drawing.text({x, page.low.y + 22 * u}, side.title, 22 * u, Anchor::start, kInk, true);
  page.drawing.text({x, page.low.y + 48 * u}, fitted(side.words, 17 * u, half - 14 * u), 17 * u);
}

void badge_places(Page& page, const std::vector<Place>& places, const SheetSide& side,
                  const Projection& view) {
  std::vector<Badge> badges;
  for (std::size_t i = 0; i < places.size(); ++i) {
    const Spot* const spot = places[i].*side.spot;
    const Spot& where = spot ? *spot : places[i].worse();
    const Vec3 top{where.place_mm.x, where.place_mm.y, where.place_mm.z + where.question.web.h_mm};
    badges.push_back({view(top) + Vec2{side.aside_px, 0}, std::to_string(places[i].worse().web),
                      spot ? level_colour(spot->level()) : kFoam});
  }
  draw_badges(page, badges);
}

void list_places(Page& page, const std::vector<Place>& places) {
  const auto s_of = [](const Spot* spot) { return spot ? snag_text(spot->s()) : std::string("no web"); };
  const auto line_of = [](const Spot* spot) {
    return spot ? std::to_string(spot->program_line) : std::string("-");
  };
  page.heading("Webs");
  for (std::size_t i = 0; i < places.size(); ++i) {
    page.note(
        fmt::format("{}  S {} to {}", places[i].worse().web, s_of(places[i].before), s_of(places[i].after)),
        kInk, true);
    page.note(fmt::format("line {} before, {} after", line_of(places[i].before), line_of(places[i].after)));
    page.gap(4);
  }
  page.gap(8);
  page.colour_bar("Snag number S", 0, 1, cividis, "1 and more: snags or tears");
  page.note("Ring: before. Dot: after. Bars: bands of S.");
  page.note("The bands share most of their unknowns: the change is surer than either number.");
}

} // namespace

Picture compare_picture(PictureSource& before, PictureSource& after) {
  const Preview& first = before.preview;
  const Preview& second = after.preview;
  const std::string finding = change_words(first, second);
  Picture out;
  out.name = "compare";
  Page page = make_page(before.options, "The same sheet before and after the change", finding,
                        "Two views of the cut sheet side by side, webs painted by snag number, and the snag "
                        "number of the worst places in both. " +
                            finding);
  const double u = page.u;
  const std::vector<Place> places = places_of(first, second);
  const double half = 0.5 * (page.high.x - page.low.x),
               rows = 30 * u * static_cast<double>(std::max<std::size_t>(places.size(), 2));
  const double sheets_foot = page.high.y - rows - 130 * u;
  const Projection view = fit({-68, 54}, both(first.scene.sheet, second.scene.sheet),
                              page.low + Vec2{8 * u, 66 * u}, {page.low.x + half - 14 * u, sheets_foot});
  out.stage = std::make_unique<Stage>(page.drawing.width, page.drawing.height, before.options.background);
  out.stage->set(view);
  const auto [words_before, words_after] = differences(first, second);
  const SheetSide left{"Before", words_before, &Place::before, 0},
      right{"After", words_after, &Place::after, half};
  for (const auto& [source, side] : {std::pair{&before, &left}, std::pair{&after, &right}}) {
    show_sheet(out, page, *source, *side, view);
    badge_places(page, places, *side, view);
  }
  draw_scale_bar(page, {page.low.x, sheets_foot + 26 * u}, view.px_per_mm, before.shown);

  const Plot plot = snag_axis(page, places, {page.low.x + 150 * u, page.high.y - rows - 62 * u},
                              {page.high.x - 10 * u, page.high.y - 62 * u});
  draw_changes(page, places, plot, before.shown);
  list_places(page, places);
  out.drawing = std::move(page.drawing);
  return out;
}

std::optional<Fault> write_compare_picture(const Preview& before, const Preview& after,
                                           const std::string& file, const PictureOptions& options) {
  if (auto fault = check(options))
    return fault;
  if (auto fault = ensure_off_screen())
    return fault;
  PictureSource first(before, options), second(after, options);
  const Picture picture = compare_picture(first, second);
  const std::vector<std::uint8_t> png = png_of(rasterised(picture.drawing, picture.stage.get()));
  return write_whole_file(file, png, Existing::replaced, Disk::later);
}

} // namespace snagmap
