#include "viz/report/report.hpp"

#include "sim/advice/advice.hpp"
#include "sim/checks/job_checks.hpp"
#include "viz/draw/drawing.hpp"
#include "viz/report/basis.hpp"
#include "viz/report/setup_sheet.hpp"
#include "viz/report/space_part.hpp"
#include "viz/report/stops.hpp"
#include "viz/report/style.hpp"
#include "viz/report/table.hpp"
#include "viz/words/advice_words.hpp"
#include "viz/words/run_lines.hpp"
#include "viz/words/shown.hpp"
#include "viz/words/spot_words.hpp"

#include <fmt/format.h>

namespace snagmap {
namespace {

class Report {
public:
  Report(const Preview& preview, const std::string& folder, const std::vector<std::string>& pictures,
         const std::string& missing, const SpaceScene* space)
      : p_(preview), shown_{preview.scene.show_inch}, folder_(folder), missing_(missing), space_(space),
        answer_(job_answer(preview)) {
    for (const std::string& name : pictures)
      if (name.size() > 4 && name.substr(name.size() - 4) == ".png")
        links_.pictures.push_back(name.substr(0, name.size() - 4));
    links_.program = quoted_lines(preview);
  }

  std::string run() {
    head();
    out_ += plan_symbol(p_) + setup_sheet_html(p_, *answer_, links_);
    pictures_missing();
    caution_part();
    contents();
    sheet_and_webs();
    advice();
    folded("all-webs", "All webs", [this] { webs(); });
    folded("spots-part", "Spots: each web, side and layer", [this] { spots(); });
    findings();
    run_part();
    folded("maps", "Maps and charts", [this] { other_pictures(); });
    if (!links_.program.empty())
      folded("program", "The program at the spots and findings",
             [this] { out_ += program_html(p_, links_); });
    folded("how", "How the snag number was got", [this] { out_ += how_html(p_, shown_); });
    folded("assumed", "What was assumed", [this] { out_ += assumed_html(p_, shown_); });
    folded("scene", "The scene as read", [this] { out_ += scene_html(p_, shown_); });
    out_ +=
        "</main>\n<footer><p>snagmap " SNAGMAP_VERSION
        ". Predictions with stated uncertainty. What is folded is not printed: open it first.</p></footer>\n"
        "<script>";
    out_ += kReportScript;
    out_ += "</script>\n";
    if (space_)
      out_ += space_data_html(p_, *space_);
    out_ += "</body>\n</html>\n";
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
            "<a class=\"skip\" href=\"#all-webs\">To the table of webs</a>\n<header><h1>" +
            escaped(title()) + "</h1></header>\n<main>\n";
  }

  /// A part that a click, or a link into it, opens.
  template <class Part> void folded(const char* id, const char* title, const Part& part) {
    out_ += fmt::format("<details id=\"{}\">\n<summary><h2>{}</h2></summary>\n", id, title);
    part();
    out_ += "</details>\n";
  }

  void caution_part() { out_ += cautions_html(); }

  void contents() {
    out_ += "<nav aria-label=\"Contents\"><h2>Contents</h2>\n<p>";
    if (answer_->snag > 0)
      out_ +=
          "<a href=\"#decisions\">Webs that need a decision</a> &middot; <a href=\"#webs\">Each of them</a> "
          "&middot; ";
    if (space_ || has("sheet"))
      out_ += fmt::format("<a href=\"#{}\">The sheet</a> &middot; ", space_ ? "space" : "picture-sheet");
    if (p_.advice)
      out_ += "<a href=\"#advice\">What would help</a> &middot; ";
    out_ += "<a href=\"#all-webs\">All webs</a> &middot; <a href=\"#spots-part\">Spots</a> &middot; <a "
            "href=\"#findings\">Findings</a> &middot; ";
    if (p_.checks && !p_.checks->timeline.stops.empty())
      out_ += "<a href=\"#stops\">Stops</a> &middot; ";
    out_ += "<a href=\"#maps\">Maps and charts</a> &middot; <a href=\"#how\">How S was got</a> &middot; <a "
            "href=\"#assumed\">What was assumed</a> &middot; <a href=\"#scene\">The scene</a></p></nav>\n";
  }

  void sheet_and_webs() {
    if (space_)
      out_ += space_part_html(p_, *answer_, links_, *space_);
    picture("sheet");
    if (answer_->snag == 0)
      return;
    out_ += "<section id=\"webs\">\n<h2>The webs that snag</h2>\n" +
            web_blocks_html(p_, *answer_, links_, folder_, space_) + "</section>\n";
  }

  void webs() {
    if (answer_->rows.empty())
      out_ += "<p>No web was found beside the cutter anywhere along the path.</p>\n";
    else
      out_ += web_table_html(p_, *answer_, links_);
    for (const WebRow& row : answer_->rows) // close-ups of a job where nothing snags
      if (!row.snags)
        picture(fmt::format("web-{}", row.web));
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
    folded("findings", "Findings beside the webs",
           [this] { out_ += p_.findings.empty() ? "<p>None.</p>\n" : findings_html(p_, links_); });
    if (const std::string stops = stops_html(p_, links_); !stops.empty())
      folded("stops", "Where to stop and look", [&] { out_ += stops; });
  }

  void run_part() {
    const auto lines = run_lines(p_);
    if (lines.empty())
      return;
    folded("run", "Time, feed, chips", [&] {
      out_ += "<dl>\n";
      for (const auto& [name, words] : lines)
        out_ += entry_html(name.c_str(), words);
      out_ += "</dl>\n";
      picture("feed");
    });
  }

  void advice() {
    if (!p_.advice)
      return;
    const std::vector<AdvicePart> parts = advice_parts(*p_.advice, shown_);
    out_ += "<section id=\"advice\">\n";
    for (std::size_t n = 0; n < parts.size(); ++n) {
      if (n == 1)
        out_ += "<details>\n<summary>Trades, and what was tried without gain</summary>\n";
      out_ += fmt::format("<h2>{}</h2>\n", escaped(parts[n].title));
      if (n == 0)
        out_ +=
            "<p>Each was tried in the model by the formula, on the changed scene or program. What the snag "
            "number cannot see is said so.</p>\n";
      out_ += list_html(parts[n].lines);
    }
    out_ += parts.size() > 1 ? "</details>\n</section>\n" : "</section>\n";
  }

  void picture(const std::string& name) {
    if (has(name))
      out_ += figure_html(folder_, name, alternative(name));
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
    if (name.rfind("web-", 0) == 0)
      return fmt::format("Web {} beside the cutter in its bent shape.", name.substr(4));
    return name;
  }

  void spots() { out_ += p_.spots.empty() ? "<p>None.</p>\n" : spot_table_html(p_, links_); }

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
      out_ += fmt::format("<h3>{}</h3>\n", heading);
      picture(name);
    }
  }

  const Preview& p_;
  Shown shown_;
  std::string folder_, missing_, out_;
  const SpaceScene* space_;
  ReportLinks links_;
  std::shared_ptr<const JobAnswer> answer_;
};

} // namespace

std::string report_html(const Preview& preview, const std::string& folder,
                        const std::vector<std::string>& pictures, const std::string& missing,
                        const SpaceScene* space) {
  return Report(preview, folder, pictures, missing, space).run();
}

} // namespace snagmap
