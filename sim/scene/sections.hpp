// The sections of a scene, each read by one function. Every function collects its faults and returns a best
// guess.
#pragma once

#include "sim/scene/scene.hpp"
#include "sim/text/table.hpp"

namespace snagmap {

/// foam = "pu-22", or a table: a card, or a kind with a density, or either with own values laid over it.
std::optional<FoamCard> read_foam(SceneReading& reading, const SceneValue& value, const std::string& name);
/// cutter = "name of a card", or a table: a card with own values laid over it, or all of its own.
std::optional<CutterCard> read_cutter(SceneReading& reading, const SceneValue& value,
                                      const std::string& name);
MachineCard read_machine(SceneReading& reading, const SceneValue* value);
HoldDown read_hold_down(SceneReading& reading, const SceneValue* value);
Collet read_collet(SceneReading& reading, const SceneValue* value);
/// [stops]: when the cutter is to be looked at. The ranges are those of the options of `preview` too.
constexpr Range kStopStrandRange{Dimension::length, 5, 100000};
constexpr Range kStopWithinRange{Dimension::time, 0, 86400};
StopLimits read_stops(SceneReading& reading, const SceneValue* value);
/// sheet, layers, zero, thickness spread; the foam key too, since layers stand in for it.
void read_sheet(SceneTable& top, Scene& scene, const StockReaders& readers);
/// program = "part.nc", or a table with the file and how to read it.
void read_program_section(SceneTable& top, Scene& scene);

/// stock = "block.stl": the sheet as a solid, placed by zero and zero_on where they are given, else by its
/// own coordinates. Fills what read_sheet would fill from size.
void read_stock(SceneTable& sheet, Scene& scene, const StockReaders& readers);

/// The card of that name, or a fault at `value` with the nearest names.
template <class Card>
std::optional<Card> card_named(SceneReading& reading, const SceneValue& value, const std::string& what,
                               const std::vector<Card>& cards) {
  std::vector<std::string> names;
  for (const Card& card : cards) {
    if (card.name == value.text)
      return card;
    names.push_back(card.name);
  }
  const std::string near = nearest(value.text, names);
  reading.fault(value, "unknown " + what + " " + shown(value),
                (near.empty() ? "" : "did you mean \"" + near + "\"? ") +
                    ("`snagmap cards " + what + "s` lists them"));
  return {};
}

} // namespace snagmap
