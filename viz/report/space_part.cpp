#include "viz/report/space_part.hpp"

#include "viz/draw/deflate.hpp"
#include "viz/draw/drawing.hpp"
#include "viz/report/setup_sheet.hpp"
#include "viz/space/scripts.hpp"
#include "viz/words/shown.hpp"
#include "viz/words/space_words.hpp"
#include "viz/words/web_words.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <string_view>

namespace snagmap {
namespace {

using Json = nlohmann::ordered_json;

Json json_of(Vec3 p) {
  return {p.x, p.y, p.z};
}
Json json_of(const Box3& box) {
  return {{"low", json_of(box.low)}, {"high", json_of(box.high)}};
}
Json json_of(Colour c) {
  return {c.r, c.g, c.b};
}

/// The head of a packed mesh, as unpack.js wants it.
Json json_of(const PackedMesh& mesh) {
  Json palette = Json::array();
  for (const Colour c : mesh.palette)
    palette.insert(palette.end(), {c.r, c.g, c.b});
  return {{"points", mesh.points}, {"triangles", mesh.triangles}, {"low", json_of(mesh.low_mm)},
          {"step", mesh.step_mm},  {"lean", mesh.lean_mm},        {"palette", palette}};
}

Json json_of(const SpaceWeb& web) {
  Json edges = Json::array();
  for (const std::vector<Vec3>& edge : web.edges_mm) {
    Json line = Json::array();
    for (const Vec3 p : edge)
      line.push_back(json_of(p));
    edges.push_back(std::move(line));
  }
  return {{"web", web.row->web},
          {"foam", json_of(web.foam)},
          {"cutter", json_of(web.cutter)},
          {"edges", std::move(edges)},
          {"toward", {web.toward.x, web.toward.y}},
          {"badge", json_of(web.badge_mm)},
          {"room", json_of(web.room)},
          {"turn", web.turn_deg}};
}

std::string data(const std::string& id, const std::vector<std::uint8_t>& bytes) {
  return fmt::format("<script type=\"text/plain\" id=\"{}\">{}</script>\n", id, base64(bytes));
}

std::vector<std::uint8_t> bytes_of(std::string_view text) {
  return {text.begin(), text.end()};
}

std::string swatch(Colour colour, const char* words) {
  return fmt::format("<span><i style=\"background:{}\"></i>{}</span>", to_hex(colour), words);
}

std::string legend_html() {
  std::string stops;
  for (int k = 0; k <= 8; ++k)
    stops += fmt::format("{}{}", k ? "," : "", to_hex(cividis(k / 8.0)));
  return fmt::format("<p class=\"space-legend\"><span>S 0 <i class=\"scale\" "
                     "style=\"background:linear-gradient(to right,{})\"></i> 1</span>{}{}{}{}{}</p>\n",
                     stops, swatch(kAlarm, "1 and more: snags or tears"), swatch(kFoam, "foam"),
                     swatch(kFlutes, "flutes"), swatch(kNeck, "neck"), swatch(kShank, "shank, nut"));
}

/// The web's numbers: those of its block, word for word.
std::string web_facts(const Preview& p, const JobAnswer& answer, const ReportLinks& links,
                      const SpaceWeb& web) {
  const Shown shown{p.scene.show_inch};
  const Spot& spot = p.spots[web.row->spot];
  std::string out = fmt::format(
      "<div class=\"space-web\" id=\"space-web-{0}\" hidden>\n<h3>Web {0} {1}, <span>{2}</span></h3>\n",
      web.row->web, to_text(web.row->level), escaped(words_of(web.row->place, shown)));
  out += plan_svg(p, answer, web.row->web) + "<dl>\n";
  out += web_facts_html(p, *web.row, links);
  if (const auto line = links.program.find(spot.program_line); line != links.program.end())
    out += fmt::format("<dt>Line</dt><dd><code>{}</code></dd>\n", escaped(line->second));
  return out + fmt::format("</dl>\n<p{}>{}</p>\n<p><small>{}</small></p>\n</div>\n",
                           web.shape_only ? " class=\"stop\"" : "",
                           escaped(lean_words(web.shape_only, web.factor)), escaped(space_web_words()));
}

/// The view, and under it the slider and the legend.
std::string stage_html() {
  return "<div>\n<div class=\"space-stage\"><canvas tabindex=\"0\" role=\"img\" aria-label=\"" +
         escaped(space_sheet_words() + " " + space_keys()) +
         "\"></canvas><div class=\"space-badges\" aria-hidden=\"true\"></div><div "
         "class=\"space-bar\"><i></i><span></span></div></div>\n<p class=\"space-lean\" "
         "hidden><label>Upright "
         "<input type=\"range\" min=\"0\" max=\"100\" value=\"100\" aria-label=\"How far the web leans, from "
         "rest "
         "to the shape it is pulled into\"> pulled</label> <label><input type=\"checkbox\" checked> "
         "cutter</label></p>\n" +
         legend_html() + "</div>\n";
}

/// One button a web, told in words.
std::string buttons_html(const Preview& p, const SpaceScene& scene) {
  const Shown shown{p.scene.show_inch};
  std::string out =
      "<div class=\"space-list\" role=\"group\" aria-label=\"What is shown\"><button type=\"button\" "
      "data-web=\"\" aria-pressed=\"true\">Whole sheet</button>";
  for (const SpaceWeb& web : scene.webs) {
    const Spot& spot = p.spots[web.row->spot];
    out += fmt::format("<button type=\"button\" class=\"{}\" data-web=\"{}\" aria-pressed=\"false\" "
                       "aria-label=\"{}\">{} <small>S {}</small></button>",
                       to_text(web.row->level), web.row->web, escaped(web_aloud(*web.row, spot, shown)),
                       web.row->web, snag_text(spot.s()));
  }
  out += "</div>\n";
  if (scene.left_out > 0)
    out += "<p><small>" + escaped(space_left_out(scene.webs.size(), scene.left_out)) + "</small></p>\n";
  return out;
}

} // namespace

std::string space_part_html(const Preview& p, const JobAnswer& answer, const ReportLinks& links,
                            const SpaceScene& scene) {
  std::string out =
      "<section id=\"space\" aria-labelledby=\"space-head\">\n<div class=\"space\" hidden>\n<h2 "
      "id=\"space-head\">The sheet in space</h2>\n<div class=\"space-grid\">\n" +
      stage_html() + "<div class=\"space-side\" aria-live=\"polite\">\n" + buttons_html(p, scene);
  out += fmt::format("<div class=\"space-web\" id=\"space-whole\"><p>{}</p>\n<p><small>{}</small></p>",
                     escaped(space_sheet_words()), escaped(space_keys()));
  if (links.has("sheet"))
    out += "<p class=\"back\"><a href=\"#picture-sheet\">The same as a still picture</a></p>";
  out += "</div>\n";
  for (const SpaceWeb& web : scene.webs)
    out += web_facts(p, answer, links, web);
  return out + "</div>\n</div>\n</div>\n</section>\n";
}

std::string space_data_html(const Preview& p, const SpaceScene& scene) {
  const Shown shown{p.scene.show_inch};
  Json json{{"sheet", json_of(scene.sheet)}, {"foam", json_of(kFoam)},      {"unit", shown.unit()},
            {"unit_mm", shown.unit_mm()},    {"skin", json_of(scene.skin)}, {"webs", Json::array()}};
  std::string out = data("space-sheet", scene.skin.bytes);
  for (const SpaceWeb& web : scene.webs) {
    json["webs"].push_back(json_of(web));
    out += data(fmt::format("space-foam-{}", web.row->web), web.foam.bytes);
    out += data(fmt::format("space-cutter-{}", web.row->web), web.cutter.bytes);
  }
  out += "<script type=\"application/json\" id=\"space-scene\">" + json.dump() + "</script>\n";
  out += std::string("<!--\n") + kThreeLicence + "-->\n" + data("three", deflated(bytes_of(kThreeJs)));
  return out + "<script>\n(function(){'use strict';\n" + kSpaceUnpackJs + kSpaceViewJs + kSpacePageJs +
         "})();\n</script>\n";
}

} // namespace snagmap
