#include "viz/report/basis.hpp"

#include "models/mechanics/wall_side.hpp"
#include "sim/stock/shape.hpp"
#include "viz/draw/drawing.hpp"
#include "viz/report/table.hpp"
#include "viz/words/advice_words.hpp"
#include "viz/words/note_words.hpp"
#include "viz/words/spot_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <vector>

namespace snagmap {
namespace {

constexpr std::size_t kSpotsExplained = 12;

/// What finite elements say of a spot, and how that was got.
struct Evidence {
  std::string solid, words;
};
Evidence evidence_of(const Spot& s, const Shown& shown) {
  Evidence evidence{"not asked for", "formula only"};
  if (s.solved()) {
    evidence.solid = band_text(s.answer.s, s.answer.s_low, s.answer.s_high);
    const SolidCheck& solid = *s.fe;
    evidence.words =
        fmt::format("{} bricks of {} by {} by {}, {} unknowns, {} loads, residual {:.1e}; {:.1f} % of "
                    "the value from extrapolating two meshes",
                    solid.bricks, shown.length(solid.brick_mm[0]), shown.length(solid.brick_mm[1]),
                    shown.length(solid.brick_mm[2]), solid.unknowns, solid.right_hand_sides, solid.residual,
                    100 * solid.mesh_share);
    if (solid.seconds > 0)
      evidence.words += fmt::format("; {:.1f} s", solid.seconds);
  } else if (s.fe) {
    evidence.solid = "none";
    evidence.words = s.fe->why_not ? words_of(*s.fe->why_not, shown) : "";
  }
  if (s.by_formula().clamped)
    evidence.words += "; shape outside the formula's range, clamped";
  return evidence;
}

std::string evidence_table(const Preview& preview, const Shown& shown) {
  std::string out = "<table class=\"cards\" role=\"table\">\n<caption>Formula and finite elements, worst "
                    "spots</caption>\n<thead role=\"rowgroup\"><tr role=\"row\">"
                    "<th role=\"columnheader\" scope=\"col\" class=\"n\">Spot</th><th role=\"columnheader\" "
                    "scope=\"col\" class=\"n\">&Gamma;</th><th role=\"columnheader\" scope=\"col\">S, "
                    "formula</th><th role=\"columnheader\" scope=\"col\">S, finite elements</th>"
                    "<th role=\"columnheader\" scope=\"col\">Evidence</th><th role=\"columnheader\" "
                    "scope=\"col\">Ends</th><th role=\"columnheader\" scope=\"col\">What makes it "
                    "worse</th></tr></thead>\n<tbody role=\"rowgroup\">\n";
  for (std::size_t i = 0; i < std::min(kSpotsExplained, preview.spots.size()); ++i) {
    const Spot& s = preview.spots[i];
    const Evidence evidence = evidence_of(s, shown);
    const std::string reasons = reasons_words(s, shown);
    out += fmt::format("<tr role=\"row\"><th role=\"rowheader\" scope=\"row\" class=\"n\" "
                       "data-h=\"Spot\"><a href=\"#row-{0}\">{0}</a></th>",
                       i + 1);
    out += cell("&Gamma;", fmt::format("{:.3g}", s.answer.gamma), true) +
           cell("S, formula", band_text(s.by_formula().s, s.by_formula().s_low, s.by_formula().s_high)) +
           cell("S, finite elements", escaped(evidence.solid)) + cell("Evidence", escaped(evidence.words)) +
           cell("Ends", fmt::format("{}, {}", to_text(s.question.web.end1), to_text(s.question.web.end2))) +
           cell("What makes it worse", escaped(reasons)) + "</tr>\n";
  }
  out += "</tbody>\n</table>\n";
  return out;
}

} // namespace

std::string how_html(const Preview& preview, const Shown& shown) {
  std::string out =
      "<p>The flutes pull on the web where they touch it; the pull grows with how far the web has "
      "leaned into them. S is the gain of that "
      "loop: S = &Lambda; &times; &Gamma;, with &Lambda; the pull's stiffness over the foam's modulus, "
      "and &Gamma; the web's give over the flutes in reach, "
      "times the modulus. Under 1 the lean settles; from 1 on it grows until something gives. The band "
      "comes from the range of &Lambda; alone.</p>\n<dl>\n";
  const FoamCard& foam = preview.scene.main_foam();
  const Banded& l = foam.lambda;
  out += entry_html("Foam", foam.title.empty() ? foam.name : foam.title);
  out += entry_html("&Lambda;",
                    fmt::format("{:.3g} ({:.3g} to {:.3g}); {}", l.nominal, l.low, l.high, source_words(l)));
  out += entry_html("E", fmt::format("{:.3g} kPa ({:.3g} to {:.3g}); {}", foam.E_kPa.nominal, foam.E_kPa.low,
                                     foam.E_kPa.high, source_words(foam.E_kPa)));
  out += "</dl>\n";
  return preview.spots.empty() ? out : out + evidence_table(preview, shown);
}

std::string assumed_html(const Preview& preview, const Shown& shown) {
  std::string out;
  std::vector<std::string> all;
  for (const auto* some : {&preview.assumptions, &preview.scene.assumed})
    for (const Assumed& one : *some)
      if (const std::string line = words_of(one, shown); std::find(all.begin(), all.end(), line) == all.end())
        all.push_back(line);
  out += list_html(all, "Nothing beyond the scene.");
  out += "<p>Which way a tooth moves a climb-side wall is not settled for foam, so S is judged on both "
         "sides and the lean of the climb side carries both signs "
         "in its band. For comparison, with the cutters used:</p>\n";
  std::vector<std::string> sides;
  for (const CutterCard& cutter : preview.scene.cutters)
    sides.push_back(cutter.name + ": " + wall_side_words(wall_sides(cutter), shown) + ".");
  out += list_html(sides);
  if (preview.notes.empty())
    return out;
  out += "<h3>Notes</h3>\n";
  std::vector<std::string> notes;
  for (const Note& note : preview.notes)
    notes.push_back(words_of(note, shown));
  out += list_html(notes);
  return out;
}

std::string cautions_html() {
  return "<h2>Cautions</h2>\n<ul>\n"
         "<li>The machine's manual, local codes and trained practice come first. These pages are "
         "predictions with stated uncertainty.</li>\n"
         "<li>A router cuts flesh as it cuts foam: keep hands away from a turning cutter, wear eye and "
         "ear protection, know where the emergency stop is.</li>\n"
         "<li>Strands wind round cutter, collet nut and spindle and can whip: stop the spindle and wait "
         "until it stands before you clear them.</li>\n"
         "<li>Foam dust is harmful to breathe and can burn: extract it, wear a mask, keep the machine and "
         "floor clear.</li>\n"
         "<li>Foam melts, burns fast and gives off toxic smoke: a rubbing or blunt cutter can light it. "
         "Do not leave a running machine alone; keep a suitable extinguisher at hand.</li>\n"
         "<li>Try a coupon of the same foam with the same cutter before the job.</li>\n</ul>\n";
}

std::string scene_html(const Preview& preview, const Shown& shown) {
  std::string out = "<dl>\n";
  const Vec3 size = preview.scene.sheet.high - preview.scene.sheet.low;
  out += entry_html(
      "Sheet", fmt::format("{} x {} x {}", shown.number(size.x), shown.number(size.y), shown.length(size.z)));
  if (preview.scene.stock)
    out += entry_html("Stock",
                      fmt::format("{}; {:.1f} % of the box around it is air before the first move",
                                  std::filesystem::path(preview.scene.stock_file).filename().string(),
                                  100 * (1 - volume_mm3(*preview.scene.stock) / (size.x * size.y * size.z))));
  for (const CutterCard& c : preview.scene.cutters)
    out += entry_html("Cutter",
                      fmt::format("{}: {} over the flutes, flutes {} long, {} flutes, stick-out {}; {}",
                                  c.title.empty() ? c.name : c.title, shown.length(c.diameter_mm),
                                  shown.length(c.flute_length_mm), c.flutes, shown.length(c.stick_out_mm),
                                  c.source.empty() ? "the scene" : c.source));
  out += entry_html("Machine", preview.scene.machine.title.empty() ? preview.scene.machine.name
                                                                   : preview.scene.machine.title);
  out +=
      entry_html("Voxel", shown.length(preview.record ? preview.record->voxel_mm() : preview.scene.voxel_mm));
  out += entry_html("Moves", std::to_string(preview.path.moves.size()));
  out += entry_html("Version", "snagmap " SNAGMAP_VERSION);
  out += "</dl>\n<pre>" + escaped(preview.scene.text) + "</pre>\n";
  return out;
}

} // namespace snagmap
