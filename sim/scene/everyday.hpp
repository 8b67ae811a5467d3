// Everyday names of foams and cutters, for those who know no card: what each is taken for.
#pragma once

#include "models/cards/cutter.hpp"
#include "models/cards/foam.hpp"

#include <string>
#include <vector>

namespace snagmap {

/// A foam as people see and squeeze it. Common practice, no source: a look tells no modulus, so the name only
/// picks a card of the right kind, whose band is wide.
struct EverydayFoam {
  const char* name;
  const char* card;
};
const std::vector<EverydayFoam>& everyday_foams();
/// The card's name for an everyday one, in small or capital letters; the word itself when it is none.
std::string foam_card_for(const std::string& word);

/// "6.35 x 22", "6,35x22", "1/4 in x 7/8 in": diameter and flute length, mm where no unit stands.
struct CutterSize {
  double diameter_mm = 0, flutes_mm = 0;
};
/// False when the word is no such pair.
bool read_cutter_size(const std::string& word, CutterSize& size);
/// Cards by how far they are from the size, nearest first, the diameter counting most.
std::vector<const CutterCard*> near_cutters(const CutterSize& size);

} // namespace snagmap
