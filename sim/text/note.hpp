// What a user should know of how scene and program were read and judged. Sentences are made in viz/words.
#pragma once

#include "models/base/vec.hpp"
#include "sim/text/members.hpp"
#include "sim/text/remark.hpp"

#include <array>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <variant>
#include <vector>

namespace snagmap {

enum class NoteKind {
  remark,
  sheet_larger,
  program_larger,
  border_assumed,
  foam_interpolated,
  spots_left_out,
  none_solved,
};
const char* to_text(NoteKind kind);

namespace note {

/// Of the program's reader: what it is about, where, and what of the program it names.
struct Remark {
  RemarkKind about;
  std::int32_t line;              ///< 0: of the whole program
  std::vector<std::string> words; ///< codes and numbers as the program has them, in the sentence's order
  std::optional<Vec3> place_mm;
  std::optional<double> length_mm;
  static constexpr auto kind = NoteKind::remark;
  static constexpr std::array keys{"about", "line", "words", "place_mm", "length_mm"};
};
struct SheetLarger {
  double times, program_mm; ///< as large as the program's extents
  static constexpr auto kind = NoteKind::sheet_larger;
  static constexpr std::array keys{"times", "program_mm"};
};
struct ProgramLarger {
  double times, program_mm; ///< as large as the sheet
  static constexpr auto kind = NoteKind::program_larger;
  static constexpr std::array keys{"times", "program_mm"};
};
struct BorderAssumed {
  static constexpr auto kind = NoteKind::border_assumed;
};
struct FoamInterpolated {
  std::string foam; ///< its kind
  double density_kg_m3;
  static constexpr auto kind = NoteKind::foam_interpolated;
  static constexpr std::array keys{"foam", "density_kg_m3"};
};
struct SpotsLeftOut {
  std::size_t spots;
  double most_unknowns; ///< of all patches together
  static constexpr auto kind = NoteKind::spots_left_out;
  static constexpr std::array keys{"spots", "most_unknowns"};
};
struct NoneSolved {
  static constexpr auto kind = NoteKind::none_solved;
};

} // namespace note
using Note = std::variant<note::Remark, note::SheetLarger, note::ProgramLarger, note::BorderAssumed,
                          note::FoamInterpolated, note::SpotsLeftOut, note::NoneSolved>;

/// A remark as a sentence.
using SayRemark = std::function<std::string(const note::Remark&)>;

} // namespace snagmap
