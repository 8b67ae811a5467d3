#include "viz/report/coupon_sheet.hpp"

#include "viz/draw/page.hpp"
#include "viz/report/style.hpp"
#include "viz/words/note_words.hpp"

#include <algorithm>
#include <fmt/format.h>

namespace snagmap {
namespace {

constexpr Colour kSlot{255, 255, 255};
/// One side of A4 or Letter.
constexpr const char* kOnePage = R"css(
td.box{border:1px solid #4a515b;min-width:3.4rem;height:1.4em}
h1{margin:.6rem 0 .3rem}h2{margin:.9rem 0 .3rem}p,ol,ul{margin:.3rem 0}figure{margin:.4rem 0}th,td{padding:.12em .4em}
table{margin:.3rem 0}tr.group td{font-weight:bold;background:#f4f5f7}
@page{margin:9mm}
@media print{body{font-size:8pt;line-height:1.2}table{font-size:8pt}figure img{width:50%}h1{font-size:13pt;margin:0}h2{font-size:10pt;margin:.5rem 0 .2rem}p,ol,ul{margin:.15rem 0}td.box{min-width:3rem}}
)css";

std::string words_of(const CouponWall& wall) {
  const bool open = wall.s_low < 1 && wall.s_high >= 1;
  return std::string(wall.s < 1 ? "held" : "marked or torn") + (open ? "?" : "");
}

std::string head(const std::string& title) {
  return "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>" + escaped(title) +
         "</title><style>" + kReportStyle + kOnePage + "</style></head><body><main>\n<h1>" + escaped(title) +
         "</h1>\n";
}

/// To what a calliper reads: 10.95, where pictures of a whole sheet say 10.9.
std::string thickness(Shown shown, const CouponWall& wall) {
  return fmt::format("{:.{}f}", shown.of(wall.piece.w_mm), shown.inch ? 3 : 2);
}

bool has_own(const Coupon& c) {
  return std::any_of(c.walls.begin(), c.walls.end(), [](const CouponWall& w) { return w.jobs_own; });
}

std::string list(const std::vector<std::string>& lines, const char* tag = "ol") {
  std::string out = fmt::format("<{}>\n", tag);
  for (const std::string& line : lines)
    out += "<li>" + line + "</li>\n";
  return out + fmt::format("</{}>\n", tag);
}

} // namespace

Drawing coupon_drawing(const Coupon& c) {
  const Shown shown{c.scene.show_inch};
  PictureOptions options;
  options.width = 1600, options.height = 1000;
  Page page =
      make_page(options, c.scene.title,
                fmt::format("{} walls, {} minutes of cutting; the band of Lambda is expected to shrink to "
                            "{:.0f} % of its width",
                            c.walls.size(), std::max(1.0, std::round(c.time_s / 60)), 100 * c.narrowing),
                "Plan of a test piece with numbered walls between slots.");
  Drawing& d = page.drawing;
  const double u = page.u, scale = std::min((page.high.x - page.low.x - 90 * u) / kCouponWidth_mm,
                                            (page.high.y - page.low.y - 60 * u) / kCouponLength_mm);
  const Vec2 origin{page.low.x, page.low.y + 10 * u + scale * kCouponLength_mm};
  const auto at = [&](Vec2 p) { return Vec2{origin.x + scale * p.x, origin.y - scale * p.y}; };
  const auto box = [&](Vec2 low, Vec2 high, Colour colour) {
    d.rectangle(at({low.x, high.y}), at({high.x, low.y}), colour);
  };
  box({0, 0}, {kCouponWidth_mm, kCouponLength_mm}, kFoam);
  for (const CouponRow& row : c.rows)
    for (const double x : row.slot_low_mm)
      box({x, row.y0_mm}, {x + row.slot_mm, row.y1_mm}, kSlot);
  std::vector<Vec2> run;
  for (const Vec2 p : c.run.points_mm)
    run.push_back(at(p));
  d.line(run, kSlot, scale * c.scene.cutters[static_cast<std::size_t>(c.run.cutter)].diameter_mm);
  for (const Vec2 p : run)
    d.disc(p, 0.5 * scale * c.scene.cutters[static_cast<std::size_t>(c.run.cutter)].diameter_mm, kSlot);
  d.line(run, kPale, 1.5 * u, true);
  for (const CouponWall& wall : c.walls) {
    box(wall.low_mm, wall.high_mm, snag_colour(wall.s));
    const Vec2 middle = at(0.5 * (wall.low_mm + wall.high_mm)),
               top = at({0.5 * (wall.low_mm.x + wall.high_mm.x), wall.high_mm.y});
    const std::string number = fmt::format("{}", wall.piece.number);
    d.disc(middle, 13 * u, Colour{255, 255, 255});
    d.text({middle.x, middle.y + 6 * u}, number, 17 * u, Anchor::middle, kInk, true);
    d.text({top.x, top.y - 6 * u}, thickness(shown, wall) + (wall.jobs_own ? "*" : ""), 15 * u,
           Anchor::middle);
  }
  d.frame(at({0, kCouponLength_mm}), at({kCouponWidth_mm, 0}), kInk, 2 * u);
  d.disc(at({0, 0}), 7 * u, kInk);
  d.text(at({0, 0}) + Vec2{12 * u, -8 * u}, "zero, on top", 16 * u);
  draw_dimension(page, at({0, 0}) + Vec2{0, 26 * u}, at({kCouponWidth_mm, 0}) + Vec2{0, 26 * u},
                 shown.length(kCouponWidth_mm), 8 * u);
  draw_dimension(page, at({kCouponWidth_mm, 0}) + Vec2{22 * u, 0},
                 at({kCouponWidth_mm, kCouponLength_mm}) + Vec2{22 * u, 0}, shown.length(kCouponLength_mm),
                 8 * u);
  page.heading("Rows");
  for (std::size_t r = 0; r < c.rows.size(); ++r)
    if (!c.rows[r].numbers.empty())
      page.note(fmt::format("{} row, walls {} to {}: {}, {} deep in passes of {}", r == 0 ? "lower" : "upper",
                            c.rows[r].numbers.front(), c.rows[r].numbers.back(),
                            c.scene.cutters[static_cast<std::size_t>(c.rows[r].cutter)].name,
                            shown.length(c.rows[r].depth_mm), shown.length(c.rows[r].pass_mm)));
  page.note(fmt::format("Numbers over the walls: thickness, {}.{}", shown.unit(),
                        has_own(c) ? " * as thick as the job's worst web." : ""));
  page.gap();
  page.colour_bar("Predicted S", 0, 1, cividis, "1 and more: marked or torn");
  page.gap();
  page.heading("Long run");
  page.note(fmt::format("{} long, {} deep, turn of {:.0f} degrees; the job's longest is {} long, {} deep",
                        shown.length(c.run.length_mm), shown.length(c.run.depth_mm), c.run.turn_deg,
                        shown.length(c.run.job_length_mm), shown.length(c.run.job_depth_mm)));
  return d;
}

std::string coupon_sheet_html(const Coupon& c) {
  const Shown shown{c.scene.show_inch};
  std::string out = head(c.scene.title);
  out += fmt::format("<p>Foam: <b>{}</b>. The job's worst web: {}. Cutting takes about {:.1f} minutes, tool "
                     "changes apart.</p>\n",
                     escaped(c.piece.foam.title), escaped(words_of(c.worst, shown)), c.time_s / 60);
  out += fmt::format("<p>What it is expected to tell: the band of Lambda shrinks to about <b>{:.0f} %</b> of "
                     "its width (as a logarithm), if the foam lies "
                     "within the card's band.</p>\n",
                     100 * c.narrowing);
  const std::string svg = to_svg(coupon_drawing(c));
  out += "<figure><img alt=\"Plan of the test piece, walls numbered\" src=\"data:image/svg+xml;base64," +
         base64({svg.begin(), svg.end()}) + "\"></figure>\n";
  out += "<h2>Cut</h2>\n" +
         list({fmt::format("Use the sheet the job will be cut from, rested flat for a day: {} x {} of it, {} "
                           "thick, held as the job will be.",
                           shown.length(kCouponWidth_mm), shown.length(kCouponLength_mm),
                           shown.length(c.scene.sheet.high.z - c.scene.sheet.low.z)),
               "Same cutter, speed and feed as the job. Zero at the lower left corner, on top of the sheet, "
               "touched off without pressing the foam down.",
               "Walls are meant to tear. Guard closed, eye protection and dust mask on, hands off until the "
               "spindle stands still; never pull a strand off a turning cutter. "
               "Attend the whole run. The machine's manual comes first."});
  out += "<h2>Measure, after ten minutes of rest</h2>\n<p><b>held</b>: whole, no bite deeper than a cell. "
         "<b>marked</b>: bitten or thinned, still standing. "
         "<b>torn</b>: torn off, or torn through anywhere. Look at the whole wall. Calliper: close it until "
         "it touches, do not squeeze.</p>\n";
  out += fmt::format(
      "<table><thead><tr><th class=n>wall</th><th class=n>thickness, {0}</th><th class=n>S "
      "predicted</th><th>expected</th>"
      "<th>held</th><th>marked</th><th>torn</th><th>top, {0}</th><th>floor, {0}</th></tr></thead><tbody>\n",
      shown.unit());
  int cutter = -1;
  for (const CouponWall& wall : c.walls) {
    if (wall.piece.cutter != cutter)
      out += fmt::format("<tr class=group><td colspan=9>cut with {}</td></tr>\n",
                         escaped(c.scene.cutters[static_cast<std::size_t>(wall.piece.cutter)].name));
    cutter = wall.piece.cutter;
    out += fmt::format("<tr><td class=n>{}{}</td><td class=n>{}</td><td class=n>{}</td><td>{}</td><td "
                       "class=box></td><td class=box></td>"
                       "<td class=box></td><td class=box></td><td class=box></td></tr>\n",
                       wall.piece.number, wall.jobs_own ? "*" : "", thickness(shown, wall),
                       band_text(wall.s, wall.s_low, wall.s_high), words_of(wall));
  }
  out += fmt::format("</tbody></table>\n<p>? the band of the foam lets it go either way.{}</p>\n",
                     has_own(c) ? " * as thick as the job's worst web." : "");
  out += fmt::format(
      "<table><tbody><tr><td>long run of {}, {} deep (job: {}, {} deep, line {}): longest strand, {}</td><td "
      "class=box></td></tr>"
      "<tr><td>its width at top and floor, {}</td><td class=box></td></tr><tr><td>the turn of "
      "{:.0f} degrees (job: line {}): clean, fuzzy or torn</td>"
      "<td class=box></td></tr><tr><td>minutes the machine took (planned {:.1f})</td><td "
      "class=box></td></tr></tbody></table>\n",
      shown.length(c.run.length_mm), shown.length(c.run.depth_mm), shown.length(c.run.job_length_mm),
      shown.length(c.run.job_depth_mm), c.run.job_line, shown.unit(), shown.unit(), c.run.turn_deg,
      c.run.job_turn_line, c.time_s / 60);
  out += "<h2>Modulus from a wall that held</h2>\n<p>Turn the piece so that the wall lies level, hang a few "
         "grams from a strip of tape 10 mm wide at the middle of "
         "its top edge, and read by how much the edge sinks: no more than a fifth of the wall's "
         "height.</p>\n<table><tbody><tr><td>wall</td><td class=box></td>"
         "<td>load, g</td><td class=box></td><td>lean, " +
         std::string(shown.unit()) + "</td><td class=box></td></tr></tbody></table>\n";
  out += "<h2>Then</h2>\n<p>Write outcomes and thicknesses into <code>readings.csv</code> beside this sheet, "
         "and run <code>snagmap fit readings.csv</code>. "
         "The numbers are predictions with stated uncertainty, no promise.</p>\n";
  if (!c.notes.empty()) {
    std::vector<std::string> notes;
    for (const CouponNote& note : c.notes)
      notes.push_back(escaped(words_of(note, shown)));
    out += "<h2>Notes</h2>\n" + list(notes, "ul");
  }
  return out + "</main></body></html>\n";
}

} // namespace snagmap
