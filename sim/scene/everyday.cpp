#include "sim/scene/everyday.hpp"

#include "models/base/quantity.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>

namespace snagmap {
namespace {

std::string trimmed(const std::string& text) {
  const std::size_t first = text.find_first_not_of(' '), last = text.find_last_not_of(' ');
  return first == std::string::npos ? "" : text.substr(first, last - first + 1);
}

/// A length with its unit, or a bare number of millimetres; 0 when it is neither.
double length_or_mm(std::string text) {
  text = trimmed(text);
  if (text.empty())
    return 0;
  std::replace(text.begin(), text.end(), ',', '.');
  const bool bare = text.find_first_not_of("0123456789.") == std::string::npos;
  const Outcome<double> value = parse_quantity(bare ? text + " mm" : text, Dimension::length);
  return value && *value > 0 && std::isfinite(*value) ? *value : 0;
}

} // namespace

const std::vector<EverydayFoam>& everyday_foams() {
  static const std::vector<EverydayFoam> foams{{"soft grey sponge", "pu-22"},
                                               {"firm grey sponge", "pu-32"},
                                               {"black drawer foam", "pe-32"},
                                               {"firm white packing", "pe-24"},
                                               {"stiff camp mat", "eva-96"}};
  return foams;
}

std::string foam_card_for(const std::string& word) {
  std::string small = trimmed(word);
  std::transform(small.begin(), small.end(), small.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  for (const EverydayFoam& foam : everyday_foams())
    if (small == foam.name)
      return foam.card;
  return word;
}

bool read_cutter_size(const std::string& word, CutterSize& size) {
  const std::size_t at = word.find_first_of("xX");
  if (at == std::string::npos)
    return false;
  size.diameter_mm = length_or_mm(word.substr(0, at)), size.flutes_mm = length_or_mm(word.substr(at + 1));
  return size.diameter_mm > 0 && size.flutes_mm > 0;
}

std::vector<const CutterCard*> near_cutters(const CutterSize& size) {
  std::vector<const CutterCard*> cards;
  for (const CutterCard& card : cutter_cards())
    cards.push_back(&card);
  const auto off = [&](const CutterCard* card) {
    return 10 * std::abs(std::log(card->diameter_mm / size.diameter_mm)) +
           std::abs(std::log(card->flute_length_mm / size.flutes_mm));
  };
  std::stable_sort(cards.begin(), cards.end(),
                   [&](const CutterCard* a, const CutterCard* b) { return off(a) < off(b); });
  return cards;
}

} // namespace snagmap
