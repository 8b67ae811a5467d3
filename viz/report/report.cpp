#include "viz/report/report.hpp"

#include "sim/advice/advice.hpp"
#include "viz/draw/drawing.hpp"
#include "viz/draw/page.hpp"
#include "viz/report/basis.hpp"
#include "viz/report/stops.hpp"
#include "viz/report/style.hpp"
#include "viz/report/table.hpp"
#include "viz/words/advice_words.hpp"
#include "viz/words/run_lines.hpp"
#include "viz/words/shown.hpp"
#include "viz/words/spot_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <iterator>
#include <utility>

namespace snagmap {
namespace {

class Report {
public:
  Report(const Preview& preview, const std::string& folder, const std::vector<std::string>& pictures,
         const std::string& missing)
      : p_(preview), shown_{preview.scene.show_inch}, folder_(folder), missing_(missing) {
    for (const std::string& name : pictures)
      if (name.size() > 4 && name.substr(name.size() - 4) == ".png")
        links_.pictures.push_back(name.substr(0, name.size() - 4));
    links_.program = quoted_lines(preview);
  }

  std::string run() {
    head();
    verdict();
    pictures_missing();
    advice();
    picture("sheet");
    spot_pictures();
    spots();
    findings();
    run_part();
    program();
    out_ += how_html(p_, shown_);
    other_pictures();
    out_ += assumed_html(p_, shown_) + cautions_html() + scene_html(p_, shown_);
    out_ += "</main>\n<footer><p>snagmap " SNAGMAP_VERSION
            ". Predictions with stated uncertainty.</p></footer>\n<script>";
    out_ += kReportScript;
    out_ += "</script>\n</body>\n</html>\n";
    return std::move(out_);
  }

private:
  bool has(const std::string& name) const { return links_.has(name); }
  std::string title() const { return p_.scene.title.empty() ? "Preview of a foam cut" : p_.scene.title; }

  void head() {
    out_ += "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
            "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<link rel=\"icon\" "
            "href=\"data:,\">\n";
    out_ += "<title>" + escaped(title()) + ": snag preview</title>\n<style>" + kReportStyle +
            "</style>\n</head>\n<body>\n"
            "<a class=\"skip\" href=\"#spots-part\">To the table of spots</a>\n<header><h1>" +
            escaped(title()) + "</h1></header>\n<main>\n";
  }

  void verdict() {
    const bool snags =
        std::any_of(p_.spots.begin(), p_.spots.end(), [](const Spot& s) { return s.s() >= 1; });
    const bool stops =
        std::any_of(p_.findings.begin(), p_.findings.end(), [](const Finding& f) { return f.stops_job; });
    out_ += fmt::format("<section aria-label=\"Verdict\" class=\"verdict{}\">\n<p><strong>{}</strong></p>\n",
                        snags || stops ? " alarm" : "", escaped(finding_of(p_)));
    if (snags)
      out_ += "<p>Why: " + escaped(reason_of(p_.spots.front(), shown_)) + ".</p>\n";
    const auto open = std::count_if(p_.spots.begin(), p_.spots.end(), [](const Spot& s) { return s.open(); });
    if (open > 0)
      out_ += fmt::format("<p>{} of {} spots {} open: the band of the snag number crosses 1. A cut test of "
                          "the same foam (a coupon) would close the band.</p>\n",
                          open, p_.spots.size(), open == 1 ? "is" : "are");
    if (stops) {
      const auto count =
          std::count_if(p_.findings.begin(), p_.findings.end(), [](const Finding& f) { return f.stops_job; });
      out_ += fmt::format(
          "<p>{} further finding{} should stop the job: see <a href=\"#findings\">findings</a>.</p>\n", count,
          count == 1 ? "" : "s");
    }
    out_ += fmt::format("<p>Program time {}; {} samples of the path watched.</p>\n</section>\n",
                        time_text(p_.motion.total_s()), p_.sample_count);
  }

  void pictures_missing() {
    if (!missing_.empty())
      out_ += fmt::format(
          "<p id=\"missing\"><strong>{}</strong> {}. The numbers are whole: they do not rest on "
          "the pictures.</p>\n",
          links_.pictures.empty()
              ? std::string("No pictures stand here.")
              : fmt::format("Only {} pictures stand here, the others are missing.", links_.pictures.size()),
          escaped(missing_));
  }

  void findings() {
    if (!p_.findings.empty())
      out_ += "<h2 id=\"findings\">Findings beside the webs</h2>\n" + findings_html(p_, links_);
    out_ += stops_html(p_, links_);
  }

  void run_part() {
    const auto lines = run_lines(p_);
    if (lines.empty())
      return;
    out_ += "<h2 id=\"run\">Time, feed, chips</h2>\n<dl>\n";
    for (const auto& [name, words] : lines)
      out_ += entry_html(name.c_str(), words);
    out_ += "</dl>\n";
    picture("feed");
  }

