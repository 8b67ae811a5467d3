#include "sim/scene/named_cards.hpp"

#include "sim/scene/everyday.hpp"
#include "sim/scene/sections.hpp"

#include <cmath>
#include <fmt/format.h>

namespace snagmap {
namespace {

constexpr double kSameSize = 0.01, kSameFlutes = 0.05; // flutes are measured by a rule
constexpr std::size_t kNearTold = 3;

/// Reads the word as a scene's value by `read(reading, value)`.
template <class Card, class Read>
Outcome<Card> named(const std::string& word, const std::string& option, Read read) {
  SceneValue value;
  value.kind = SceneValue::Kind::text, value.text = word;
  SceneReading reading{"", "", "", {}, {}, {}};
  const std::optional<Card> card = read(reading, value);
  if (card && reading.faults.empty())
    return *card;
  for (Fault& fault : reading.faults)
    if (fault.file.empty()) // of the word itself: it has no place
      fault.line = fault.column = 0, fault.what = option + ": " + fault.what;
  return std::move(reading.faults);
}

} // namespace

Outcome<FoamCard> foam_named(const std::string& word, const std::string& option) {
  return named<FoamCard>(foam_card_for(word), option, [&](SceneReading& reading, const SceneValue& value) {
    return read_foam(reading, value, option);
  });
}

Outcome<CutterCard> cutter_named(const std::string& word, const std::string& option,
                                 const std::vector<CutterCard>& drawer) {
  for (const CutterCard& own : drawer)
    if (own.name == word)
      return own;
  if (CutterSize size; read_cutter_size(word, size)) {
    const std::vector<const CutterCard*> near = near_cutters(size);
    const CutterCard& card = *near.front();
    if (std::abs(card.diameter_mm - size.diameter_mm) <= kSameSize * size.diameter_mm &&
        std::abs(card.flute_length_mm - size.flutes_mm) <= kSameFlutes * size.flutes_mm)
      return card;
    std::string names;
    for (std::size_t n = 0; n < kNearTold && n < near.size(); ++n)
      names += fmt::format("{}{} ({:g} x {:g})", n == 0 ? "" : ", ", near[n]->name, near[n]->diameter_mm,
                           near[n]->flute_length_mm);
    return Fault(fmt::format("{}: no card of {:g} x {:g} mm (diameter x flute length)", option,
                             size.diameter_mm, size.flutes_mm),
                 "the nearest: " + names + "; a scene takes a cutter's own measures");
  }
  std::vector<CutterCard> all = drawer; // for the nearest name
  all.insert(all.end(), cutter_cards().begin(), cutter_cards().end());
  return named<CutterCard>(word, option, [&](SceneReading& reading, const SceneValue& value) {
    return card_named(reading, value, "cutter", all);
  });
}

} // namespace snagmap
