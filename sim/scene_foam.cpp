#include "sim/scene_sections.hpp"

#include <fmt/format.h>

namespace snagmap {
namespace {

using Kind = SceneValue::Kind;
const std::vector<std::string> kKinds{"polyurethane", "polyethylene", "eva",
                                      "polystyrene"}; // order of FoamKind

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
  if (!own.has("value"))
    own.missing("value", "give value, and low and high if they were measured");
  own.finish();
  if (!nominal || (own.has("low") && !low) || (own.has("high") && !high))
    return false;
  const Banded given{*nominal, low.value_or(*nominal), high.value_or(*nominal), source.value_or("the scene"),
                     false};
  if (given.low > given.nominal || given.high < given.nominal) {
    table.fault(key, key + ": low, value and high must rise in this order", "");
    return false;
  }
  banded = given;
  return true;
}

/// The card to start from: by name, or by kind and density.
std::optional<FoamCard> base_card(SceneTable& table) {
  const SceneValue* name = table.find("card");
  const auto kind = table.choice("kind", kKinds);
  const auto density = table.quantity("density", {Dimension::density, 5, 500});
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
  const auto card = interpolated_foam(static_cast<FoamKind>(*kind), *density);
  if (!card) {
    table.fault("density", card.faults().front().what, card.faults().front().way_out);
    return {};
  }
  table.reading().notes.push_back(
      fmt::format("foam {} at {:g} kg/m3 is interpolated between cards, so its bands are wider",
                  kKinds[*kind], *density));
  return *card;
}

} // namespace

std::optional<FoamCard> read_foam(SceneReading& reading, const SceneValue& value, const std::string& name) {
  if (value.kind == Kind::text)
    return card_named(reading, value, "foam", foam_cards());
  if (value.kind != Kind::table) {
    reading.fault(value, fmt::format("foam is {}; the name of a card or a table belongs here", shown(value)),
                  "foam = \"pu-22\"");
    return {};
  }
  SceneTable table(reading, value, name);
  std::optional<FoamCard> base = base_card(table);
  FoamCard card = base.value_or(FoamCard{});
  const Banded E0 = card.E_kPa, Gc0 = card.Gc_N_mm, bite0 = card.bite_depth_mm;
  if (const auto own_name = table.text("name"))
    card.name = *own_name, card.title = *own_name;
  if (const auto open = table.flag("open_cell"))
    card.open_cell = *open;
  bool pull_inputs = own_value(table, "modulus", {Dimension::pressure, 1, 20000}, card.E_kPa);
  pull_inputs |= own_value(table, "tear_energy", {Dimension::line_force, 0.01, 20}, card.Gc_N_mm);
  pull_inputs |= own_value(table, "bite_depth", {Dimension::length, 0.05, 10}, card.bite_depth_mm);
  own_value(table, "tensile_strength", {Dimension::pressure, 1, 20000}, card.tensile_kPa);
  own_value(table, "cell", {Dimension::length, 0.01, 20}, card.cell_mm);
  own_value(table, "cut_force", {Dimension::line_force, 0.001, 50}, card.cut_force_N_mm);
  own_value(table, "severing_energy", {Dimension::energy_density, 0.001, 100}, card.severing_MJ_m3);
  own_value(table, "poisson", {Dimension::share, 0, 0.49}, card.nu);
  own_value(table, "loss_factor", {Dimension::share, 0, 2}, card.loss_factor);
  const bool own_pull = own_value(table, "pull_ratio", {Dimension::share, 0.0001, 10}, card.lambda);
  table.finish();
  if (!base)
    return {};
  if (pull_inputs && !own_pull) {
    // Lambda = chi Gc / (E delta): the bite efficiency chi stays the card's, so Lambda follows the own
    // values.
    const double scale = card.Gc_N_mm.nominal / Gc0.nominal * E0.nominal / card.E_kPa.nominal *
                         bite0.nominal / card.bite_depth_mm.nominal;
    card.lambda.nominal *= scale, card.lambda.low *= scale, card.lambda.high *= scale;
    table.assume("pull_ratio", fmt::format("{:.4g}", card.lambda.nominal),
                 "the card's, scaled by the modulus, tear energy and bite depth given");
  }
  return card;
}

} // namespace snagmap
