// What pictures, report and terminal say of a spot.
#pragma once

#include "sim/preview/preview.hpp"
#include "viz/words/shown.hpp"

#include <string>
#include <vector>

namespace snagmap {

/// Snag number and band that decide: of the finite elements where they are verified, else of the formula.
struct SnagBand {
  double s = 0, low = 0, high = 0;
  bool solid = false; ///< by finite elements
  std::string text() const { return band_text(s, low, high); }
  std::string words() const; ///< "band 0.59 to 1.11"
};
SnagBand band_of(const Spot& spot);

/// "S 1.56 (1.10 to 2.15), tears" of the worst spot, or that nothing was found.
std::string finding_of(const Preview& preview);
/// Whether two spots, of one preview or of two set-ups of one sheet, concern the same stretch of wall.
bool same_place(const Spot& a, const Spot& b);
/// Ranks of the worst spots, each at a place of its own: passes over one web repeat the same news. Under S =
/// 0.5 only the worst three.
std::vector<std::size_t> worst_places(const Preview& preview, std::size_t most);
std::string words_of(const Reason& reason, const Shown& shown);
std::string words_of(const Unsolved& why, const Shown& shown);
/// All reasons of a spot, parted by semicolons.
std::string reasons_words(const Spot& spot, const Shown& shown);
/// Why a spot is what it is, and the change that was tried on it: its first reason, and the one that names
/// another S.
std::string reason_of(const Spot& spot, const Shown& shown);

} // namespace snagmap
