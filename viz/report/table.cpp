#include "viz/report/table.hpp"

#include "viz/draw/drawing.hpp"
#include "viz/draw/page.hpp"
#include "viz/words/finding_words.hpp"
#include "viz/words/shown.hpp"
#include "viz/words/spot_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <fstream>

namespace snagmap {
namespace {

constexpr long kProgramLimit_bytes = 200L << 20;
constexpr std::size_t kOfAKind = 12; // findings of one kind listed
constexpr std::int32_t kAround = 2;  // program lines quoted on either side

std::string number_text(double v) {
  return fmt::format("{:.6g}", v);
}

std::string level_words(Level level) {
  return fmt::format("<span class=\"level {0}\">{0}</span>", to_text(level));
}

/// Findings of one kind, in the order found.
struct Kind {
  FindingKind kind = FindingKind::large_sheet;
  bool stops = false;
  std::vector<const Finding*> findings;
};

std::vector<Kind> kinds_of(const Preview& preview) {
  std::vector<Kind> kinds;
  for (const Finding& f : preview.findings) {
    auto at = std::find_if(kinds.begin(), kinds.end(),
                           [&](const Kind& k) { return k.kind == f.kind() && k.stops == f.stops_job; });
    if (at == kinds.end())
      at = kinds.insert(kinds.end(), Kind{f.kind(), f.stops_job, {}});
    at->findings.push_back(&f);
  }
  std::stable_partition(kinds.begin(), kinds.end(), [](const Kind& k) { return k.stops; });
  return kinds;
}

/// "rapid-in-foam" as "Rapid in foam".
std::string spelled(std::string kind) {
  std::replace(kind.begin(), kind.end(), '-', ' ');
  if (!kind.empty())
    kind[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(kind[0])));
  return kind;
}

/// Who asks for a program line: "spot 3", "rapid in foam".
std::map<std::int32_t, std::vector<std::string>> asked_lines(const Preview& preview) {
  std::map<std::int32_t, std::vector<std::string>> asked;
  for (std::size_t i = 0; i < std::min(kSpotsListed, preview.spots.size()); ++i)
    asked[preview.spots[i].program_line].push_back(fmt::format("<a href=\"#row-{0}\">spot {0}</a>", i + 1));
  for (const Kind& kind : kinds_of(preview))
    for (std::size_t i = 0; i < std::min(kOfAKind, kind.findings.size()); ++i)
      if (kind.findings[i]->program_line > 0)
        asked[kind.findings[i]->program_line].push_back(
            fmt::format("<a href=\"#findings\">{}</a>", to_text(kind.kind)));
  return asked;
}

} // namespace

bool ReportLinks::has(const std::string& picture) const {
  return std::find(pictures.begin(), pictures.end(), picture) != pictures.end();
}

std::string ReportLinks::picture_of(const Preview& preview, std::size_t rank) const {
  const std::string own = fmt::format("web-{}", preview.spots[rank].web);
  if (has(own))
    return own;
  for (const char* name : {"map-snag", "sheet"})
    if (has(name))
      return name;
  return "";
}

std::string ReportLinks::line(std::int32_t number) const {
  return program.count(number) ? fmt::format("<a href=\"#line-{0}\">{0}</a>", number)
                               : std::to_string(number);
}

std::map<std::int32_t, std::string> quoted_lines(const Preview& preview) {
  std::map<std::int32_t, std::string> lines;
  for (const auto& [line, who] : asked_lines(preview))
    for (std::int32_t k = -kAround; k <= kAround; ++k)
      lines[line + k];
  std::ifstream file(preview.scene.program_file, std::ios::binary | std::ios::ate);
  if (!file || file.tellg() > kProgramLimit_bytes)
    return {};
  file.seekg(0);
  std::map<std::int32_t, std::string> quoted;
  std::string text;
  for (std::int32_t n = 1; std::getline(file, text); ++n)
    if (lines.count(n))
      quoted[n] = text.substr(0, text.find('\r'));
  return quoted;
}

std::string cell(const std::string& head, const std::string& html, bool number, const std::string& value) {
  return fmt::format("<td role=\"cell\"{} data-h=\"{}\"{}>{}</td>", number ? " class=\"n\"" : "", head,
                     value.empty() ? "" : " data-v=\"" + value + "\"", html);
}

