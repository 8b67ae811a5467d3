#include "sim/checks/touches.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <tuple>

namespace snagmap {
namespace {

constexpr std::uint32_t kSameStretch_moves = 50; // touches nearer than this in the program are one event
constexpr double kTableTouch_mm = 1e-3;

struct Kind {
  const char* key;
  bool stops_job;
  const char* words;
};

Kind kind_of(const Touch& touch) {
  switch (touch.zone) {
  case Zone::nut:
    return {"nut-in-foam", true, "the collet nut runs into foam"};
  case Zone::holder:
    return {"holder-in-foam", true, "the holder runs into foam"};
  case Zone::flutes:
    return {"rapid-in-foam", true, "a rapid move runs through foam"};
  case Zone::neck:
    return {touch.rapid ? "rapid-in-foam" : "neck-rubs", touch.rapid,
            touch.rapid ? "the neck meets foam in a rapid move" : "the neck rubs foam"};
  case Zone::shank:
    break;
  }
  return {touch.rapid ? "rapid-in-foam" : "shank-rubs", touch.rapid,
          touch.rapid ? "the shank meets foam in a rapid move" : "the shank rubs foam"};
}

} // namespace

std::vector<Finding> touch_findings(const RemovalRecord& record, const Path& path, const Motion& motion) {
  std::vector<const Touch*> order;
  for (const Touch& touch : record.touches())
    order.push_back(&touch);
  auto rank = [](const Touch* t) { return std::make_tuple(std::string(kind_of(*t).key), t->move, t->s); };
  std::sort(order.begin(), order.end(), [&](const Touch* a, const Touch* b) { return rank(a) < rank(b); });

  std::vector<Finding> findings;
  for (std::size_t i = 0; i < order.size();) {
    const Kind kind = kind_of(*order[i]);
    const Touch* deepest = order[i];
    std::size_t end = i;
    std::uint32_t last = order[i]->move;
    while (end < order.size() && std::string(kind_of(*order[end]).key) == kind.key &&
           order[end]->move - last <= kSameStretch_moves) {
      last = order[end]->move;
      if (order[end]->depth_mm > deepest->depth_mm)
        deepest = order[end];
      ++end;
    }
    const Move& move = path.moves[order[i]->move];
    Finding finding;
    finding.kind = kind.key;
    finding.stops_job = kind.stops_job;
    finding.program_line = move.line;
    finding.time_s = motion_at(path, motion, order[i]->move, order[i]->s).time_s;
    finding.place_mm = deepest->place;
    const std::int32_t last_line = path.moves[last].line;
    finding.words = fmt::format("{}, {:.1f} mm deep at worst", kind.words, deepest->depth_mm);
    if (last_line > move.line)
      finding.words += fmt::format(" (lines {} to {})", move.line, last_line);
    findings.push_back(std::move(finding));
    i = end;
  }
  return findings;
}

std::vector<Finding> table_findings(const Scene& scene, const Path& path, const Motion& motion) {
  std::vector<Finding> findings;
  const double underside = scene.sheet.low.z;
  Finding* open = nullptr;
  double deepest = 0;
  for (std::size_t i = 0; i < path.moves.size(); ++i) {
    const Move& move = path.moves[i];
    const double low = std::min(move.from.z, move.to.z);
    if (low >= underside - kTableTouch_mm) {
      open = nullptr;
      continue;
    }
    if (!open) {
      deepest = low;
      Finding finding;
      finding.kind = "cut-into-table";
      finding.stops_job = true;
      finding.program_line = move.line;
      finding.time_s = motion.start_s[i];
      finding.place_mm = move.from.z < move.to.z ? move.from : move.to;
      findings.push_back(finding);
      open = &findings.back();
    }
    deepest = std::min(deepest, low);
    open->words =
        fmt::format("the tip goes {:.2f} mm below the sheet, into what it lies on", underside - deepest);
  }
  return findings;
}

} // namespace snagmap
