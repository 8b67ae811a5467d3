// The sheet from above: depths in grey, one quantity along the walls or the path in colour.
#include "sim/checks/run_numbers.hpp"
#include "viz/pictures/map_page.hpp"
#include "viz/words/spot_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

namespace snagmap {
namespace {

constexpr int kSteps = 32; // colours of the map
constexpr Colour kPathBand{250, 251, 252};
Colour low_is_bright(double share) {
  return cividis(1 - share);
}

/// One quantity of the map.
struct Quantity {
  const char* name = "";
  std::string title, finding;
  std::string bar;                ///< title of the colour bar, with its unit
  double bar_end = 1;             ///< value at its top, in the unit shown
  bool low_is_bright = false;     ///< else the brightest colour is the bar's top
  bool on_path = false;           ///< painted where the tip runs; else on the walls
  std::vector<double> share = {}; ///< of each sample: brightness, 1 and more past the end; NaN: not painted
};

/// Least and greatest value of the samples that have one.
struct Span {
  double least, most;
};
void extend(std::optional<Span>& span, double v) {
  span = span ? Span{std::min(span->least, v), std::max(span->most, v)} : Span{v, v};
}

Quantity snag(const PictureSource& source) {
  Quantity q{"map-snag", "Snag number from above", finding_of(source.preview), "Snag number S", 1};
  for (const PathSample& s : source.preview.samples)
    q.share.push_back(s.s);
  return q;
}

Quantity thickness(const PictureSource& source) {
  const Shown& shown = source.shown;
  std::optional<Span> found;
  for (const PathSample& s : source.preview.samples)
    if (s.web >= 0)
      extend(found, s.w_mm);
  const double unit_mm = shown.unit_mm();
  const double most = std::max(found ? found->most : 0, 1.0) / unit_mm;
  const double top = std::min(std::max(round_step(most, 1), 1.0), std::ceil(most / 5) * 5) * unit_mm;
  Quantity q{"map-thickness", "Thickness of the webs beside the cutter",
             "No web beside the cutter was found.", fmt::format("Web thickness w ({})", shown.unit()),
             top / unit_mm};
  q.low_is_bright = true;
  if (found)
    q.finding = fmt::format("Thinnest {}, thickest {} within the watch's reach.", shown.length(found->least),
                            shown.length(found->most));
  for (const PathSample& s : source.preview.samples)
    q.share.push_back(1 - s.w_mm / top);
  return q;
}

/// At feed in the sheet; a rapid there cuts no chips that could be told.
bool in_sheet(const PathSample& sample, const Preview& preview) {
  return sample.z_mm < preview.scene.sheet.high.z && preview.path.moves[sample.move].kind != MoveKind::rapid;
}

Quantity chip(const PictureSource& source) {
  const Preview& preview = source.preview;
  const Shown& shown = source.shown;
  std::optional<Span> found;
  for (const PathSample& s : preview.samples)
    if (in_sheet(s, preview))
      extend(found, s.chip_mm);
  const double unit_mm = shown.unit_mm(), top = std::max(1e-3, found ? found->most : 0);
  Quantity q{"map-chip", "Chip load along the path, at the feed the machine really reaches",
             "No cut in foam.", fmt::format("Chip load ({} a tooth)", shown.unit()), top / unit_mm};
  q.low_is_bright = q.on_path = true;
  if (found)
    q.finding = fmt::format(
        "From {:.4f} to {:.4f} {} a tooth; low where corners slow the machine down or the feed word is low.",
        found->least / unit_mm, found->most / unit_mm, shown.unit());
  for (const PathSample& s : preview.samples)
    q.share.push_back(in_sheet(s, preview) ? 1 - s.chip_mm / top : std::nan(""));
  return q;
}

/// As share of the feed word, not in mm/min: what a set-up review asks is where the machine does not do what
/// the program says, and a ramp that is meant to be slow is no answer to that. Rapids have no feed word.
Quantity feed(const PictureSource& source) {
  const Preview& preview = source.preview;
  Quantity q{"map-feed", "Real feed along the path, as share of the programmed feed", "No cut in foam.",
             "Real feed (% of programmed)", 100};
  q.low_is_bright = q.on_path = true;
  std::size_t slow = 0, all = 0; // samples, which stand evenly along the path
  for (const PathSample& s : preview.samples) {
    const Move& move = preview.path.moves[s.move];
    const bool painted = in_sheet(s, preview) && move.kind != MoveKind::rapid && move.feed_mm_min > 0;
    const double share = painted ? static_cast<double>(s.feed_mm_min) / move.feed_mm_min : std::nan("");
    q.share.push_back(1 - share);
    all += painted;
    slow += share < kFeedReached;
  }
  if (all > 0)
    q.finding = fmt::format("Under nine tenths of the feed word on {:.0f} % of the path in the sheet: "
                            "corners, short moves and axis limits slow the machine.",
                            100.0 * static_cast<double>(slow) / static_cast<double>(all));
  return q;
}

Quantity quantity(const PictureSource& source, MapKind kind) {
  switch (kind) {
  case MapKind::snag:
    return snag(source);
  case MapKind::thickness:
    return thickness(source);
  case MapKind::feed:
    return feed(source);
  case MapKind::chip:
    break;
  }
  return chip(source);
}

/// One map while it is painted: samples by their place on the page.
struct Painting {
  const PictureSource& source;
  const Quantity& quantity;
  MapPage& map;

