// One-page sheets for tests of foam and tape that need no router.
#include "viz/report/coupon_sheet.hpp"
#include "viz/report/style.hpp"

#include <fmt/format.h>

namespace snagmap {
namespace {

struct Test {
  const char *file, *title, *needs, *why;
  std::vector<const char*> steps, columns;
  Drawing drawing;
};

Drawing sketch(const char* title) {
  Drawing d;
  d.width = 900, d.height = 330;
  d.title = d.description = title;
  return d;
}

Drawing sag_sketch() {
  Drawing d = sketch("A strip clamped level at the edge of a table; its free end hangs down");
  d.rectangle({40, 130}, {330, 160}, kPale);
  d.rectangle({120, 70}, {330, 100}, kNeck);
  std::vector<Vec2> low, high;
  for (int i = 0; i <= 40; ++i) {
    const double s = i / 40.0, x = 330 + 380 * s, y = 100 + 130 * s * s * (3 - s) / 2;
    high.push_back({x, y}), low.push_back({x, y + 30});
  }
  d.rectangle({120, 100}, {330, 130}, kFoam);
  d.shapes.emplace_back(std::in_place_type<Band>, Band{std::move(low), std::move(high), kFoam});
  d.line({{330, 115}, {760, 115}}, kInk, 1.5, true);
  d.line({{740, 115}, {740, 245}}, kInk, 2);
  d.text({750, 190}, "sag", 20);
  d.line({{330, 290}, {710, 290}}, kInk, 2);
  d.text({520, 315}, "overhang", 20, Anchor::middle);
  d.text({225, 60}, "board and weight", 20, Anchor::middle);
  return d;
}

Drawing tear_sketch() {
  Drawing d = sketch("A block split half way down the middle; its two legs are pulled apart");
  d.rectangle({120, 130}, {600, 230}, kFoam);
  d.rectangle({600, 60}, {720, 120}, kFoam);
  d.rectangle({600, 240}, {720, 300}, kFoam);
  d.line({{330, 180}, {600, 180}}, kInk, 3);
  d.line({{720, 90}, {840, 90}}, kInk, 3), d.text({850, 96}, "pull", 20);
  d.line({{720, 270}, {840, 270}}, kInk, 3), d.text({850, 276}, "hold", 20);
  d.text({220, 270}, "thickness: the length of foam that tears at once, into the page", 20);
  return d;
}

Drawing peel_sketch() {
  Drawing d = sketch("Tape on the spoil board, pulled up at a right angle with a scale");
  d.rectangle({80, 220}, {820, 270}, kPale);
  d.rectangle({80, 205}, {450, 220}, kFlutes);
  d.line({{450, 212}, {450, 60}}, kFlutes, 12);
  d.text({470, 70}, "scale: read while it peels steadily", 20);
  d.text({260, 195}, "tape", 20, Anchor::middle);
  return d;
}

std::string page_of(const Test& t) {
  const std::string svg = to_svg(t.drawing);
  std::string out =
      "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>" + escaped(t.title) +
      "</title><style>" + kReportStyle +
      "td.box{border:1px solid #4a515b;min-width:5rem;height:1.8rem}</style></head><body><main>\n";
  out += fmt::format("<h1>{}</h1>\n<p>{}</p>\n<p><b>Needed:</b> {}</p>\n", t.title, t.why, t.needs);
  out += fmt::format("<figure><img alt=\"{}\" src=\"data:image/svg+xml;base64,{}\"></figure>\n<ol>\n",
                     escaped(t.drawing.title), base64({svg.begin(), svg.end()}));
  for (const char* step : t.steps)
    out += fmt::format("<li>{}</li>\n", step);
  out += "</ol>\n<table><thead><tr><th>try</th>";
  for (const char* column : t.columns)
    out += fmt::format("<th>{}</th>", column);
  out += "</tr></thead><tbody>\n";
  for (int i = 1; i <= 5; ++i) {
    out += fmt::format("<tr><td>{}</td>", i);
    for (std::size_t k = 0; k < t.columns.size(); ++k)
      out += "<td class=box></td>";
    out += "</tr>\n";
  }
  return out + "</tbody></table>\n<p>Enter the readings in <code>readings.toml</code> and run <code>snagmap "
               "fit readings.toml</code>.</p>\n</main></body></html>\n";
}

constexpr const char* kTemplate =
    R"toml(# Readings of bench tests, for `snagmap fit readings.toml`. Take the # away before what you measured.
foam = "pu-22"            # the card to start from: `snagmap cards foams`, or your own card's file
#name = "own foam"        # of the card to be written
#when = "2026-01-31"

#[[sag]]                  # repeat for each strip
#thickness = "10 mm"
#width = "30 mm"
#overhang = "150 mm"
#sag = "40 mm"
#density = "22 kg/m3"     # weighed; else the card's
#tip_mass = "2 g"         # only when one hangs there

#[[tear]]
#thickness = "25 mm"
#peak_mass = "1.2 kg"     # or peak_force = "12 N"

#[[peel]]
#width = "25 mm"
#mass = "150 g"           # or force = "1.5 N"
)toml";

} // namespace

