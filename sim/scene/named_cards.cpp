#include "sim/scene/named_cards.hpp"

#include "sim/scene/sections.hpp"

namespace snagmap {
namespace {

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
  return named<FoamCard>(word, option, [&](SceneReading& reading, const SceneValue& value) {
    return read_foam(reading, value, option);
  });
}

Outcome<CutterCard> cutter_named(const std::string& word, const std::string& option,
                                 const std::vector<CutterCard>& drawer) {
  for (const CutterCard& own : drawer)
    if (own.name == word)
      return own;
  std::vector<CutterCard> all = drawer; // for the nearest name
  all.insert(all.end(), cutter_cards().begin(), cutter_cards().end());
  return named<CutterCard>(word, option, [&](SceneReading& reading, const SceneValue& value) {
    return card_named(reading, value, "cutter", all);
  });
}

} // namespace snagmap