std::string spot_table_html(const Preview& preview, const ReportLinks& links) {
  const Shown shown{preview.scene.show_inch};
  const std::size_t n = std::min(kSpotsListed, preview.spots.size());
  std::string out = fmt::format(
      "<table id=\"spots\" class=\"cards\" role=\"table\">\n<caption>{} of {} spots, worst first. S is the "
      "snag number: 1 is the edge. Lengths in {}.</caption>\n<thead role=\"rowgroup\"><tr role=\"row\">",
      n, preview.spots.size(), shown.unit());
  struct Head {
    const char* words;
    bool number;
  };
  static constexpr Head kHeads[] = {
      {"Spot", true},    {"Web", true},  {"Level", false},        {"S and its band", false},
      {"Line", true},    {"Time", true}, {"Place X, Y, Z", true}, {"w", true},
      {"h", true},       {"L", true},    {"Flutes", true},        {"Lean", true},
      {"Picture", false}};
  for (const Head& head : kHeads)
    out += fmt::format("<th role=\"columnheader\" scope=\"col\"{}>{}</th>", head.number ? " class=\"n\"" : "",
                       head.words);
  out += "</tr></thead>\n<tbody role=\"rowgroup\">\n";
  for (std::size_t i = 0; i < n; ++i) {
    const Spot& spot = preview.spots[i];
    const auto length = [&](const char* head, double mm) {
      return cell(head, shown.number(mm), true, number_text(mm));
    };
    const SnagBand band = band_of(spot);
    out += fmt::format("<tr role=\"row\" id=\"row-{0}\"><th role=\"rowheader\" scope=\"row\" class=\"n\" "
                       "data-h=\"Spot\" data-v=\"{0}\">{0}</th>",
                       i + 1);
    out += cell("Web", std::to_string(spot.web), true, std::to_string(spot.web));
    out += cell("Level", level_words(spot.level()), false, std::to_string(static_cast<int>(spot.level())));
    out +=
        cell("S and its band",
             fmt::format("<strong>{}</strong> ({} to {}) <small>{}{}{}</small>", escaped(snag_text(band.s)),
                         escaped(snag_text(band.low)), escaped(snag_text(band.high)),
                         band.solid ? "finite elements" : "formula", spot.open() ? ", open" : "",
                         spot.s() >= 1 && spot.answer.s_touch < 1
                             ? fmt::format(", needs a kick: {} touching", snag_text(spot.answer.s_touch))
                             : ""),
             false, number_text(band.s));
    out += cell("Line", links.line(spot.program_line), true, std::to_string(spot.program_line));
    out += cell("Time", time_text(spot.time_s), true, number_text(spot.time_s));
    out += cell("Place X, Y, Z",
                fmt::format("{}, {}, {}", shown.number(spot.place_mm.x), shown.number(spot.place_mm.y),
                            shown.number(spot.place_mm.z)),
                true, number_text(spot.place_mm.x));
    out += length("w", spot.question.web.w_mm);
    out += length("h", spot.question.web.h_mm);
    out += length("L", spot.question.web.length_mm());
    out += length("Flutes", spot.a_mm);
    out += spot.answer.has_lean ? length("Lean", spot.answer.lean_mm) : cell("Lean", "none", true, "1e9");
    const std::string picture = links.picture_of(preview, i);
    out += cell("Picture",
                picture.empty() ? "none"
                                : fmt::format("<a href=\"#picture-{}\">{}</a>", picture,
                                              picture == "map-snag" ? "map" : picture),
                false, picture.empty() ? "none" : picture);
    out += "</tr>\n";
  }
  out += "</tbody>\n</table>\n";
  if (n < preview.spots.size())
    out += fmt::format("<p>{} further spots of lower snag number are in spots.csv.</p>\n",
                       preview.spots.size() - n);
  return out + "<p>w thickness, h free height, L length of the web; flutes: how far they reach up it. Lean: "
               "mean over the pass depth, + toward the cutter; none past S = 1, where "
               "millimetres mean nothing. Open: the band crosses 1. Needs a kick: with only the flutes "
               "already touching, S stays under 1.</p>\n";
}

std::string findings_html(const Preview& preview, const ReportLinks& links) {
  std::string out;
  for (const Kind& kind : kinds_of(preview)) {
    const std::size_t n = kind.findings.size(), shown = std::min(kOfAKind, n);
    out += fmt::format("<h3>{}{}{}</h3>\n<ul>\n", kind.stops ? "<span class=\"stop\">Stop:</span> " : "",
                       spelled(to_text(kind.kind)), n > 1 ? fmt::format(" ({})", n) : "");
    for (std::size_t i = 0; i < shown; ++i) {
      const Finding& f = *kind.findings[i];
      out += "<li>" + escaped(words_of(f.what, Shown{preview.scene.show_inch}));
      if (f.program_line > 0)
        out += fmt::format(" <span class=\"where\">(program line {}, {})</span>", links.line(f.program_line),
                           time_text(f.time_s.value_or(0)));
      else
        out += fmt::format(" <span class=\"where\">({})</span>", moment_words(f));
      out += "</li>\n";
    }
    out += "</ul>\n";
    if (shown < n)
      out += fmt::format("<p>{} more of this kind are in result.json.</p>\n", n - shown);
  }
  return out;
}

std::string program_html(const Preview& preview, const ReportLinks& links) {
  const auto asked = asked_lines(preview);
  std::string out;
  std::int32_t last = -1;
  for (const auto& [number, text] : links.program) {
    if (number != last + 1)
      out += last < 0 ? "<div class=\"programs\">\n<div class=\"program\">\n"
                      : "</div>\n<div class=\"program\">\n";
    last = number;
    const auto who = asked.find(number);
    if (who == asked.end()) {
      out += fmt::format("<div><code>{:>7}  {}</code></div>\n", number, escaped(text));
      continue;
    }
    std::string names;
    for (const std::string& name : who->second)
      if (names.find(name) == std::string::npos)
        names += (names.empty() ? "" : ", ") + name;
    out += fmt::format(
        "<div id=\"line-{0}\" class=\"at\"><code><mark>{0:>7}  {1}</mark></code> <span>{2}</span></div>\n",
        number, escaped(text), names);
  }
  return out.empty() ? out : out + "</div>\n</div>\n";
}

std::string list_html(const std::vector<std::string>& items, const char* none) {
  if (items.empty())
    return fmt::format("<p>{}</p>\n", none);
  std::string out = "<ul>\n";
  for (const std::string& item : items)
    out += "<li>" + escaped(item) + "</li>\n";
  return out + "</ul>\n";
}

std::string entry_html(const char* term, const std::string& words) {
  return fmt::format("<dt>{}</dt><dd>{}</dd>\n", term, escaped(words));
}

} // namespace snagmap
