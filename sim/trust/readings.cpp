#include "sim/trust/readings.hpp"

#include "models/base/constants.hpp"
#include "models/base/plain_text.hpp"
#include "sim/scene/named_cards.hpp"
#include "sim/scene/sections.hpp"
#include "sim/text/csv.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <filesystem>
#include <fmt/format.h>
#include <map>
#include <set>

namespace snagmap {
namespace {

namespace fs = std::filesystem;
using Kind = SceneValue::Kind;
constexpr Range kLength{Dimension::length, 0.1, 1000};
constexpr double kHeightOff = 0.1; // share by which a height may be off the piece's
constexpr const char* kPieceFile = "walls.toml";

/// One row or table of readings, with what all of them need.
struct RowReader {
  SceneReading& reading;
  Readings& out;
  std::map<std::size_t, std::pair<WallOutcome, int>> seen; ///< of a wall of the piece: outcome and line

  void missing_keys(SceneTable& table, std::initializer_list<std::pair<const char*, const char*>> keys) {
    for (const auto& [key, way_out] : keys)
      if (!table.has(key))
        table.missing(key, way_out);
  }

  /// A wall of the test piece; the piece's own height and cutter must be those read.
  std::optional<std::size_t> numbered_wall(SceneTable& table, int number) {
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
      table.fault(
          "cutter",
          fmt::format("wall {} was to be cut with {}, the reading says {}", number, cutter, read->text),
          "correct the slip; when the cutters were swapped at the machine, describe the walls in the "
          "readings "
          "instead of by number");
    return static_cast<std::size_t>(at - walls.begin());
  }

