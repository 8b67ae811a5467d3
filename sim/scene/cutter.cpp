#include "sim/scene/sections.hpp"

#include "models/cards/card_fields.hpp"

#include <cmath>
#include <fmt/format.h>

namespace snagmap {
namespace {

using Kind = SceneValue::Kind;
const std::vector<std::string> kTips{"flat",    "bull-nose", "ball",
                                     "tapered", "chamfer",   "drill"};             // order of TipShape
const std::vector<std::string> kZones{"flutes", "neck", "shank", "nut", "holder"}; // order of Zone
constexpr Range kLength{Dimension::length, 0, 400};

/// profile = [ { to = ["3 mm", "0 mm"] }, { to = [...], centre = [...], zone = "neck" } ]: (r, z) from the
/// tip up, beginning on the axis at the tip.
std::vector<ProfilePiece> read_profile(SceneTable& cutter) {
  const SceneValue* list = cutter.find("profile");
  if (!list)
    return {};
  if (list->kind != Kind::list || list->items.empty()) {
    cutter.fault("profile", "profile is " + shown(*list) + "; a list of pieces belongs here",
                 "profile = [ { to = [\"3 mm\", \"0 mm\"] }, { to = [\"3 mm\", \"20 mm\"] } ]");
    return {};
  }
  std::vector<ProfilePiece> pieces;
  std::size_t zone = 0;
  double r = 0, z = 0;
  for (const SceneValue& item : list->items) {
    if (item.kind != Kind::table) {
      cutter.reading().fault(item, "profile piece is " + shown(item) + "; a table with `to` belongs here",
                             "");
      return {};
    }
    SceneTable piece(cutter.reading(), item, "profile piece");
    const auto to = piece.quantities("to", kLength, 2, 2);
    const auto centre = piece.quantities("centre", {Dimension::length, -400, 400}, 2, 2);
    const auto next = piece.choice("zone", kZones);
    if (!piece.has("to"))
      piece.missing("to", "to = [\"3 mm\", \"20 mm\"]: radius and height");
    piece.quiet({"centre", "zone"}); // a straight piece; as the piece below
    piece.finish();
    if (!to)
      return {};
    if ((*to)[1] < z) {
      piece.fault("to", fmt::format("profile falls from z = {} mm to {} mm", z, (*to)[1]),
                  "give it from the tip up");
      return {};
    }
    if (next && *next < zone) {
      piece.fault("zone", "zone \"" + kZones[*next] + "\" stands above \"" + kZones[zone] + "\"",
                  "from the tip up: flutes, neck, shank, nut, holder");
      return {};
    }
    zone = next.value_or(zone);
    ProfilePiece made{r, z, (*to)[0], (*to)[1], false, 0, 0, static_cast<Zone>(zone)};
    if (centre) {
      made.arc = true, made.centre_r_mm = (*centre)[0], made.centre_z_mm = (*centre)[1];
      const double a = std::hypot(r - made.centre_r_mm, z - made.centre_z_mm),
                   b = std::hypot(made.r1_mm - made.centre_r_mm, made.z1_mm - made.centre_z_mm);
      if (std::abs(a - b) > 0.01) {
        piece.fault("centre", fmt::format("the piece's ends lie {:.3f} and {:.3f} mm from its centre", a, b),
                    "an arc's ends lie equally far from its centre (0.01 mm allowed)");
        return {};
      }
    }
    pieces.push_back(made);
    r = made.r1_mm, z = made.z1_mm;
  }
  return pieces;
}

/// Own values over those of the card (or over nothing).
void lay_over(SceneTable& table, CutterCard& card) {
  if (const auto name = table.text("name"))
    card.name = *name, card.title = *name;
  if (const auto tip = table.choice("tip", kTips))
    card.tip = static_cast<TipShape>(*tip);
  for_each_value<double>(card, [&](const auto& field, double& value) {
    if (const auto number = table.quantity(field.key, {field.dimension, field.low, field.high}))
      value = *number;
  });
  if (const auto point = table.quantity("point_angle", {Dimension::angle, 60, 178}))
    card.taper_deg = *point / 2;
  for_each_value<int>(card, [&](const auto& field, int& value) {
    if (const auto number = table.whole(field.key, static_cast<int>(field.low), static_cast<int>(field.high)))
      value = *number;
  });
  if (auto pieces = read_profile(table); !pieces.empty())
    card.own_profile = std::move(pieces);
}

constexpr double kShank_mm = 10; // between neck and nut, where nothing is given

void assume_missing(SceneTable& table, CutterCard& card) {
  const auto assume = [&](const char* key, double& value, double fallback, Dimension dimension,
                          AssumedWhy why) {
    if (table.has(key))
      return;
    value = fallback;
    table.assume(key, {{fallback, dimension}}, std::move(why));
  };
  if (!table.has("name"))
    card.name = card.title = "own cutter";
  if (!table.has("profile") && !table.has("tip"))
    table.assume("tip", "\"flat\"", "not given");
  if (card.neck_diameter_mm > 0 && !table.has("neck_length"))
    table.missing("neck_length", "a neck needs both its diameter and its length");
  if (card.neck_length_mm > 0 && !table.has("neck_diameter"))
    table.missing("neck_diameter", "a neck needs both its diameter and its length");
  assume("shank_diameter", card.shank_diameter_mm, card.diameter_mm, Dimension::length,
         why::Source{"as the flutes"});
  assume("stick_out", card.stick_out_mm, card.flute_length_mm + card.neck_length_mm + kShank_mm,
         Dimension::length, why::FlutesNeckAndShank{kShank_mm});
  card.flutes = table.has("flutes") ? card.flutes : table.whole_or("flutes", 1, 12, 2, "common practice");
  assume("helix", card.helix_deg, 30, Dimension::angle, why::Source{"common practice, up-cut"});
  assume("rake", card.rake_deg, 10, Dimension::angle, why::Source{"a guess"});
  for (const char* key : {"nut_diameter", "holder_diameter"})
    if (!table.has(key))
      table.assume(key, "none", "not given: whether it meets foam is not looked at");
  assume("least_chip", card.least_chip_mm, card.least_chip_mm, Dimension::length,
         why::Source{"a tooth; thinner chips rub; common practice"});
}

/// Numbers that contradict one another, each named with both values.
void check_shape(SceneTable& table, const CutterCard& card) {
  const auto contradict = [&](const char* key, const std::string& what, const char* way_out) {
    if (table.has(key))
      table.fault(key, what, way_out);
    else
      table.reading().fault(table.value(), what, way_out);
  };
  if (card.flute_length_mm > card.stick_out_mm)
    contradict("flute_length",
               fmt::format("flute_length {:g} mm is longer than stick_out {:g} mm", card.flute_length_mm,
                           card.stick_out_mm),
               "flutes must not reach into the collet: give the real stick_out, tip to collet face");
  else if (card.flute_length_mm + card.neck_length_mm > card.stick_out_mm)
    contradict("neck_length",
               fmt::format("flute_length {:g} mm and neck_length {:g} mm are longer than stick_out {:g} mm",
                           card.flute_length_mm, card.neck_length_mm, card.stick_out_mm),
               "stick_out is measured from the tip to the collet face");
  if (card.neck_diameter_mm > card.diameter_mm)
    contradict("neck_diameter",
               fmt::format("neck_diameter {:g} mm is larger than diameter {:g} mm", card.neck_diameter_mm,
                           card.diameter_mm),
               "a neck is relieved: thinner than the flutes");
  if (card.corner_radius_mm > card.diameter_mm / 2)
    contradict("corner_radius",
               fmt::format("corner_radius {:g} mm is larger than half the diameter {:g} mm",
                           card.corner_radius_mm, card.diameter_mm),
               "use tip = \"ball\"");
  if (card.tip_diameter_mm > card.diameter_mm)
    contradict("tip_diameter",
               fmt::format("tip_diameter {:g} mm is larger than diameter {:g} mm", card.tip_diameter_mm,
                           card.diameter_mm),
               "");
  if (card.tip == TipShape::bull_nose && card.corner_radius_mm <= 0)
    table.missing("corner_radius", "tip = \"bull-nose\" needs corner_radius = \"1 mm\"");
  const bool slanted = card.tip == TipShape::tapered || card.tip == TipShape::chamfer;
  if (slanted && card.taper_deg <= 0)
    table.missing("taper", "this tip needs its half angle: taper = \"45 deg\"");
  if (card.tip == TipShape::drill_point && card.taper_deg <= 0)
    table.missing("point_angle", "tip = \"drill\" needs point_angle = \"118 deg\"");
}

} // namespace

std::optional<CutterCard> read_cutter(SceneReading& reading, const SceneValue& value,
                                      const std::string& name) {
  if (value.kind == Kind::text)
    return card_named(reading, value, "cutter", cutter_cards());
  if (value.kind != Kind::table) {
    reading.fault(value,
                  fmt::format("cutter is {}; the name of a card or a table belongs here", shown(value)),
                  "cutter = { diameter = \"6 mm\", flute_length = \"22 mm\" }");
    return {};
  }
  SceneTable table(reading, value, name);
  const std::size_t faults_before = reading.faults.size();
  std::optional<CutterCard> base = CutterCard{};
  const SceneValue* card_name = table.find("card");
  if (card_name && table.text("card"))
    base = card_named(reading, *card_name, "cutter", cutter_cards());
  CutterCard card = base.value_or(CutterCard{});
  lay_over(table, card);
  const bool whole = card_name || (table.has("diameter") && table.has("flute_length"));
  if (!table.has("diameter") && !card_name)
    table.missing("diameter", "diameter = \"6 mm\", over the flutes");
  if (!table.has("flute_length") && !card_name)
    table.missing("flute_length", "flute_length = \"22 mm\", the length that cuts");
  if (!card_name && whole && reading.faults.size() == faults_before)
    assume_missing(table, card);
  if (whole && reading.faults.size() == faults_before)
    check_shape(table, card);
  // Parts the cutter does not have, or has by its tip's shape.
  table.quiet({"card", "name", "profile", "corner_radius", "taper", "point_angle", "tip_diameter",
               "neck_diameter", "neck_length", "nut_length", "holder_length", "diameter", "flute_length"});
  if (card_name) // what is left out is the card's
    table.quiet({"tip", "shank_diameter", "stick_out", "flutes", "helix", "rake", "least_chip",
                 "nut_diameter", "holder_diameter"});
  if (table.has("profile"))
    table.quiet({"tip"});
  table.finish();
  if (reading.faults.size() != faults_before)
    return {};
  return card;
}

} // namespace snagmap