std::vector<std::pair<std::string, std::string>> bench_sheets() {
  const std::vector<Test> tests{
      {"sag.html",
       "Modulus from a strip that sags",
       "a knife, a ruler, a board, kitchen scales",
       "A strip that hangs over an edge sags by an amount that only its own weight and its modulus decide.",
       {"Cut three strips, 8 to 15 mm thick, 30 mm wide, 250 mm long, the blade moving away from the hand "
        "that "
        "holds and from your body: a blade jumps in foam. Two across the sheet, one along it. "
        "Weigh one: density is mass over volume.",
        "Lay a strip over the edge of a table, a board on it up to the edge, a weight on the board: level at "
        "the edge, not squeezed flat.",
        "Choose the overhang so that the tip sags by a tenth to a half of it. Wait a minute.",
        "Read overhang along the strip and sag of the tip below the table's level (the strip's middle line). "
        "Turn the strip over and read again; enter both."},
       {"thickness", "width", "overhang", "sag", "density"},
       sag_sketch()},
      {"tear.html",
       "Tear energy from a split strip",
       "a knife, a luggage scale, a helper's hand",
       "How hard a cut in the foam runs on: the split block of ASTM D3574 test F, read as its greatest "
       "force.",
       {"Cut five blocks 25 x 25 mm, 75 to 150 mm long. Split each half way down the middle with a fresh "
        "blade, away from the hand that holds: clamp the block, do not hold it.",
        "Hold one leg; hook the scale into a clamp or a knot on the other. Gloves off the blade, face away "
        "from the pull.",
        "Pull the legs apart slowly, about a hand's width in ten seconds, and note the greatest reading "
        "while the split runs on.",
        "Thickness is the width of foam that tears at once."},
       {"thickness", "greatest reading"},
       tear_sketch()},
      {"peel.html",
       "Hold-down from a tape pull",
       "the tape, the spoil board as it is in use, the foam, a luggage or kitchen scale",
       "Tape lets go at its edge first, so what counts is the force to peel it, for each millimetre of its "
       "width.",
       {"Stick 150 mm of tape to the board (and, in a second series, to the foam). Press it down as in use "
        "and wait ten minutes.",
        "Hook the scale to the free end and pull straight up, slowly and steadily.",
        "Read the scale while the tape peels, not the first jerk. Five pulls, each on a fresh place. Enter "
        "the weaker series."},
       {"width of tape", "reading"},
       peel_sketch()}};
  std::vector<std::pair<std::string, std::string>> files;
  for (const Test& test : tests)
    files.push_back({test.file, page_of(test)});
  files.push_back({"readings.toml", kTemplate});
  return files;
}

} // namespace snagmap
