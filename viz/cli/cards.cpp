// `snagmap cards`: the catalogue with sources.
#include "viz/cli/command_line.hpp"

#include "models/base/plain_text.hpp"
#include "models/cards/card_fields.hpp"
#include "viz/terminal/style.hpp"
#include "viz/words/shown.hpp"

#include <CLI/CLI.hpp>
#include <cstdio>
#include <fmt/format.h>
#include <memory>

namespace snagmap {
namespace {

using Rows = std::vector<std::vector<std::string>>;

/// The values of a card, one line each: what, nominal, range, source.
void print_foam(const FoamCard& card) {
  fmt::print("{}: {}\n", plain_text(card.name), plain_text(card.title));
  Rows rows;
  for_each_value<Banded>(card, [&](const auto& field, const Banded& value) {
    const bool share = field.dimension == Dimension::share;
    rows.push_back({"  ", field.key, fmt::format("{:.4g}", value.nominal),
                    fmt::format("{:.4g} to {:.4g}", value.low, value.high),
                    share ? "-" : base_unit(field.dimension), source_words(value)});
  });
  fmt::print("{}", aligned(rows, {false, false, true, false, false, false}));
  for (const std::string& line : card.history)
    fmt::print("    {}\n", plain_text(line));
}

void print_foams() {
  fmt::print("Foams: foam = \"NAME\", or kind and density. Values: nominal, range, source.\n");
  for (const FoamCard& card : foam_cards())
    print_foam(card);
}

void print_cutters() {
  fmt::print("Cutters: cutter = \"NAME\". Lengths in mm, angles in deg, helix + is up-cut.\n");
  Rows rows{{"name", "tip", "diameter", "flutes", "flute length", "neck", "neck length", "shank", "stick-out",
             "helix", "rake", "source"}};
  for (const CutterCard& card : cutter_cards())
    rows.push_back({card.name, to_text(card.tip), fmt::format("{:g}", card.diameter_mm),
                    fmt::format("{}", card.flutes), fmt::format("{:g}", card.flute_length_mm),
                    card.neck_diameter_mm > 0 ? fmt::format("{:g}", card.neck_diameter_mm) : "-",
                    card.neck_diameter_mm > 0 ? fmt::format("{:g}", card.neck_length_mm) : "-",
                    fmt::format("{:g}", card.shank_diameter_mm), fmt::format("{:g}", card.stick_out_mm),
                    fmt::format("{:g}", card.helix_deg), fmt::format("{:g}", card.rake_deg), card.source});
  fmt::print("{}",
             aligned(rows, {false, false, true, true, true, true, true, true, true, true, true, false}));
}

void print_machines() {
  fmt::print("Machines: machine = \"NAME\". Feed in mm/min, acceleration in mm/s2, each for x, y, z.\n");
  Rows rows{{"name", "feed", "rapid", "acceleration", "spindle rpm", "source"}};
  const auto three = [](const std::array<double, 3>& a) {
    return fmt::format("{:g} {:g} {:g}", a[0], a[1], a[2]);
  };
  for (const MachineCard& card : machine_cards())
    rows.push_back({card.name, three(card.feed_mm_min), three(card.rapid_mm_min),
                    three(card.acceleration_mm_s2),
                    fmt::format("{:g} to {:g}", card.spindle_min_rpm, card.spindle_max_rpm), card.source});
  fmt::print("{}", aligned(rows, {false, false, false, false, false, false}));
}

int print_cards(const std::string& which) {
  const bool all = which.empty();
  if (all || which == "foams")
    print_foams();
  if (all)
    fmt::print("\n");
  if (all || which == "cutters")
    print_cutters();
  if (all)
    fmt::print("\n");
  if (all || which == "machines")
    print_machines();
  return kNothingFound;
}

} // namespace

void add_cards_command(CLI::App& app, Command& chosen) {
  CLI::App* command = add_command(app, "cards", "List foams, cutters and machines with their sources.",
                                  "  snagmap cards\n  snagmap cards foams\n");
  auto which = std::make_shared<std::string>();
  command->add_option("WHICH", *which, "foams, cutters or machines; all when left out")
      ->check(CLI::IsMember({"foams", "cutters", "machines"}));
  command->callback([which, &chosen] { chosen = [which] { return print_cards(*which); }; });
}

} // namespace snagmap
