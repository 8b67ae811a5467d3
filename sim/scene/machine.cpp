// Machine, hold-down and collet: what stands round the sheet.
#include "sim/scene/sections.hpp"

#include "models/cards/card_fields.hpp"

#include <algorithm>
#include <fmt/format.h>

namespace snagmap {

const char* to_text(HoldDownKind kind) {
  switch (kind) {
  case HoldDownKind::none_given:
    return "none";
  case HoldDownKind::tape:
    return "tape";
  case HoldDownKind::vacuum:
    return "vacuum";
  }
  return "";
}

namespace {

using Kind = SceneValue::Kind;

/// One quantity for all axes, or a list of three for x, y, z.
void per_axis(SceneTable& table, const char* key, Range range, std::array<double, 3>& axes) {
  const SceneValue* value = table.find(key);
  if (!value)
    return;
  if (value->kind == Kind::list) {
    if (const auto three = table.quantities(key, range, 3, 3))
      std::copy_n(three->begin(), 3, axes.begin());
  } else if (const auto one = table.quantity(key, range)) {
    axes.fill(*one);
  }
}

/// Says of every value that was not given what it is taken from. What a named card states is given; how long
/// a spindle or a person takes hangs on the workshop, whatever the card says.
void assume_of_card(SceneTable& table, const MachineCard& card, bool card_given) {
  const std::string of = "of the card \"" + card.name + '"';
  const auto assume_all = [&](const char* key, std::vector<Amount> amounts) {
    if (table.has(key))
      return;
    if (card_given)
      table.quiet({key});
    else
      table.assume(key, std::move(amounts), why::Source{of});
  };
  const auto assume_word = [&](const char* key, const std::string& word) {
    if (table.has(key))
      return;
    if (card_given)
      table.quiet({key});
    else
      table.assume(key, word, of);
  };
  const auto assume = [&](const char* key, double value, Dimension dimension) {
    assume_all(key, {{value, dimension}});
  };
  const auto axes = [](const std::array<double, 3>& of_axis, Dimension dimension) {
    std::vector<Amount> amounts{{of_axis[0], dimension}};
    if (of_axis[0] != of_axis[1] || of_axis[1] != of_axis[2])
      amounts.push_back({of_axis[1], dimension}), amounts.push_back({of_axis[2], dimension});
    return amounts;
  };
  assume_all("feed", axes(card.feed_mm_min, Dimension::speed));
  assume_all("rapid", axes(card.rapid_mm_min, Dimension::speed));
  assume_all("acceleration", axes(card.acceleration_mm_s2, Dimension::acceleration));
  if (card.jerk_mm_s3 == std::array<double, 3>{})
    assume_word("jerk", "no limit");
  else
    assume_all("jerk", axes(card.jerk_mm_s3, Dimension::jerk));
  assume("corner_deviation", card.corner_deviation_mm, Dimension::length);
  assume_word("spindle", fmt::format("{:g} to {:g} rpm", card.spindle_min_rpm, card.spindle_max_rpm));
  if (!table.has("spindle_run_up"))
    table.assume("spindle_run_up", {{card.spindle_run_up_s, Dimension::time}},
                 why::Source{of + "; time yours"});
  if (!table.has("tool_change"))
    table.assume("tool_change", {{card.tool_change_s, Dimension::time}},
                 why::Source{of + "; by hand; time yours"});
}

/// The section as a table; a fault and nothing when it is something else.
const SceneValue* section(SceneReading& reading, const SceneValue* value, const std::string& name) {
  if (!value || value->kind == Kind::table)
    return value;
  reading.fault(*value, fmt::format("{} is {}; a table belongs here", name, shown(*value)), "[" + name + "]");
  return nullptr;
}

} // namespace

MachineCard read_machine(SceneReading& reading, const SceneValue* value) {
  const std::vector<MachineCard>& cards = machine_cards();
  MachineCard card = cards.empty() ? MachineCard{} : cards.front();
  const SceneValue none;
  if (value && value->kind == Kind::text) {
    card = card_named(reading, *value, "machine", cards).value_or(card);
    SceneTable times(reading, none, "[machine]");
    assume_of_card(times, card, true);
    return card;
  }
  if (value && value->kind != Kind::table) {
    reading.fault(
        *value, fmt::format("machine is {}; the name of a card or a table belongs here", shown(*value)), "");
    return card;
  }
  SceneTable table(reading, value ? *value : none, "[machine]");
  const SceneValue* name = table.find("card");
  if (name && table.text("card"))
    card = card_named(reading, *name, "machine", cards).value_or(card);
  if (!name)
    table.assume("card", '"' + card.name + '"', "not given");
  assume_of_card(table, card, name != nullptr);
  table.quiet({"name"});
  if (const auto own = table.text("name"))
    card.name = *own, card.title = *own;
  for_each_value<std::array<double, 3>>(card, [&](const auto& field, std::array<double, 3>& axes) {
    per_axis(table, field.key, {field.dimension, field.low, field.high}, axes);
  });
  for_each_value<double>(card, [&](const auto& field, double& into) {
    if (!field.key)
      return;
    if (const auto number = table.quantity(field.key, {field.dimension, field.low, field.high}))
      into = *number;
  });
  if (const auto rpm = table.quantities("spindle", {Dimension::rotation, 0, 100000}, 2, 2)) {
    card.spindle_min_rpm = (*rpm)[0], card.spindle_max_rpm = (*rpm)[1];
    if ((*rpm)[0] > (*rpm)[1])
      table.fault("spindle", "spindle: the least speed is above the greatest", "");
  }
  table.finish();
  return card;
}

HoldDown read_hold_down(SceneReading& reading, const SceneValue* value) {
  HoldDown hold;
  const SceneValue* given = section(reading, value, "hold_down");
  if (!given) {
    reading.assumed.push_back(
        {"", "[hold_down]", "", "none", {}, why::Source{"not given: nothing is said about hold-down"}});
    return hold;
  }
  SceneTable table(reading, *given, "[hold_down]");
  const auto kind = table.choice("kind", {"tape", "vacuum"});
  if (!table.has("kind"))
    table.missing("kind", "kind = \"tape\" or kind = \"vacuum\"");
  // Keys of the other kind are known, so that they are refused for what they are.
  const std::vector<std::string> tape_keys{"area", "strip_width", "tension", "shear", "peel"};
  const std::vector<std::string> vacuum_keys{"pressure", "film"};
  if (kind) {
    hold.kind = *kind == 0 ? HoldDownKind::tape : HoldDownKind::vacuum;
    for (const std::string& key : *kind == 0 ? vacuum_keys : tape_keys)
      if (table.has(key))
        table.fault(key, key + " does not belong to this kind of hold-down", "remove it or change kind");
  }
  const auto banded = [&](const char* key, Range range, double design) {
    const auto own = table.quantity(key, range);
    if (own)
      return Banded{*own, *own, *own, "the scene", false};
    if (hold.kind == HoldDownKind::tape)
      table.assume(key, {{design, range.dimension}},
                   why::Source{"a guess good to a factor 2, for clean polyethylene; half for polyurethane"});
    else
      table.quiet({key});
    return Banded{design, design / 2, design * 2,
                  "a guess: design value for clean polyethylene, half for polyurethane", true};
  };
  hold.tension_kPa = banded("tension", {Dimension::pressure, 0.1, 1000}, 30);
  hold.shear_kPa = banded("shear", {Dimension::pressure, 0.1, 1000}, 20);
  hold.peel_N_mm = banded("peel", {Dimension::line_force, 0.001, 10}, 0.1);
  hold.tape_area_share = table.quantity("area", {Dimension::share, 0.001, 1}).value_or(1);
  hold.tape_width_mm = table.quantity("strip_width", {Dimension::length, 1, 2000});
  hold.vacuum_kPa = table.quantity("pressure", {Dimension::pressure, 0.1, 101.325});
  constexpr Film kFilms[] = {Film::none, Film::on_top, Film::under};
  hold.film = kFilms[table.choice("film", {"none", "top", "under"}).value_or(0)];
  if (kind && *kind == 1 && !table.has("pressure"))
    table.missing("pressure", "pressure = \"20 kPa\", below the atmosphere");
  if (kind && *kind == 1 && !table.has("film"))
    table.assume("film", "\"none\"", "not given");
  if (kind && *kind == 0 && !table.has("area"))
    table.assume("area", "100 %", "not given: tape under the whole sheet");
  if (kind && *kind == 0 && !table.has("strip_width"))
    table.assume("strip_width", "the sheet's", "not given: no gaps between strips");
  table.quiet(kind && *kind == 0 ? vacuum_keys : tape_keys); // of the other kind
  table.finish();
  return hold;
}

Collet read_collet(SceneReading& reading, const SceneValue* value) {
  Collet collet;
  const SceneValue* given = section(reading, value, "collet");
  if (!given) {
    reading.assumed.push_back(
        {"", "[collet]", "", "none", {}, why::Source{"not given: the shank fit is not checked"}});
    return collet;
  }
  SceneTable table(reading, *given, "[collet]");
  // ISO 15488 (8 degree collets): largest shank of each size.
  const std::vector<std::string> series{"ER8", "ER11", "ER16", "ER20", "ER25", "ER32", "ER40"};
  const std::vector<double> largest{5, 7, 10, 13, 16, 20, 26};
  collet.given = true;
  const auto which = table.choice("series", series);
  if (which)
    collet.series = series[*which];
  const auto bore = table.quantity("bore", {Dimension::length, 0.5, which ? largest[*which] : 26});
  if (!table.has("bore"))
    table.missing("bore", "bore = \"6 mm\", the largest shank, as engraved");
  collet.bore_mm = bore.value_or(0);
  collet.least_mm = table.quantity("least", {Dimension::length, 0.2, bore.value_or(26)}).value_or(0);
  collet.length_mm = table.quantity("length", {Dimension::length, 1, 200}).value_or(0);
  collet.clamped_length_mm = table.quantity("clamped_length", {Dimension::length, 1, 200}).value_or(0);
  if (collet.length_mm > 0 && collet.clamped_length_mm > collet.length_mm)
    table.fault("clamped_length",
                fmt::format("clamped_length {:g} mm is longer than the collet, {:g} mm",
                            collet.clamped_length_mm, collet.length_mm),
                "");
  table.quiet(
      {"series", "least", "length", "clamped_length"}); // without them less is judged, and that is said
  table.finish();
  return collet;
}

StopLimits read_stops(SceneReading& reading, const SceneValue* value) {
  const SceneValue none;
  const SceneValue* given = section(reading, value, "stops");
  SceneTable table(reading, given ? *given : none, "[stops]");
  StopLimits limits;
  limits.strand_mm = table.quantity_or("strand", kStopStrandRange, limits.strand_mm,
                                       "a longer run counts as a long strand, half of it in a slot");
  limits.within_s = table.quantity_or("within", kStopWithinRange, limits.within_s,
                                      "how long a strand or a torn web may wait to be seen; no source");
  table.finish();
  return limits;
}

} // namespace snagmap
