// G40, G41 and G42 (and .1): which side, which radius, and what does not go together with them.
#include "sim/control/interpreter.hpp"

#include <fmt/format.h>

#include <cmath>

namespace snagmap {

/// The radius by D: of a tool's number (G41, G42), or a diameter (G41.1, G42.1). Without D, of the tool in
/// the spindle. What the program sets by G10 L1 goes before the cutter's card.
double Interpreter::radius_of(const Block& block, int code) {
  const int column = block[GroupG::compensation].column;
  if (code % 10 == 1) {
    if (!block.has('D'))
      throw Refusal{column, g_name(code) + " without D: of what diameter?",
                    "write D and the cutter's diameter"};
    const double radius = 0.5 * block['D'] * scale_;
    if (!(std::abs(radius) <= 1000))
      throw Refusal{block.column_of('D'), "a cutter's radius of more than 1 m", "check D and the units"};
    return radius;
  }
  const std::optional<int> mounted = mounted_ ? mounted_ : picked_;
  const int d = block.has('D') ? whole(block, 'D', 999999) : 0;
  const std::optional<int> tool = d == 0 ? mounted : d;
  std::size_t index = static_cast<std::size_t>(tool_);
  if (tool) {
    if (const auto told = radii_mm_.find(*tool); told != radii_mm_.end())
      return told->second;
    if (const auto known = options_.tool_index.find(*tool); known != options_.tool_index.end())
      index = static_cast<std::size_t>(known->second);
    else if (!options_.tool_index.empty() && tool != mounted)
      throw Refusal{block.has('D') ? block.column_of('D') : column,
                    fmt::format("{} D{}: the scene names no cutter for this tool", g_name(code), *tool),
                    fmt::format("give tool {} a cutter in the scene ([[tool]])", *tool)};
    else if (tool > 0 && mounted > 0 && tool != mounted)
      remark(RemarkKind::radius_of_only_cutter, {fmt::format("{} D{}", g_name(code), *tool)});
  }
  if (index < options_.cutter_radius_mm.size())
    return options_.cutter_radius_mm[index];
  if (options_.any_tool) {
    remark(RemarkKind::radius_unknown, {g_name(code)});
    return 0;
  }
  throw Refusal{column, g_name(code) + ": the cutter's radius is not known", "give its card, or D"};
}

void Interpreter::compensate(const Block& block) {
  const int code = block[GroupG::compensation].code, column = block[GroupG::compensation].column;
  if (code == 400) {
    if (!compensation_.on())
      return;
    certain_.clear();
    compensation_.end(certain_);
    for (const Move& own : certain_)
      push_as_it_is(own);
    return;
  }
  used_ |= letter_bit('D');
  if (options_.dialect == Dialect::grbl)
    throw Refusal{column, g_name(code) + ": GRBL has no cutter radius compensation",
                  "let the CAM program put out the cutter's centre line"};
  if (compensation_.on())
    throw Refusal{column, g_name(code) + " while compensation is on", "end it first (G40)"};
  if (plane_ != ArcPlane::xy)
    throw Refusal{column, g_name(code) + " outside plane G17 (X Y)", "write G17 before it"};
  const double radius = radius_of(block, code);
  const bool left = (code / 10 == 41) == (radius >= 0);
  remark(RemarkKind::compensated, {g_name(code)}, {}, std::abs(radius));
  restore(RemarkKind::compensation_not_written, {g_name(code)});
  compensation_.start(left ? 1 : -1, std::abs(radius), tip_);
}

/// LinuxCNC, User Manual, Cutter Compensation; checked with rs274.
void Interpreter::refuse_under_compensation(const Block& block) const {
  const auto refuse = [&](int column, const std::string& what) {
    throw Refusal{column, what + " under cutter compensation", "end it first (G40)",
                  what + " under compensation"};
  };
  if (block.has(GroupG::one_line) && block[GroupG::one_line].code != 40)
    refuse(block[GroupG::one_line].column, g_name(block[GroupG::one_line].code));
  if (block.has(GroupG::plane))
    refuse(block[GroupG::plane].column, g_name(block[GroupG::plane].code));
  if (block.has(GroupG::system))
    refuse(block[GroupG::system].column, g_name(block[GroupG::system].code));
  const int motion = block.has(GroupG::motion) ? block[GroupG::motion].code : motion_.value_or(0);
  if (motion > 30 && motion != 800 && (block.present & kAxisLetters))
    refuse(block.has(GroupG::motion) ? block[GroupG::motion].column : 1, "a drilling cycle");
  for (int i = 0; i < block.m_count; ++i)
    if (block.m[i].code == 6)
      refuse(block.m[i].column, "M6");
}

} // namespace snagmap