  void advice() {
    if (!p_.advice)
      return;
    out_ += "<section id=\"advice\">\n";
    bool first = true;
    for (const AdvicePart& part : advice_parts(*p_.advice, shown_)) {
      out_ += fmt::format("<h2>{}</h2>\n", escaped(part.title));
      if (std::exchange(first, false))
        out_ +=
            "<p>Each was tried in the model by the formula, on the changed scene or program. What the snag "
            "number cannot see is said so.</p>\n";
      out_ += list_html(part.lines);
    }
    out_ += "</section>\n";
  }

  void picture(const std::string& name, const std::string& caption = "") {
    if (!has(name))
      return;
    std::ifstream file(folder_ + "/" + name + ".png", std::ios::binary);
    const std::vector<std::uint8_t> bytes{std::istreambuf_iterator<char>(file),
                                          std::istreambuf_iterator<char>()};
    if (bytes.empty())
      return;
    out_ += fmt::format("<figure id=\"picture-{}\"><img alt=\"{}\" src=\"data:image/png;base64,", name,
                        escaped(alternative(name)));
    out_ += base64(bytes);
    out_ += "\">";
    if (!caption.empty())
      out_ += "<figcaption>" + caption + "</figcaption>";
    out_ += "</figure>\n";
  }

  std::string alternative(const std::string& name) const {
    if (name == "sheet")
      return "The cut sheet from above and in front, webs painted by snag number. " + finding_of(p_);
    if (name == "map-snag")
      return "The sheet from above with the snag number along every wall. " + finding_of(p_);
    if (name == "map-thickness")
      return "The sheet from above with the thickness of the web beside the cutter.";
    if (name == "map-feed")
      return "The sheet from above with the real feed along the path, as share of the programmed feed.";
    if (name == "map-chip")
      return "The sheet from above with the real chip load along the path.";
    if (name == "map-strands")
      return "The sheet from above with the longest unbroken ways of the cutter in foam, and where a lift "
             "would break them.";
    if (name == "map-walls")
      return "The sheet from above with the error of finished walls against the tolerance.";
    if (name == "tool")
      return "Side view of each cutter against the deepest wall: flutes, neck, shank, stick-out and nut.";
    if (name == "hold-down")
      return "The sheet from above and from the side with its zero and hold-down.";
    if (name == "timeline")
      return "Snag number and lean against program time. " + finding_of(p_);
    if (name == "feed")
      return "Real feed and chip load against program time, with the programmed feed and the least chip of "
             "the cutter.";
    if (name == "narrowest")
      return "Narrowest web that holds against flute length, a curve for each foam with its band.";
    if (name.rfind("spot-", 0) == 0) {
      const auto i = static_cast<std::size_t>(std::max(1, std::atoi(name.c_str() + 5))) - 1;
      if (i < p_.spots.size()) {
        const Spot& s = p_.spots[i];
        return fmt::format(
            "Spot {}: the web, {} thick and {} tall, beside the cutter in its bent shape; it {}. {}", i + 1,
            shown_.length(s.question.web.w_mm), shown_.length(s.question.web.h_mm), to_text(s.level()),
            reason_of(s, shown_));
      }
    }
    return name;
  }

  void spots() {
    out_ += "<h2 id=\"spots-part\">Spots</h2>\n";
    if (p_.spots.empty()) {
      out_ += "<p>No web was found beside the cutter anywhere along the path.</p>\n";
      return;
    }
    out_ += spot_table_html(p_, links_);
  }

  void spot_pictures() {
    bool any = false;
    for (std::size_t i = 0; i < p_.spots.size(); ++i) {
      const std::string name = fmt::format("spot-{}", i + 1);
      if (!has(name))
        continue;
      if (!any)
        out_ += "<h2>The worst spots close up</h2>\n";
      any = true;
      picture(name, fmt::format("<a href=\"#row-{0}\">Row {0} of the table</a>, program line {1}", i + 1,
                                links_.line(p_.spots[i].program_line)));
    }
  }

  void program() {
    if (links_.program.empty())
      return;
    out_ += "<h2>The program at the spots and findings</h2>\n" + program_html(p_, links_);
  }

  void other_pictures() {
    static const std::pair<const char*, const char*> kOthers[] = {{"map-snag", "Map of the snag number"},
                                                                  {"map-thickness", "Map of web thickness"},
                                                                  {"map-feed", "Map of real feed"},
                                                                  {"map-chip", "Map of chip load"},
                                                                  {"map-strands", "Longest strands"},
                                                                  {"map-walls", "Finished walls"},
                                                                  {"tool", "Cutters"},
                                                                  {"hold-down", "Sheet and hold-down"},
                                                                  {"timeline", "Along the program"},
                                                                  {"narrowest", "Narrowest webs"}};
    for (const auto& [name, heading] : kOthers) {
      if (!has(name))
        continue;
      out_ += fmt::format("<h2>{}</h2>\n", heading);
      picture(name);
    }
  }

  const Preview& p_;
  Shown shown_;
  std::string folder_, missing_, out_;
  ReportLinks links_;
};

} // namespace

std::string report_html(const Preview& preview, const std::string& folder,
                        const std::vector<std::string>& pictures, const std::string& missing) {
  return Report(preview, folder, pictures, missing).run();
}

} // namespace snagmap
