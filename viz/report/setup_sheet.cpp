#include "viz/report/setup_sheet.hpp"

#include "sim/checks/job_checks.hpp"
#include "viz/draw/drawing.hpp"
#include "viz/draw/page.hpp"
#include "viz/words/answer_words.hpp"
#include "viz/words/spot_words.hpp"
#include "viz/words/stop_words.hpp"
#include "viz/words/web_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <iterator>

namespace snagmap {
namespace {

constexpr double kPlanCell_mm = 2; // of the small plan: fine enough for the eye
constexpr std::size_t kStopsSaid = 6;

/// "bicycle-case.nc, written 2026-03-01 10:15 UTC"
std::string program_words(const std::string& file) {
  namespace fs = std::filesystem;
  std::string words = fs::path(file).filename().string();
  std::error_code error;
  const auto time = fs::last_write_time(file, error);
  if (error)
    return words;
  const auto seconds =
      std::chrono::duration_cast<std::chrono::seconds>(time - decltype(time)::clock::now() +
                                                       std::chrono::system_clock::now().time_since_epoch())
          .count();
  const std::time_t stamp = static_cast<std::time_t>(30 * ((seconds + 15) / 30)); // two clocks: no finer
  std::tm utc{};
  char text[32] = "";
  if (gmtime_r(&stamp, &utc) && std::strftime(text, sizeof text, "%Y-%m-%d %H:%M UTC", &utc) > 0)
    words += fmt::format(", written {}", text);
  return words;
}

std::string hold_down_text(const HoldDown& hold) {
  switch (hold.kind) {
  case HoldDownKind::tape:
    return fmt::format("double-coated tape under {:.3g} % of the sheet", 100 * hold.tape_area_share);
  case HoldDownKind::vacuum:
    return "vacuum";
  case HoldDownKind::none_given:
    break;
  }
  return "not given: nothing about lifting or sliding was checked";
}

std::string clears_text(const WebRow& row, const Shown& shown) {
  std::string text;
  for (const std::string& one : cleared_words(row, shown))
    text += (text.empty() ? "" : "; ") + one;
  return text.empty() ? "nothing that was tried" : text;
}

std::string setup_list(const Preview& p, const Shown& shown) {
  const Scene& scene = p.scene;
  const Vec3 size = scene.sheet.high - scene.sheet.low;
  std::string out = "<dl>\n";
  out += entry_html("Program", program_words(scene.program_file));
  if (!scene.layers.empty()) {
    const FoamCard& foam = scene.main_foam();
    out += entry_html("Foam", foam.title.empty() ? foam.name : fmt::format("{} ({})", foam.name, foam.title));
  }
  out += entry_html("Sheet", fmt::format("{} x {} x {}{}", shown.number(size.x, 0), shown.number(size.y, 0),
                                         shown.short_length(size.z),
                                         scene.sheet_given ? "" : "; its border is not given"));
  for (const CutterCard& cutter : scene.cutters)
    out += entry_html("Cutter", fmt::format("{}: flutes {}, stick-out {}", cutter.name,
                                            shown.short_length(cutter.flute_length_mm),
                                            shown.short_length(cutter.stick_out_mm)));
  out += entry_html("Hold-down", hold_down_text(scene.hold_down));
  out += entry_html("Run time", time_text(p.motion.total_s()));
  return out + "</dl>\n";
}

std::string decisions(const Preview& p, const JobAnswer& answer, const ReportLinks& links,
                      const Shown& shown) {
  std::string out = fmt::format(
      "<table class=\"cards\" role=\"table\">\n<caption>Webs that need a decision, worst first. Lengths in "
      "{}. S: "
      "how hard the cutter pulls the web in; from 1 on it snags; in brackets what the foam&#x27;s spread "
      "makes of it.</caption>\n<thead role=\"rowgroup\"><tr role=\"row\">",
      shown.unit());
  for (const char* head :
       {"Web", "Where", "Thick", "High", "S (range)", "Would hold from", "Cleared by", "Line", "Decided"})
    out += fmt::format("<th role=\"columnheader\" scope=\"col\">{}</th>", head);
  out += "</tr></thead>\n<tbody role=\"rowgroup\">\n";
  std::size_t n = 0;
  for (const WebRow& row : answer.rows) {
    if (!row.snags || n++ >= kWebsDecided)
      continue;
    const Spot& spot = p.spots[row.spot];
    out += fmt::format("<tr role=\"row\"><th role=\"rowheader\" scope=\"row\" data-h=\"Web\"><a "
                       "href=\"#web-{0}\">{0}</a></th>",
                       row.web);
    out += cell("Where", escaped(words_of(row.place, shown)));
    out += cell("Thick", shown.number(spot.question.web.w_mm, 1), true);
    out += cell("High", shown.number(spot.question.web.h_mm, 1), true);
    out += cell("S (range)", fmt::format("<strong>{}</strong> ({} to {})", snag_text(spot.answer.s),
                                         snag_text(spot.answer.s_low), snag_text(spot.answer.s_high)));
    out += cell("Would hold from",
                row.least_w_mm > 0 ? shown.number(row.least_w_mm, 1) + " thick" : std::string("none found"));
    std::string cleared;
    for (const std::string& one : row.cleared_by)
      cleared += (cleared.empty() ? "" : "; ") + one;
    out += cell("Cleared by", cleared.empty() ? "nothing tried" : escaped(cleared));
    out += cell("Line", links.line(spot.program_line), true);
    out +=
        cell("Decided", fmt::format("<input type=\"checkbox\" aria-label=\"Web {} is decided\">", row.web));
    out += "</tr>\n";
  }
  out += "</tbody>\n</table>\n";
  if (answer.snag > kWebsDecided)
    out += fmt::format("<p>{} more snag: see <a href=\"#all-webs\">all webs</a>.</p>\n",
                       answer.snag - kWebsDecided);
  return out;
}

/// Into the view in space, where the web has one; shown once that works.
std::string turn_link(int web, const SpaceScene* space) {
  const bool there = space && std::any_of(space->webs.begin(), space->webs.end(),
                                          [web](const SpaceWeb& w) { return w.row->web == web; });
  return there ? fmt::format("<span class=\"turn\"> &middot; <a href=\"#space\" data-web=\"{0}\" "
                             "aria-label=\"Web {0} in space\">In space</a></span>",
                             web)
               : "";
}

std::string what_stops(const Preview& p, const Shown& shown) {
  std::string out;
  std::vector<std::string> stops = stopping_words(p);
  if (!stops.empty()) {
    const std::size_t more = stops.size() - std::min(kStopsSaid, stops.size());
    stops.resize(std::min(kStopsSaid, stops.size()));
    out += "<h2>What else stops the job</h2>\n" + list_html(stops);
    if (more > 0)
      out += fmt::format("<p>{} more: see <a href=\"#findings\">findings</a>.</p>\n", more);
  }
  if (!p.checks || p.checks->timeline.stops.empty())
    return out;
  out += "<h2>Stop and look</h2>\n<p>" + escaped(stops_summary(p.checks->timeline, shown)) + ". Before line";
  const auto& plan = p.checks->timeline.stops;
  for (std::size_t n = 0; n < std::min(kStopsSaid, plan.size()); ++n)
    out += fmt::format("{}{}", n == 0 ? (plan.size() > 1 ? "s " : " ") : ", ", plan[n].line);
  out += fmt::format("{}; what to look for: <a href=\"#stops\">the plan</a>.</p>\n",
                     plan.size() > kStopsSaid ? " ..." : "");
  return out + "<p class=\"caution\"><strong>" + escaped(stop_caution()) + "</strong></p>\n";
}

} // namespace

std::string plan_symbol(const Preview& p) {
  const Box3& box = p.scene.sheet;
  std::string path;
  if (p.record) {
    const PocketPlan plan(*p.record, box.high.z - 0.5, kPlanCell_mm);
    for (const PocketPlan::Strip& s : plan.strips())
      path += fmt::format("M{:.0f} {:.1f}h{:.0f}v{:.1f}h-{:.0f}z", s.x0_mm - box.low.x, box.high.y - s.y1_mm,
                          s.x1_mm - s.x0_mm, s.y1_mm - s.y0_mm + 0.1, s.x1_mm - s.x0_mm);
  }
  const Vec3 size = box.high - box.low;
  return fmt::format(
      "<svg class=\"defs\" aria-hidden=\"true\"><symbol id=\"sheet-plan\" viewBox=\"0 0 {0:.1f} "
      "{1:.1f}\"><rect width=\"{0:.1f}\" height=\"{1:.1f}\" fill=\"#dfe3e7\"/><path d=\"{2}\" "
      "fill=\"#aeb6bf\"/></symbol></svg>\n",
      size.x, size.y, path);
}

std::string plan_svg(const Preview& p, const JobAnswer& answer, int only) {
  const Box3& box = p.scene.sheet;
  const Vec3 size = box.high - box.low;
  const double unit = std::max(size.x, size.y) / 100; // of type and line, whatever the sheet's size
  const auto at = [&](Vec2 q) { return Vec2{q.x - box.low.x, box.high.y - q.y}; };
  std::string out = fmt::format(
      "<svg class=\"plan\" role=\"img\" aria-label=\"{}\" viewBox=\"{:.1f} {:.1f} {:.1f} {:.1f}\"><use "
      "href=\"#sheet-plan\" width=\"{:.1f}\" height=\"{:.1f}\"/>",
      only < 0 ? "The sheet from above, webs that snag numbered" : fmt::format("Web {} on the sheet", only),
      -unit, -unit, size.x + 2 * unit, size.y + 2 * unit, size.x, size.y);
  std::string numbers;
  for (const WebRow& row : answer.rows) {
    if (only >= 0 ? row.web != only : !row.snags)
      continue;
    const auto web =
        std::find_if(p.webs.begin(), p.webs.end(), [&](const WebFound& w) { return w.id == row.web; });
    if (web != p.webs.end() && !web->island && web->midline_mm.size() > 1) {
      std::string points;
      for (const Vec2 q : web->midline_mm)
        points += fmt::format("{:.1f},{:.1f} ", at(q).x, at(q).y);
      out += fmt::format("<polyline points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{:.1f}\"/>",
                         points, row.snags ? "#d53214" : "#15506b", std::max(1.5 * unit, 0.6 * web->w_mm));
    } else if (web != p.webs.end() && web->island)
      out += fmt::format("<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"{:.1f}\" fill=\"#d53214\"/>",
                         at(middle_of(*web)).x, at(middle_of(*web)).y, 0.5 * web->w_mm);
    const Vec2 middle = at(xy(row.place.at_mm));
    if (only >= 0) {
      out += fmt::format("<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"{:.1f}\" fill=\"none\" stroke=\"#1c2026\" "
                         "stroke-width=\"{:.1f}\"/>",
                         middle.x, middle.y, 5 * unit, 0.8 * unit);
      continue;
    }
    const double r = 2.6 * unit;
    const Vec2 badge{std::clamp(middle.x, r, size.x - r), std::clamp(middle.y, r, size.y - r)};
    numbers +=
        fmt::format("<a href=\"#web-{0}\" aria-label=\"Web {0}\"><circle cx=\"{1:.1f}\" cy=\"{2:.1f}\" "
                    "r=\"{3:.1f}\" fill=\"#ffffff\" stroke=\"#b82a10\" stroke-width=\"{4:.1f}\"/><text "
                    "x=\"{1:.1f}\" y=\"{5:.1f}\" font-size=\"{6:.1f}\">{0}</text></a>",
                    row.web, badge.x, badge.y, r, 0.5 * unit, badge.y + 1.1 * unit, 3.1 * unit);
  }
  return out + numbers + "</svg>\n";
}

std::string setup_sheet_html(const Preview& p, const JobAnswer& answer, const ReportLinks& links) {
  const Shown shown{p.scene.show_inch};
  const Alarm alarm;
  std::string out =
      fmt::format("<section aria-label=\"Verdict\" class=\"verdict{}\">\n<p><strong>{}</strong></p>\n",
                  alarms(p, alarm) ? " alarm" : "", escaped(headline(p, answer, alarm)));
  for (const std::string& sentence : remedies(p, answer))
    out += "<p>" + escaped(sentence) + "</p>\n";
  out += "</section>\n<section class=\"setup\" aria-label=\"Set-up\">\n<div>\n" + setup_list(p, shown) +
         "</div>\n<figure id=\"plan\">" + plan_svg(p, answer) +
         "<figcaption>From above, Y up. Webs are numbered from left to right; a number leads to its "
         "web.</figcaption></figure>\n</section>\n";
  if (answer.snag > 0)
    out += "<section id=\"decisions\">\n" + decisions(p, answer, links, shown) + "</section>\n";
  out += what_stops(p, shown);
  out += "<p><strong>Check by hand:</strong> " + escaped(by_hand(p)) + "</p>\n";
  return out + "<p class=\"sign\"><span>Checked by</span><span>Date</span><span>Cut with the changes "
               "ticked</span></p>\n";
}

std::string web_facts_html(const Preview& p, const WebRow& row, const ReportLinks& links) {
  const Shown shown{p.scene.show_inch};
  const Spot& spot = p.spots[row.spot];
  std::string out =
      entry_html("Size", fmt::format("{} thick, {} high, {} long", shown.length(spot.question.web.w_mm, 1),
                                     shown.length(spot.question.web.h_mm, 1),
                                     shown.length(spot.question.web.length_mm(), 0)));
  out += entry_html("S",
                    fmt::format("{} ({} to {}), {}{}", snag_text(spot.answer.s), snag_text(spot.answer.s_low),
                                snag_text(spot.answer.s_high), to_text(spot.level()),
                                spot.solved() ? "; finite elements" : "; by the formula"));
  out += fmt::format(
      "<dt>When</dt><dd>layer {} of its side, line {}, {} into the program; {}</dd>\n", spot.pass,
      links.line(spot.program_line), time_text(spot.time_s),
      fmt::format("<a href=\"#row-{}\">spot {} of {}</a>", row.spot + 1, row.spot + 1, p.spots.size()));
  out += entry_html("Decided by", decided_by(spot, shown));
  out += entry_html("Cleared by", clears_text(row, shown));
  return out;
}

std::string web_blocks_html(const Preview& p, const JobAnswer& answer, const ReportLinks& links,
                            const std::string& picture_folder, const SpaceScene* space) {
  const Shown shown{p.scene.show_inch};
  std::string out;
  std::size_t n = 0;
  for (const WebRow& row : answer.rows) {
    if (!row.snags || n++ >= kWebsDecided)
      continue;
    const Spot& spot = p.spots[row.spot];
    out += fmt::format("<article id=\"web-{0}\">\n<h3>Web {0}, <span>{1}</span></h3>\n", row.web,
                       escaped(words_of(row.place, shown)));
    const std::string name = fmt::format("web-{}", row.web);
    if (links.has(name))
      out += figure_html(
          picture_folder, name,
          fmt::format("Web {}, {} thick and {} tall, beside the cutter in its bent shape; it {}. {}", row.web,
                      shown.length(spot.question.web.w_mm), shown.length(spot.question.web.h_mm),
                      to_text(spot.level()), reason_of(spot, shown)));
    out += "<div class=\"where\">" + plan_svg(p, answer, row.web) + "<dl>\n";
    out += web_facts_html(p, row, links);
    out += "</dl></div>\n<p class=\"back\"><a href=\"#plan\">Back to the plan</a>" +
           turn_link(row.web, space) + "</p>\n</article>\n";
  }
  return out.empty() ? out : "<div class=\"blocks\">\n" + out + "</div>\n";
}

std::string web_table_html(const Preview& p, const JobAnswer& answer, const ReportLinks& links) {
  const Shown shown{p.scene.show_inch};
  std::string out = fmt::format("<table class=\"cards\" role=\"table\">\n<caption>All {} webs, worst first. "
                                "Lengths in {}.</caption>\n<thead role=\"rowgroup\"><tr role=\"row\">",
                                answer.rows.size(), shown.unit());
  for (const char* head :
       {"Web", "Where", "Level", "S (range)", "Thick", "High", "Would hold from", "Cleared by", "Line"})
    out += fmt::format("<th role=\"columnheader\" scope=\"col\">{}</th>", head);
  out += "</tr></thead>\n<tbody role=\"rowgroup\">\n";
  std::size_t n = 0;
  for (const WebRow& row : answer.rows) {
    const Spot& spot = p.spots[row.spot];
    const bool block = row.snags && n++ < kWebsDecided;
    out +=
        fmt::format("<tr role=\"row\"><th role=\"rowheader\" scope=\"row\" data-h=\"Web\">{}</th>",
                    block ? fmt::format("<a href=\"#web-{0}\">{0}</a>", row.web) : std::to_string(row.web));
    out += cell("Where", escaped(words_of(row.place, shown)));
    out += cell("Level", std::string("<span class=\"level ") + to_text(row.level) + "\">" +
                             to_text(row.level) + "</span>" + (row.may_snag ? ", may snag" : ""));
    out += cell("S (range)", escaped(band_text(spot.answer.s, spot.answer.s_low, spot.answer.s_high)));
    out += cell("Thick", shown.number(spot.question.web.w_mm, 1), true);
    out += cell("High", shown.number(spot.question.web.h_mm, 1), true);
    out += cell("Would hold from", row.least_w_mm > 0 ? shown.number(row.least_w_mm, 1) : "none found", true);
    std::string cleared;
    for (const std::string& one : row.cleared_by)
      cleared += (cleared.empty() ? "" : "; ") + one;
    out += cell("Cleared by", escaped(row.snags && cleared.empty() ? "nothing tried" : cleared));
    out += cell("Line", links.line(spot.program_line), true);
    out += "</tr>\n";
  }
  return out + "</tbody>\n</table>\n";
}

std::string figure_html(const std::string& folder, const std::string& name, const std::string& alternative,
                        const std::string& caption) {
  std::ifstream file(folder + "/" + name + ".png", std::ios::binary);
  const std::vector<std::uint8_t> bytes{std::istreambuf_iterator<char>(file),
                                        std::istreambuf_iterator<char>()};
  if (bytes.empty())
    return "";
  std::string out = fmt::format("<figure id=\"picture-{0}\"><a href=\"#picture-{0}\" title=\"Enlarge\"><img "
                                "alt=\"{1}\" src=\"data:image/png;base64,",
                                name, escaped(alternative));
  out += base64(bytes);
  out += "\"></a>";
  if (!caption.empty())
    out += "<figcaption>" + caption + "</figcaption>";
  return out + "</figure>\n";
}

} // namespace snagmap
