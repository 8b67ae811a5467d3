// The sheet from above: depths in grey, one quantity along the walls or the path in colour.
#include "viz/map_page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

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
  MapPage map = map_page(source, title, finding);
  Page& page = map.page;
  const double u = page.u, px = map.px_per_mm;
  const Box3& box = preview.scene.sheet;
  const auto pixel = [&](double x_mm, double y_mm) { return map.pixel({x_mm, y_mm}); };

  // In steps of the map, quiet ones first, so that the worst is never painted over; neighbours of one step join into
  // one line, which keeps the SVG small.
  struct Piece {
    int step = 0;
    std::size_t sample = 0;
  };
  constexpr int kSteps = 32;
  const bool on_path = kind == MapKind::chip;
  std::vector<Piece> pieces;
  for (std::size_t i = 0; i < preview.samples.size(); ++i) {
    const PathSample& s = preview.samples[i];
    if (on_path ? s.z_mm >= box.high.z : !source.zones.stands(i)) continue;
    const double share = kind == MapKind::snag ? s.s : kind == MapKind::thickness ? 1 - s.w_mm / top : s.chip_mm / top;
    pieces.push_back({share >= 1 ? kSteps : std::clamp(static_cast<int>(kSteps * share), 0, kSteps - 1), i});
  }
  std::stable_sort(pieces.begin(), pieces.end(), [](const Piece& a, const Piece& b) { return a.step < b.step; });
  const auto place = [&](std::size_t i) {
    const PathSample& s = preview.samples[i];
    return on_path ? pixel(s.x_mm, s.y_mm) : pixel(s.wall_x_mm, s.wall_y_mm);
  };
  for (std::size_t k = 0; k < pieces.size();) {
    const int step = pieces[k].step;
    std::vector<Vec2> run{place(pieces[k].sample)};
    std::size_t i = pieces[k].sample;
    // On to the next sample's place, whatever its step, unless it lies on another wall.
    const auto extend = [&] {
      if (i + 1 >= preview.samples.size() || preview.samples[i + 1].web != preview.samples[i].web) return false;
      const Vec2 next = place(i + 1);
      if (norm(next - run.back()) > 6 * px) return false;
      run.push_back(next);
      return true;
    };
    for (++k; extend() && k < pieces.size() && pieces[k].step == step && pieces[k].sample == i + 1; ++k) i = pieces[k].sample;
    if (run.size() == 1) run.push_back(run.front() + Vec2{2 * u, 0});
    const double share = (step + 0.5) / kSteps;
    const Colour colour = kind == MapKind::snag && step == kSteps ? kAlarm : cividis(share);
    page.drawing.line(std::move(run), colour, (on_path ? 3 : 6) * u);
  }
  if (kind == MapKind::snag) {
    page.colour_bar("Snag number S", 0, 1, cividis, "1 and more: snags or tears");
    std::vector<Badge> badges;
    for (const std::size_t rank : worst_places(preview, 8)) {
      const Spot& spot = preview.spots[rank];
      badges.push_back({pixel(spot.place_mm.x, spot.place_mm.y), std::to_string(rank + 1), level_colour(spot.level())});
      page.note(fmt::format("{}  line {}: S {}, {} web", rank + 1, spot.program_line, snag_text(spot.s()), shown.length(spot.question.web.w_mm)));
    }
    draw_badges(page, badges);
  } else if (kind == MapKind::thickness) {
    page.colour_bar(fmt::format("Web thickness w ({})", shown.unit()), 0, top / unit_mm, thin_is_bright);
  } else {
    page.colour_bar(fmt::format("Chip load ({} a tooth)", shown.unit()), 0, top / unit_mm, cividis);
  }
  page.gap();
  if (!on_path) page.note("Painted: walls that stand at the end. The timeline and the table hold the others too.", kPale);
  finish_map(map, source);
  out.drawing = std::move(page.drawing);
  return out;
}

} // namespace snagmap
