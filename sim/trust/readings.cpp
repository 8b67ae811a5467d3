#include "sim/trust/readings.hpp"

#include "models/base/plain_text.hpp"
#include "sim/scene/named_cards.hpp"
#include "sim/scene/sections.hpp"
#include "sim/text/csv.hpp"
#include "sim/trust/reading_rows.hpp"

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
constexpr const char* kPieceFile = "walls.toml";

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
  RowReader rows(reading, out);
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
