#include "sim/scene/foam_card.hpp"
#include "sim/scene/sections.hpp"

#include "models/cards/card_fields.hpp"

#include <algorithm>
#include <filesystem>
#include <fmt/format.h>

namespace snagmap {
namespace {

using Kind = SceneValue::Kind;
const std::vector<std::string> kKinds{"polyurethane", "polyethylene", "eva",
                                      "polystyrene"}; // order of FoamKind

constexpr Range kDensity{Dimension::density, 5, 500};

/// An own value over the card's: `key = "30 kPa"` keeps the card's relative band, since a single number says
/// nothing about its spread; `key = { value, low, high, source }` states all of it. True when given.
bool own_value(SceneTable& table, const std::string& key, Range range, Banded& banded) {
  const SceneValue* value = table.find(key);
  if (!value)
    return false;
  if (value->kind != Kind::table) {
    const auto number = table.quantity(key, range);
    if (!number)
      return false;
    const double scale = banded.nominal != 0 ? *number / banded.nominal : 0;
    if (scale != 0)
      banded.low *= scale, banded.high *= scale;
    else
      banded.low = banded.high = *number;
    banded.nominal = *number;
    banded.source = "the scene";
    banded.guess = false;
    return true;
  }
  SceneTable own(table.reading(), *value, table.name() + " " + key);
  const auto nominal = own.quantity("value", range), low = own.quantity("low", range),
             high = own.quantity("high", range);
  const auto source = own.text("source");
  const bool guess = own.flag("guess").value_or(false);
  if (!own.has("value"))
    own.missing("value", "give value, and low and high if they were measured");
  for (const char* end : {"low", "high"})
    if (!own.has(end))
      own.assume(end, "value", "not given: no band on this side");
  own.quiet({"source", "guess"});
  own.finish();
  if (!nominal || (own.has("low") && !low) || (own.has("high") && !high))
    return false;
  const Banded given{*nominal, low.value_or(*nominal), high.value_or(*nominal), source.value_or("the scene"),
                     guess};
  if (given.low > given.nominal || given.high < given.nominal) {
    table.fault(key, key + ": low, value and high must rise in this order", "");
    return false;
  }
  banded = given;
  return true;
}

/// Nothing would be left of the card it starts from: no catalogue is asked.
bool states_everything(SceneTable& table) {
  bool all = true;
  FoamCard none;
  for_each_value<Banded>(none, [&](const auto& field, Banded&) { all &= table.has(field.key); });
  return all;
}

/// The card to start from: by name, or by kind and density.
std::optional<FoamCard> base_card(SceneTable& table) {
  const SceneValue* name = table.find("card");
  const auto kind = table.choice("kind", kKinds);
  const auto density = table.quantity("density", kDensity);
  if (name) {
    if (table.has("kind"))
      table.fault("kind", "kind stands beside card", "give a card, or a kind and a density");
    if (!table.text("card"))
      return {};
    auto card = card_named(table.reading(), *name, "foam", foam_cards());
    if (card && density)
      card->density_kg_m3 = *density;
    return card;
  }
  if (!table.has("kind"))
    table.missing("card", "give card = \"pu-22\", or kind = \"polyurethane\" and density = \"22 kg/m3\"");
  if (table.has("kind") && !table.has("density"))
    table.missing("density", "a kind needs its density: density = \"22 kg/m3\"");
  if (!kind || !density)
    return {};
  if (states_everything(table)) {
    FoamCard own;
    own.kind = static_cast<FoamKind>(*kind), own.open_cell = *kind == 0, own.density_kg_m3 = *density;
    own.name = own.title = fmt::format("{} of {:g} kg/m3", kKinds[*kind], *density);
    return own;
  }
  const auto card = interpolated_foam(static_cast<FoamKind>(*kind), *density);
  if (!card) {
    table.fault("density", card.faults().front().what, card.faults().front().way_out);
    return {};
  }
  table.reading().notes.push_back(note::FoamInterpolated{kKinds[*kind], *density});
  return *card;
}

/// The card a table describes; `table` is finished here.
std::optional<FoamCard> foam_of(SceneTable& table) {
  std::optional<FoamCard> base = base_card(table);
  if (base && !table.has("card") && states_everything(table) && !table.has("open_cell"))
    table.assume("open_cell", base->open_cell ? "true" : "false", "as this kind of foam usually is");
  // What is left out is the card's, or stands between two cards, which a note says.
  table.quiet({"card", "kind", "density", "name", "title", "open_cell", "history", "modulus", "tear_energy",
               "bite_depth", "tensile_strength", "cell", "cut_force", "severing_energy", "poisson",
               "loss_factor", "pull_ratio"});
  FoamCard card = base.value_or(FoamCard{});
  const FoamCard as_it_was = card;
  if (const auto own_name = table.text("name"))
    card.name = *own_name, card.title = *own_name;
  if (const auto title = table.text("title"))
    card.title = *title;
  if (const auto open = table.flag("open_cell"))
    card.open_cell = *open;
  if (const auto history = table.texts("history"))
    card.history = *history;
  bool own_pull = false, pull_inputs = false;
  for_each_value<Banded>(card, [&](const auto& field, Banded& value) {
    const bool given = own_value(table, field.key, {field.dimension, field.low, field.high}, value);
    own_pull |= given && field.member == &FoamCard::lambda;
    pull_inputs |= given && (field.member == &FoamCard::E_kPa || field.member == &FoamCard::Gc_N_mm ||
                             field.member == &FoamCard::bite_depth_mm);
  });
  table.finish();
  if (!base)
    return {};
  if (pull_inputs && !own_pull) {
    // Lambda = chi Gc / (E delta): the bite efficiency chi stays the card's, so Lambda follows the own
    // values.
    const double scale = card.Gc_N_mm.nominal / as_it_was.Gc_N_mm.nominal * as_it_was.E_kPa.nominal /
                         card.E_kPa.nominal * as_it_was.bite_depth_mm.nominal / card.bite_depth_mm.nominal;
    card.lambda.nominal *= scale, card.lambda.low *= scale, card.lambda.high *= scale;
    table.assume("pull_ratio", fmt::format("{:.4g}", card.lambda.nominal),
                 "the card's, scaled by the modulus, tear energy and bite depth given");
  }
  return card;
}

/// The card of a file's text, read into `reading`, whose file and text are the card's.
std::optional<FoamCard> card_in(SceneReading& reading) {
  const Outcome<SceneValue> parsed = parse_scene_text(reading.text, reading.file);
  if (!parsed) {
    reading.faults.insert(reading.faults.end(), parsed.faults().begin(), parsed.faults().end());
    return {};
  }
  SceneTable table(reading, *parsed, "");
  const std::optional<FoamCard> card = foam_of(table);
  reading.faults = sorted_by_place(std::move(reading.faults));
  return reading.faults.empty() ? card : std::nullopt;
}

SceneReading reading_of(const std::string& text, const std::string& file) {
  return {file, std::filesystem::path(file).parent_path().string(), text, {}, {}, {}};
}

/// "own.toml", from the scene's folder on: a card of the user's.
std::optional<FoamCard> foam_in_file(SceneReading& reading, const SceneValue& value) {
  const std::filesystem::path given(value.text);
  const auto file = given.is_absolute() ? given : std::filesystem::path(reading.folder) / given;
  std::error_code error;
  if (!std::filesystem::exists(file, error)) {
    reading.fault(value, "foam card " + shown(value) + ": no such file",
                  reading.file.empty() ? "paths start at the folder you are in"
                                       : "paths start at the scene's folder");
    return {};
  }
  const Outcome<std::string> text = read_scene_text(file.string());
  if (!text) {
    reading.faults.insert(reading.faults.end(), text.faults().begin(), text.faults().end());
    return {};
  }
  SceneReading own = reading_of(*text, file.string());
  const std::optional<FoamCard> card = card_in(own);
  reading.faults.insert(reading.faults.end(), own.faults.begin(), own.faults.end());
  for (Assumed one : own.assumed) {
    one.file = file.filename().string();
    reading.assumed.push_back(std::move(one));
  }
  reading.notes.insert(reading.notes.end(), own.notes.begin(), own.notes.end());
  return card;
}

} // namespace

std::optional<FoamCard> read_foam(SceneReading& reading, const SceneValue& value, const std::string& name) {
  if (value.kind == Kind::text && std::filesystem::path(value.text).extension() == ".toml")
    return foam_in_file(reading, value);
  if (value.kind == Kind::text)
    return card_named(reading, value, "foam", foam_cards());
  if (value.kind != Kind::table) {
    reading.fault(value, fmt::format("foam is {}; the name of a card or a table belongs here", shown(value)),
                  "foam = \"pu-22\"");
    return {};
  }
  SceneTable table(reading, value, name);
  return foam_of(table);
}

Outcome<FoamCard> parse_foam_card(const std::string& text, const std::string& file) {
  SceneReading reading = reading_of(text, file);
  if (const std::optional<FoamCard> card = card_in(reading))
    return *card;
  return reading.faults;
}

} // namespace snagmap
