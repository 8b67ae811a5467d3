#include "sim/findings/touches.hpp"

#include <algorithm>
#include <tuple>

namespace snagmap {
namespace {

constexpr std::uint32_t kSameStretch_moves = 50; // touches nearer than this in the program are one event
constexpr double kTableTouch_mm = 1e-3;

FindingKind kind_of(const Touch& touch) {
  switch (touch.zone) {
  case Zone::nut:
    return FindingKind::nut_in_foam;
  case Zone::holder:
    return FindingKind::holder_in_foam;
  case Zone::flutes:
    return FindingKind::rapid_in_foam;
  case Zone::neck:
    return touch.rapid ? FindingKind::rapid_in_foam : FindingKind::neck_rubs;
  case Zone::shank:
    break;
  }
  return touch.rapid ? FindingKind::rapid_in_foam : FindingKind::shank_rubs;
}

Fact fact_of(const Touch& first, double depth_mm, std::int32_t first_line, std::int32_t last_line) {
  switch (kind_of(first)) {
  case FindingKind::nut_in_foam:
    return fact::NutInFoam{depth_mm, first_line, last_line};
  case FindingKind::holder_in_foam:
    return fact::HolderInFoam{depth_mm, first_line, last_line};
  case FindingKind::neck_rubs:
    return fact::NeckRubs{depth_mm, first_line, last_line};
  case FindingKind::shank_rubs:
    return fact::ShankRubs{depth_mm, first_line, last_line};
  default:
    return fact::RapidInFoam{first.zone, depth_mm, first_line, last_line};
  }
}

bool stops_job(FindingKind kind) {
  return kind != FindingKind::neck_rubs && kind != FindingKind::shank_rubs;
}

} // namespace

std::vector<Finding> touch_findings(const RemovalRecord& record, const Path& path, const Motion& motion) {
  std::vector<const Touch*> order;
  for (const Touch& touch : record.touches())
    order.push_back(&touch);
  auto rank = [](const Touch* t) { return std::make_tuple(kind_of(*t), t->move, t->s); };
  std::sort(order.begin(), order.end(), [&](const Touch* a, const Touch* b) { return rank(a) < rank(b); });

  std::vector<Finding> findings;
  for (std::size_t i = 0; i < order.size();) {
    const Touch& first = *order[i];
    const FindingKind kind = kind_of(first);
    const Touch* deepest = order[i];
    std::size_t end = i;
    std::uint32_t last = order[i]->move;
    while (end < order.size() && kind_of(*order[end]) == kind &&
           order[end]->move - last <= kSameStretch_moves) {
      last = order[end]->move;
      if (order[end]->depth_mm > deepest->depth_mm)
        deepest = order[end];
      ++end;
    }
    const Move& move = path.moves[order[i]->move];
    findings.push_back(at_moment(fact_of(first, deepest->depth_mm, move.line, path.moves[last].line),
                                 move.line, motion_at(path, motion, first.move, first.s).time_s,
                                 deepest->place, stops_job(kind)));
    i = end;
  }
  return findings;
}

std::vector<Finding> table_findings(const Scene& scene, const Path& path, const Motion& motion) {
  std::vector<Finding> findings;
  const double underside = scene.sheet.low.z;
  fact::CutIntoTable* open = nullptr;
  for (std::size_t i = 0; i < path.moves.size(); ++i) {
    const Move& move = path.moves[i];
    const double low = std::min(move.from.z, move.to.z);
    if (low >= underside - kTableTouch_mm) {
      open = nullptr;
      continue;
    }
    if (!open) {
      findings.push_back(at_moment(fact::CutIntoTable{0}, move.line, motion.start_s[i],
                                   move.from.z < move.to.z ? move.from : move.to, true));
      open = &std::get<fact::CutIntoTable>(findings.back().what);
    }
    open->below_mm = std::max(open->below_mm, underside - low);
  }
  return findings;
}

} // namespace snagmap
