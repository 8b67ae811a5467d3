#include "sim/trust/reading_rows.hpp"

#include "models/base/constants.hpp"
#include "models/base/plain_text.hpp"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <initializer_list>

namespace snagmap {
namespace {

constexpr Range kLength{Dimension::length, 0.1, 1000};
constexpr double kHeightOff = 0.1; // share by which a height may be off the piece's

void missing_keys(SceneTable& table, std::initializer_list<std::pair<const char*, const char*>> keys) {
  for (const auto& [key, way_out] : keys)
    if (!table.has(key))
      table.missing(key, way_out);
}

} // namespace

/// A wall of the test piece; the piece's own height and cutter must be those read.
std::optional<std::size_t> RowReader::numbered_wall(SceneTable& table, int number) {
  const auto& walls = out.piece.walls;
  const auto at =
      std::find_if(walls.begin(), walls.end(), [&](const PieceWall& w) { return w.number == number; });
  if (at == walls.end()) {
    table.fault("wall", fmt::format("wall {} is not in the test piece", number),
                walls.empty() ? "give the piece's walls.toml: piece = \"walls.toml\" or --piece"
                              : fmt::format("its walls are numbered {} to {} on the drawing",
                                            walls.front().number, walls.back().number));
    return {};
  }
  const auto height = table.quantity("height", kLength);
  if (height && std::abs(*height / at->h_mm - 1) > kHeightOff)
    table.fault(
        "height",
        fmt::format("wall {} was to be cut {:g} mm high, the reading says {:g} mm", number, at->h_mm,
                    *height),
        "correct the slip; when the piece was cut to another depth, describe its walls in the readings "
        "(thickness, height, length, diameter, flute_length) instead of by number");
  const std::string& cutter = out.piece.cutters[static_cast<std::size_t>(at->cutter)].name;
  // Not by text(): of a cutter named "6" a table makes a number. Its name was written as plain text.
  const SceneValue* read = table.find("cutter");
  if (read && read->text != cutter && read->text != plain_text(cutter))
    table.fault("cutter",
                fmt::format("wall {} was to be cut with {}, the reading says {}", number, cutter, read->text),
                "correct the slip; when the cutters were swapped at the machine, describe the walls in the "
                "readings "
                "instead of by number");
  return static_cast<std::size_t>(at - walls.begin());
}

/// A wall that the readings describe themselves.
std::optional<std::size_t> RowReader::described_wall(SceneTable& table) {
  PieceWall wall;
  const auto w = table.quantity("thickness", kLength), h = table.quantity("height", kLength),
             length = table.quantity("length", kLength),
             d = table.quantity("diameter", {Dimension::length, 0.5, 100}),
             flutes = table.quantity("flute_length", {Dimension::length, 0.2, 300});
  const auto ends = table.choice("ends", {"free", "built-in"});
  missing_keys(table,
               {{"thickness",
                 "wall = its number on the drawing, or thickness, height, length, diameter and flute_length"},
                {"height", "height = \"25 mm\", over its root"},
                {"length", "length = \"100 mm\""},
                {"diameter", "diameter = \"6.35 mm\", of the cutter"},
                {"flute_length", "flute_length = \"22 mm\", of the cutter"}});
  if (!w || !h || !length || !d || !flutes)
    return {};
  wall.w_mm = *w, wall.h_mm = *h, wall.length_mm = *length;
  wall.ends = ends == std::size_t{1} ? WebEnd::built_in : WebEnd::free;
  const std::string name =
      table.text("cutter").value_or(fmt::format("diameter {:g} mm, flutes {:g} mm", *d, *flutes));
  auto& cutters = out.piece.cutters;
  const auto same = std::find_if(cutters.begin(), cutters.end(), [&](const PieceCutter& c) {
    return c.name == name && c.diameter_mm == *d && c.flute_length_mm == *flutes;
  });
  wall.cutter = static_cast<int>(same - cutters.begin());
  if (same == cutters.end())
    cutters.push_back({name, *d, *flutes});
  out.piece.walls.push_back(wall);
  return out.piece.walls.size() - 1;
}

void RowReader::wall(const SceneValue& row) {
  SceneTable table(reading, row, "a wall's reading");
  const auto outcome = table.choice("outcome", {"held", "marked", "torn"});
  const auto number = table.whole("wall", 1, 9999);
  for (const char* known :
       {"thickness", "height", "length", "diameter", "flute_length", "ends", "cutter", "remark"})
    table.find(known);
  WallRead read;
  read.line = row.line;
  read.top_mm = table.quantity("thickness_top", {Dimension::length, 0, 1000});
  read.floor_mm = table.quantity("thickness_floor", {Dimension::length, 0, 1000});
  read.load_g = table.quantity("load", {Dimension::mass, 0.1, 10000});
  read.lean_mm = table.quantity("lean", {Dimension::length, 0.01, 500});
  if (read.load_g.has_value() != read.lean_mm.has_value() && table.has("load") != table.has("lean"))
    table.fault(table.has("load") ? "load" : "lean", "load and lean belong together",
                "load: the mass hung from the top edge; lean: by how much the edge moved");
  std::optional<std::size_t> which;
  if (table.has("wall")) {
    for (const char* own : {"thickness", "length", "diameter", "flute_length", "ends"})
      if (table.has(own))
        table.fault(own, fmt::format("{} stands beside the wall's number", own),
                    "the piece knows it: leave it out");
    if (number)
      which = numbered_wall(table, *number);
  } else if (!table.has("outcome") && row.items.empty()) {
    ++out.left_empty;
    return;
  } else {
    which = described_wall(table);
  }
  table.finish();
  if (!table.has("outcome")) {
    ++out.left_empty;
    return;
  }
  if (!which || !outcome)
    return;
  read.wall = *which, read.outcome = static_cast<WallOutcome>(*outcome);
  if (table.has("wall")) {
    const auto [before, first] = seen.emplace(*which, std::make_pair(read.outcome, row.line));
    if (!first) {
      const bool contradict = before->second.first != read.outcome;
      table.fault("outcome",
                  fmt::format("wall {} was read on line {} already{}", *number, before->second.second,
                              contradict ? ", and with another outcome" : ""),
                  contradict ? "look at the wall again and keep one reading" : "keep one of the two");
      return;
    }
  }
  if (read.outcome == WallOutcome::torn && read.lean_mm)
    table.fault("lean", "a torn wall has no lean", "hang the mass from a wall that held");
  out.walls.push_back(read);
}

void RowReader::sag(const SceneValue& row) {
  SceneTable table(reading, row, "[[sag]]");
  SagRead read;
  read.strip.thickness_mm = table.quantity("thickness", kLength).value_or(0);
  read.strip.width_mm = table.quantity("width", kLength).value_or(0);
  read.strip.overhang_mm = table.quantity("overhang", kLength).value_or(0);
  read.strip.tip_mass_g = table.quantity("tip_mass", {Dimension::mass, 0.01, 1000}).value_or(0);
  read.strip.density_kg_m3 =
      table.quantity("density", {Dimension::density, 5, 500}).value_or(out.piece.foam.density_kg_m3);
  read.sag_mm = table.quantity("sag", {Dimension::length, 0.1, 1000}).value_or(0);
  const std::size_t before = reading.faults.size();
  missing_keys(table, {{"thickness", "thickness = \"10 mm\""},
                       {"width", "width = \"30 mm\""},
                       {"overhang", "overhang = \"150 mm\", from the clamp to the tip"},
                       {"sag", "sag = \"40 mm\", drop of the tip below the clamp"}});
  table.finish();
  if (reading.faults.size() != before || !table.has("sag") || read.sag_mm <= 0)
    return;
  if (const auto E = modulus_from_sag_kPa(read.strip, read.sag_mm); !E)
    table.fault("sag", E.faults().front().what, E.faults().front().way_out);
  out.sags.push_back(read);
}

void RowReader::tear(const SceneValue& row) {
  SceneTable table(reading, row, "[[tear]]");
  TearRead read;
  read.thickness_mm = table.quantity("thickness", kLength).value_or(0);
  const auto force = table.quantity("peak_force", {Dimension::force, 0.01, 10000});
  const auto mass = table.quantity("peak_mass", {Dimension::mass, 1, 1e6});
  if (table.has("peak_force") && table.has("peak_mass"))
    table.fault("peak_mass", "peak_mass stands beside peak_force", "give what the scale shows, once");
  if (!table.has("peak_force") && !table.has("peak_mass"))
    table.missing("peak_mass", "peak_mass = \"1.2 kg\", the greatest the scale showed (or peak_force in N)");
  read.peak_N = force.value_or(mass.value_or(0) / 1000 * kGravity_m_s2);
  missing_keys(table, {{"thickness", "thickness = \"25 mm\", the length of foam that tears at once"}});
  table.finish();
  if (read.peak_N > 0 && read.thickness_mm > 0)
    out.tears.push_back(read);
}

void RowReader::peel(const SceneValue& row) {
  SceneTable table(reading, row, "[[peel]]");
  PeelRead read;
  read.width_mm = table.quantity("width", kLength).value_or(0);
  const auto force = table.quantity("force", {Dimension::force, 0.001, 10000});
  const auto mass = table.quantity("mass", {Dimension::mass, 0.1, 1e6});
  if (table.has("force") && table.has("mass"))
    table.fault("mass", "mass stands beside force", "give what the scale shows, once");
  if (!table.has("force") && !table.has("mass"))
    table.missing("mass",
                  "mass = \"150 g\", what the scale shows while the tape peels steadily (or force in N)");
  read.force_N = force.value_or(mass.value_or(0) / 1000 * kGravity_m_s2);
  missing_keys(table, {{"width", "width = \"25 mm\", of the tape"}});
  table.finish();
  if (read.force_N > 0 && read.width_mm > 0)
    out.peels.push_back(read);
}

} // namespace snagmap