  Vec2 place(std::size_t i) const {
    const PathSample& s = source.preview.samples[i];
    return quantity.on_path ? map.pixel({s.x_mm, s.y_mm}) : map.pixel({s.wall_x_mm, s.wall_y_mm});
  }
  /// Whether a line may run on from a sample to the next one: not on to another wall, not across a lift.
  bool runs_on(std::size_t i) const {
    const std::vector<PathSample>& samples = source.preview.samples;
    return i + 1 < samples.size() && (quantity.on_path || samples[i + 1].web == samples[i].web) &&
           norm(place(i + 1) - place(i)) <= 6 * map.px_per_mm;
  }
};

/// A sample in its step of the map's colours.
struct Piece {
  int step = 0;
  std::size_t sample = 0;
};

/// Quiet ones first, so that the worst is never painted over.
std::vector<Piece> pieces_of(const PictureSource& source, const Quantity& q) {
  std::vector<Piece> pieces;
  for (std::size_t i = 0; i < source.preview.samples.size(); ++i) {
    const double share = q.share[i];
    if (q.on_path ? std::isnan(share) : !source.zones.stands(i))
      continue;
    pieces.push_back({share >= 1 ? kSteps : std::clamp(static_cast<int>(kSteps * share), 0, kSteps - 1), i});
  }
  std::stable_sort(pieces.begin(), pieces.end(),
                   [](const Piece& a, const Piece& b) { return a.step < b.step; });
  return pieces;
}

/// The middle of the map is grey like the pockets' floors: the path lies on a pale band of its own.
void paint_path_band(const Painting& painting) {
  for (std::size_t i = 0; i < painting.source.preview.samples.size(); ++i) {
    std::vector<Vec2> run{painting.place(i)};
    for (; painting.runs_on(i); ++i)
      run.push_back(painting.place(i + 1));
    if (run.size() > 1)
      painting.map.page.drawing.line(std::move(run), kPathBand, 6 * painting.map.page.u);
  }
}

/// Neighbours of one step join into one line, which keeps the SVG small.
void paint_pieces(const Painting& painting, const std::vector<Piece>& pieces, bool alarming) {
  Page& page = painting.map.page;
  const double u = page.u;
  for (std::size_t k = 0; k < pieces.size();) {
    const int step = pieces[k].step;
    std::size_t i = pieces[k].sample;
    std::vector<Vec2> run{painting.place(i)};
    // On to the next sample's place, whatever its step.
    const auto extend = [&] {
      if (!painting.runs_on(i))
        return false;
      run.push_back(painting.place(i + 1));
      return true;
    };
    for (++k; extend() && k < pieces.size() && pieces[k].step == step && pieces[k].sample == i + 1; ++k)
      i = pieces[k].sample;
    // A lone sample, or a plunge, is a dot.
    const Vec2 at = run.front(), half{1.5 * u, 0};
    if (std::all_of(run.begin(), run.end(), [&](Vec2 p) { return norm(p - at) < 0.5 * u; }))
      run = {at - half, at + half};
    const Colour colour = alarming && step == kSteps ? kAlarm : cividis((step + 0.5) / kSteps);
    page.drawing.line(std::move(run), colour, (painting.quantity.on_path ? 3 : 6) * u);
  }
}

/// Badges at the worst places, and their list in the legend.
void name_worst(MapPage& map, const PictureSource& source) {
  std::vector<Badge> badges;
  for (const std::size_t rank : worst_places(source.preview, 8)) {
    const Spot& spot = source.preview.spots[rank];
    badges.push_back({map.pixel(xy(spot.place_mm)), std::to_string(spot.web), level_colour(spot.level())});
    map.page.note(fmt::format("web {}  line {}: S {}, {}", spot.web, spot.program_line, snag_text(spot.s()),
                              source.shown.length(spot.question.web.w_mm)));
  }
  draw_badges(map.page, badges);
}

} // namespace

Picture map_picture(PictureSource& source, MapKind kind) {
  const Quantity q = quantity(source, kind);
  Picture out;
  out.name = q.name;
  MapPage map = map_page(source, q.title, q.finding);
  Page& page = map.page;
  const Painting painting{source, q, map};
  if (q.on_path)
    paint_path_band(painting);
  paint_pieces(painting, pieces_of(source, q), kind == MapKind::snag);
  if (kind == MapKind::snag) {
    page.colour_bar(q.bar, 0, q.bar_end, cividis, "1 and more: snags or tears");
    name_worst(map, source);
  } else {
    page.colour_bar(q.bar, 0, q.bar_end, q.low_is_bright ? low_is_bright : cividis);
  }
  page.gap();
  if (!q.on_path)
    page.note("Painted: walls that stand at the end. The timeline and the table hold the others too.", kPale);
  finish_map(map, source);
  out.drawing = std::move(page.drawing);
  return out;
}

} // namespace snagmap
