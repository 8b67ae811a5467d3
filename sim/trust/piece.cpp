// A test piece as a file: what was cut, for the fit to compare with what was read.
#include "sim/trust/readings.hpp"

#include "sim/scene/card_text.hpp"
#include "sim/scene/sections.hpp"

#include <filesystem>
#include <fmt/format.h>

namespace snagmap {
namespace {

using Kind = SceneValue::Kind;
constexpr Range kLength{Dimension::length, 0.1, 1000};

std::string mm(double value) {
  return toml_text(with_unit(value, Dimension::length));
}

/// The tables of a list such as [[wall]]; a fault where it is something else.
std::vector<const SceneValue*> tables_of(SceneTable& top, const char* key) {
  std::vector<const SceneValue*> found;
  const SceneValue* list = top.find(key);
  if (!list)
    return found;
  for (const SceneValue& item : list->items)
    if (list->kind == Kind::list && item.kind == Kind::table)
      found.push_back(&item);
  if (list->kind != Kind::list || found.size() != list->items.size())
    top.fault(key, fmt::format("{} is {}; [[{}]] with double brackets belongs here", key, shown(*list), key),
              "");
  return found;
}

void read_cutters(SceneTable& top, TestPiece& piece) {
  for (const SceneValue* item : tables_of(top, "cutter")) {
    SceneTable table(top.reading(), *item, "[[cutter]]");
    PieceCutter cutter;
    cutter.name = table.text("name").value_or("");
    cutter.diameter_mm = table.quantity("diameter", kLength).value_or(0);
    cutter.flute_length_mm = table.quantity("flute_length", kLength).value_or(0);
    for (const char* key : {"name", "diameter", "flute_length"})
      if (!table.has(key))
        table.missing(key, "as `snagmap coupon` wrote it");
    table.finish();
    piece.cutters.push_back(cutter);
  }
}

void read_walls(SceneTable& top, TestPiece& piece) {
  std::vector<std::string> names;
  for (const PieceCutter& cutter : piece.cutters)
    names.push_back(cutter.name);
  for (const SceneValue* item : tables_of(top, "wall")) {
    SceneTable table(top.reading(), *item, "[[wall]]");
    PieceWall wall;
    wall.number = table.whole("number", 1, 9999).value_or(0);
    wall.w_mm = table.quantity("thickness", kLength).value_or(0);
    wall.h_mm = table.quantity("height", kLength).value_or(0);
    wall.length_mm = table.quantity("length", kLength).value_or(0);
    wall.cutter = static_cast<int>(table.choice("cutter", names).value_or(0));
    wall.ends =
        table.choice("ends", {"free", "built-in"}) == std::size_t{1} ? WebEnd::built_in : WebEnd::free;
    wall.gamma = table.number("gamma", 1e-3, 1e6).value_or(0);
    for (const char* key : {"number", "thickness", "height", "length", "cutter", "ends"})
      if (!table.has(key))
        table.missing(key, "as `snagmap coupon` wrote it");
    table.finish();
    piece.walls.push_back(wall);
  }
}

} // namespace

std::string piece_text(const TestPiece& piece) {
  std::string out =
      "# Walls of a test piece, for `snagmap fit`. Readings go into readings.csv, not here.\n"
      "# gamma: E times the largest eigenvalue of the wall's compliance over the flutes in reach.\n\n";
  for (const PieceCutter& cutter : piece.cutters)
    out += fmt::format("[[cutter]]\nname = {}\ndiameter = {}\nflute_length = {}\n\n", toml_text(cutter.name),
                       mm(cutter.diameter_mm), mm(cutter.flute_length_mm));
  for (const PieceWall& wall : piece.walls) {
    out += fmt::format(
        "[[wall]]\nnumber = {}\ncutter = {}\nthickness = {}\nheight = {}\nlength = {}\nends = \"{}\"\n",
        wall.number, toml_text(piece.cutters[static_cast<std::size_t>(wall.cutter)].name), mm(wall.w_mm),
        mm(wall.h_mm), mm(wall.length_mm), wall.ends == WebEnd::free ? "free" : "built-in");
    out += wall.gamma > 0 ? fmt::format("gamma = {:.6f}\n\n", wall.gamma) : "\n";
  }
  return out + "[foam] # the card the piece was planned with\n" + foam_card_text(piece.foam);
}

Outcome<TestPiece> parse_piece(const std::string& text, const std::string& file) {
  const Outcome<SceneValue> parsed = parse_scene_text(text, file);
  if (!parsed)
    return parsed.faults();
  SceneReading reading{file, std::filesystem::path(file).parent_path().string(), text, {}, {}, {}};
  SceneTable top(reading, *parsed, "");
  TestPiece piece;
  read_cutters(top, piece);
  read_walls(top, piece);
  if (const SceneValue* foam = top.find("foam")) {
    if (const auto card = read_foam(reading, *foam, "[foam]"))
      piece.foam = *card;
  } else {
    top.missing("foam", "the table `snagmap coupon` wrote");
  }
  if (piece.cutters.empty())
    top.missing("cutter", "is this the walls.toml of a test piece?");
  if (piece.walls.empty())
    top.missing("wall", "is this the walls.toml of a test piece?");
  top.finish();
  if (!reading.faults.empty())
    return sorted_by_place(std::move(reading.faults));
  return piece;
}

Outcome<TestPiece> read_piece(const std::string& file) {
  const Outcome<std::string> text = read_scene_text(file);
  if (!text)
    return text.faults();
  return parse_piece(*text, file);
}

double gamma_of(const TestPiece& piece, const PieceWall& wall, int cutter) {
  const auto by_formula = [&](int which) {
    const PieceCutter& c = piece.cutters[static_cast<std::size_t>(which)];
    Web web;
    web.w_mm = wall.w_mm, web.h_mm = wall.h_mm;
    web.d1_mm = web.d2_mm = 0.5 * wall.length_mm;
    web.end1 = web.end2 = wall.ends;
    web.nu = piece.foam.nu.nominal;
    web.b_p_mm = contact_length_mm(0.5 * c.diameter_mm, piece.foam.bite_depth_mm.nominal);
    return gamma(web, {0, std::min(wall.h_mm, c.flute_length_mm)}).value;
  };
  if (wall.gamma <= 0)
    return by_formula(cutter);
  return cutter == wall.cutter ? wall.gamma : wall.gamma * by_formula(cutter) / by_formula(wall.cutter);
}

PieceWall as_measured(const TestPiece& piece, PieceWall wall, double w_mm) {
  PieceWall planned = wall;
  planned.gamma = 0;
  PieceWall measured = planned;
  measured.w_mm = w_mm;
  if (wall.gamma > 0)
    measured.gamma = wall.gamma * gamma_of(piece, measured) / gamma_of(piece, planned);
  return measured;
}

} // namespace snagmap