  /// A wall that the readings describe themselves.
  std::optional<std::size_t> described_wall(SceneTable& table) {
    PieceWall wall;
    const auto w = table.quantity("thickness", kLength), h = table.quantity("height", kLength),
               length = table.quantity("length", kLength),
               d = table.quantity("diameter", {Dimension::length, 0.5, 100}),
               flutes = table.quantity("flute_length", {Dimension::length, 0.2, 300});
    const auto ends = table.choice("ends", {"free", "built-in"});
    missing_keys(
        table, {{"thickness",
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

  void wall(const SceneValue& row) {
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

  void sag(const SceneValue& row) {
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

  void tear(const SceneValue& row) {
    SceneTable table(reading, row, "[[tear]]");
    TearRead read;
    read.thickness_mm = table.quantity("thickness", kLength).value_or(0);
    const auto force = table.quantity("peak_force", {Dimension::force, 0.01, 10000});
    const auto mass = table.quantity("peak_mass", {Dimension::mass, 1, 1e6});
    if (table.has("peak_force") && table.has("peak_mass"))
      table.fault("peak_mass", "peak_mass stands beside peak_force", "give what the scale shows, once");
    if (!table.has("peak_force") && !table.has("peak_mass"))
      table.missing("peak_mass",
                    "peak_mass = \"1.2 kg\", the greatest the scale showed (or peak_force in N)");
    read.peak_N = force.value_or(mass.value_or(0) / 1000 * kGravity_m_s2);
    missing_keys(table, {{"thickness", "thickness = \"25 mm\", the length of foam that tears at once"}});
    table.finish();
    if (read.peak_N > 0 && read.thickness_mm > 0)
      out.tears.push_back(read);
  }

  void peel(const SceneValue& row) {
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
};

template <class Read> void each(SceneTable& top, const char* key, Read read) {
  const SceneValue* list = top.find(key);
  if (!list)
    return;
  if (list->kind != Kind::list)
    return top.fault(
        key, fmt::format("{} is {}; [[{}]] with double brackets belongs here", key, shown(*list), key), "");
  for (const SceneValue& item : list->items)
    if (item.kind == Kind::table)
      read(item);
    else
      top.reading().fault(item, fmt::format("{} is {}; a table belongs here", key, shown(item)), "");
}

/// The test piece: the one named, else walls.toml beside the readings, else none.
void find_piece(SceneTable& top, const ReadingsPlaces& places, Readings& out) {
  SceneReading& reading = top.reading();
  fs::path file = places.piece_file;
  std::error_code error;
  const auto named = top.text("piece");
  if (file.empty() && named)
    file = fs::path(reading.folder) / *named;
  if (file.empty() && fs::exists(fs::path(reading.folder) / kPieceFile, error))
    file = fs::path(reading.folder) / kPieceFile;
  if (file.empty())
    return;
  const auto piece = read_piece(file.string());
  if (piece)
    out.piece = *piece;
  else
    reading.faults.insert(reading.faults.end(), piece.faults().begin(), piece.faults().end());
}

void find_foam(SceneTable& top, const ReadingsPlaces& places, Readings& out, std::size_t faults_before) {
  SceneReading& reading = top.reading();
  const SceneValue* own = top.find("foam");
  if (!places.foam.empty()) {
    const Outcome<FoamCard> card = foam_named(places.foam, "--foam");
    if (card)
      out.piece.foam = *card;
    else
      reading.faults.insert(reading.faults.end(), card.faults().begin(), card.faults().end());
  } else if (own) {
    if (const auto card = read_foam(reading, *own, "[foam]"))
      out.piece.foam = *card;
  }
  if (out.piece.foam.name.empty() && reading.faults.size() == faults_before)
    reading.faults.push_back(
        Fault("neither a test piece nor a foam is named",
              "put walls.toml beside the readings, or give foam = \"pu-22\" (--foam for CSV)", reading.file));
}

/// "Torn" and "TORN" are torn.
void words_in_small_letters(SceneValue& top) {
  for (SceneValue& list : top.items)
    for (SceneValue& row : list.items)
      for (SceneValue& item : row.items)
        if (item.kind == Kind::text && (item.key == "outcome" || item.key == "ends"))
          for (char& c : item.text)
            c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
}

/// Of a table, a number without unit has lost it in the header: that is one fault, not one in every row.
void columns_without_units(const SceneValue& top, SceneReading& reading) {
  const SceneValue* walls = top.find("wall");
  if (!walls || fs::path(reading.file).extension() != ".csv")
    return;
  for (const char* key : {"thickness", "height", "length", "diameter", "flute_length", "thickness_top",
                          "thickness_floor", "load", "lean"}) {
    const auto bare = [key](const SceneValue& row) {
      const SceneValue* value = row.find(key);
      return value && (value->kind == Kind::integer || value->kind == Kind::real);
    };
    const auto first = std::find_if(walls->items.begin(), walls->items.end(), bare);
    if (first != walls->items.end())
      reading.fault_at_key(*first->find(key), fmt::format("column \"{}\" has numbers without a unit", key),
                           fmt::format("name the unit in the header: \"{} ({})\"", key,
                                       std::string(key) == "load" ? "g" : "mm"));
  }
}

/// A table that names no walls, or names them by number while there is no test piece: said once.
void walls_of_no_piece(const SceneValue& top, SceneReading& reading, const TestPiece& piece) {
  const SceneValue* walls = top.find("wall");
  if (!walls || walls->items.empty())
    return;
  const auto has = [walls](const char* key) {
    return std::any_of(walls->items.begin(), walls->items.end(),
                       [key](const SceneValue& row) { return row.find(key); });
  };
  const std::vector<SceneValue>& first = walls->items.front().items;
  if (fs::path(reading.file).extension() == ".csv" && !first.empty() && !has("wall") && !has("thickness"))
    return reading.fault_at_key(first.front(), "no column names the walls",
                                "a column \"wall\" with their numbers on the drawing, or columns for "
                                "thickness, height, length, diameter and flute_length");
  if (!piece.walls.empty())
    return;
  for (const SceneValue& row : walls->items)
    if (const SceneValue* number = row.find("wall"))
      return reading.fault(*number, "walls are named by number, but there is no test piece",
                           "give the piece's walls.toml: piece = \"walls.toml\" or --piece");
}

/// What is wrong with a column is found in each of its rows: said once, at the first.
std::vector<Fault> each_once(std::vector<Fault> faults) {
  constexpr std::size_t kFew = 3; // so many rows are named one by one
  std::map<std::pair<std::string, std::string>, std::set<std::pair<int, int>>> places;
  for (const Fault& fault : faults)
    places[{fault.what, fault.way_out}].emplace(fault.line, fault.column);
  std::vector<Fault> kept;
  for (Fault& fault : faults) {
    std::set<std::pair<int, int>>& its = places[{fault.what, fault.way_out}];
    if (its.erase({fault.line, fault.column}) == 0)
      continue; // said before
    if (its.size() >= kFew) {
      kept.push_back(fault);
      kept.back().what += fmt::format(", and in {} more rows", its.size());
      its.clear();
    } else {
      kept.push_back(std::move(fault));
    }
  }
  return kept;
}

} // namespace

Outcome<Readings> parse_readings(const std::string& raw, const std::string& file,
                                 const ReadingsPlaces& places) {
  const bool csv = fs::path(file).extension() == ".csv";
  const std::string text = csv ? csv_text(raw) : raw;
  if (text.find_first_not_of(" \t\r\n") == std::string::npos)
    return Fault("is empty", "`snagmap coupon` writes a table to fill in", file);
  SceneReading reading{file, fs::path(file).parent_path().string(), text, {}, {}, {}};
  SceneValue parsed;
  if (csv) {
    CsvTable table = parse_csv_rows(text, file, "wall");
    if (table.top.items.front().items.empty())
      return sorted_by_place(std::move(table.faults));
    parsed = std::move(table.top), reading.faults = std::move(table.faults);
  } else {
    Outcome<SceneValue> toml = parse_scene_text(text, file);
    if (!toml)
      return toml.faults();
    parsed = std::move(*toml);
  }
  words_in_small_letters(parsed);
  SceneTable top(reading, parsed, "");
  Readings out;
  out.file = file;
  out.name = top.text("name").value_or("");
  out.when = top.text("when").value_or("");
  const std::size_t faults_in_rows = reading.faults.size();
  find_piece(top, places, out);
  find_foam(top, places, out, faults_in_rows);
  columns_without_units(parsed, reading);
  walls_of_no_piece(parsed, reading, out.piece);
  const bool known = reading.faults.size() == faults_in_rows;
  RowReader rows{reading, out, {}};
  each(top, "wall", [&](const SceneValue& row) {
    if (known)
      rows.wall(row);
  });
  each(top, "sag", [&](const SceneValue& row) {
    if (known)
      rows.sag(row);
  });
  each(top, "tear", [&](const SceneValue& row) { rows.tear(row); });
  each(top, "peel", [&](const SceneValue& row) { rows.peel(row); });
  top.finish();
  const bool nothing = out.walls.empty() && out.sags.empty() && out.tears.empty() && out.peels.empty();
  if (reading.faults.empty() && nothing)
    reading.faults.push_back(
        Fault(out.left_empty > 0 ? fmt::format("no outcome is filled in: {} rows stand empty", out.left_empty)
                                 : "holds no readings",
              "outcome is held, marked or torn; nothing was concluded and nothing written", file));
  if (!reading.faults.empty())
    return each_once(sorted_by_place(std::move(reading.faults)));
  return out;
}

Outcome<Readings> read_readings(const std::string& file, const ReadingsPlaces& places) {
  const Outcome<std::string> text = read_scene_text(file);
  if (!text) {
    std::vector<Fault> faults = text.faults();
    for (Fault& fault : faults)
      if (fault.what == "no such file")
        fault.way_out =
            "give the path of the readings: readings.csv of a test piece, readings.toml of bench tests";
    return faults;
  }
  return parse_readings(*text, file, places);
}

} // namespace snagmap
