#include "sim/answer/place.hpp"

#include <algorithm>
#include <cmath>
#include <set>

namespace snagmap {
namespace {

constexpr double kMostCells = 400'000; // of a plan: finer costs time nobody sees in words
constexpr double kSlotLong = 3, kSlotFull = 0.8;
constexpr double kBeside_mm = 1;
constexpr double kSquare = 0.8; // walls turned further from the line are not said to stand along it

} // namespace

const char* to_text(Whereabouts::Kind kind) {
  switch (kind) {
  case Whereabouts::Kind::between:
    return "between";
  case Whereabouts::Kind::at_edge:
    return "at-edge";
  case Whereabouts::Kind::post:
    return "post";
  case Whereabouts::Kind::plain:
    break;
  }
  return "plain";
}

const char* to_text(Whereabouts::From from) {
  switch (from) {
  case Whereabouts::From::left:
    return "left";
  case Whereabouts::From::right:
    return "right";
  case Whereabouts::From::front:
    return "front";
  case Whereabouts::From::back:
    break;
  }
  return "back";
}

PocketPlan::PocketPlan(const RemovalRecord& record, double z_mm, double least_cell_mm)
    : record_(record), z_mm_(z_mm), low_(xy(record.box().low)), high_(xy(record.box().high)) {
  const Vec2 size = high_ - low_;
  cell_mm_ = std::max({record.voxel_mm(), least_cell_mm, std::sqrt(size.x * size.y / kMostCells)});
  nx_ = std::max(1, static_cast<int>(size.x / cell_mm_)),
  ny_ = std::max(1, static_cast<int>(size.y / cell_mm_));
  const auto cells = static_cast<std::size_t>(nx_) * static_cast<std::size_t>(ny_);
  label_.assign(cells, -1);
  constexpr int kAir = -2;
  for (int j = 0; j < ny_; ++j)
    for (int i = 0; i < nx_; ++i)
      if (!record.solid({low_.x + (i + 0.5) * cell_mm_, low_.y + (j + 0.5) * cell_mm_, z_mm}, record.end()))
        label_[static_cast<std::size_t>(j * nx_ + i)] = kAir;
  std::vector<int> open;
  for (int start = 0; start < nx_ * ny_; ++start) {
    if (label_[static_cast<std::size_t>(start)] != kAir)
      continue;
    const int name = static_cast<int>(pockets_.size());
    Pocket pocket{nx_, 0, ny_, 0, 0, false};
    open.assign(1, start);
    label_[static_cast<std::size_t>(start)] = name;
    while (!open.empty()) {
      const int cell = open.back(), x = cell % nx_, y = cell / nx_;
      open.pop_back();
      pocket.x0 = std::min(pocket.x0, x), pocket.x1 = std::max(pocket.x1, x + 1);
      pocket.y0 = std::min(pocket.y0, y), pocket.y1 = std::max(pocket.y1, y + 1);
      ++pocket.cells;
      const auto visit = [&](int i, int j) {
        if (i < 0 || j < 0 || i >= nx_ || j >= ny_)
          return;
        int& there = label_[static_cast<std::size_t>(j * nx_ + i)];
        if (there == kAir)
          there = name, open.push_back(j * nx_ + i);
      };
      visit(x - 1, y), visit(x + 1, y), visit(x, y - 1), visit(x, y + 1);
    }
    const double wide = pocket.x1 - pocket.x0, deep = pocket.y1 - pocket.y0;
    pocket.slot =
        std::max(wide, deep) >= kSlotLong * std::min(wide, deep) && pocket.cells >= kSlotFull * wide * deep;
    pockets_.push_back(pocket);
  }
}

int PocketPlan::at(Vec2 p) const {
  const int i = static_cast<int>(std::floor((p.x - low_.x) / cell_mm_)),
            j = static_cast<int>(std::floor((p.y - low_.y) / cell_mm_));
  return i < 0 || j < 0 || i >= nx_ || j >= ny_ ? -1 : label_[static_cast<std::size_t>(j * nx_ + i)];
}

std::vector<PocketPlan::Run> PocketPlan::along(Vec2 p, bool x) const {
  const double from = x ? low_.x : low_.y, to = x ? high_.x : high_.y, step = 0.5 * record_.voxel_mm();
  const auto place = [&](double v) { return x ? Vec2{v, p.y} : Vec2{p.x, v}; };
  const int steps = static_cast<int>((to - from) / step);
  std::vector<Run> runs;
  bool air = false;
  for (int k = 0; k < steps; ++k) {
    const double v = from + (k + 0.5) * step;
    const Vec2 at_v = place(v);
    const bool now = !record_.solid({at_v.x, at_v.y, z_mm_}, record_.end());
    if (now && !air)
      runs.push_back({v - 0.5 * step, v, -1});
    if (now)
      runs.back().high_mm = v + 0.5 * step;
    air = now;
  }
  for (Run& run : runs)
    run.pocket = at(place(0.5 * (run.low_mm + run.high_mm)));
  return runs;
}

std::vector<PocketPlan::Strip> PocketPlan::strips() const {
  std::vector<Strip> out;
  for (int j = 0; j < ny_; ++j)
    for (int i = 0; i < nx_;) {
      if (label_[static_cast<std::size_t>(j * nx_ + i)] < 0) {
        ++i;
        continue;
      }
      int end = i;
      while (end < nx_ && label_[static_cast<std::size_t>(j * nx_ + end)] >= 0)
        ++end;
      out.push_back({low_.x + i * cell_mm_, low_.x + end * cell_mm_, low_.y + j * cell_mm_,
                     low_.y + (j + 1) * cell_mm_});
      i = end;
    }
  return out;
}

namespace {

/// The runs in the order of counting, the line mirrored where it begins at the high end.
bool counted(const PocketPlan& plan, const std::vector<PocketPlan::Run>& runs, std::size_t last,
             bool from_high, bool& slots) {
  std::set<int> met;
  slots = true;
  for (std::size_t n = 0; n <= last; ++n) {
    const PocketPlan::Run& run = from_high ? runs[runs.size() - 1 - n] : runs[n];
    if (run.pocket < 0 || !met.insert(run.pocket).second)
      return false; // a pocket that the line meets twice cannot be counted
    slots = slots && plan.slot(run.pocket);
  }
  return true;
}

} // namespace

Whereabouts Places::of(const Spot& spot) {
  Whereabouts place;
  place.at_mm = spot.place_mm;
  if (!job_.record)
    return place;
  const double z = spot.place_mm.z + 0.5 * spot.question.web.h_mm;
  const PocketPlan& plan =
      plans_.try_emplace(std::lround(2 * z), *job_.record, 0.5 * static_cast<double>(std::lround(2 * z)))
          .first->second;
  const WebFound* web = nullptr;
  for (const WebFound& one : job_.webs)
    if (one.id == spot.web)
      web = &one;
  if (web && web->island) {
    place.kind = Whereabouts::Kind::post;
    return place;
  }
  const bool x = std::abs(spot.normal.x) > std::abs(spot.normal.y);
  const double across = x ? spot.normal.x : spot.normal.y;
  if (std::abs(across) < kSquare)
    return place;
  const std::vector<PocketPlan::Run> runs = plan.along(xy(spot.place_mm), x);
  const double face = x ? spot.place_mm.x : spot.place_mm.y, w = spot.question.web.w_mm / std::abs(across);
  const double cutter_side = face + (across > 0 ? kBeside_mm : -kBeside_mm);
  const auto mine = std::find_if(runs.begin(), runs.end(), [&](const PocketPlan::Run& run) {
    return run.low_mm < cutter_side && cutter_side < run.high_mm;
  });
  if (mine == runs.end())
    return place;
  const auto i = static_cast<std::size_t>(mine - runs.begin());
  const bool web_below = across > 0; // the web stands at the low side of the cutter's pocket
  const Vec3 low = job_.record->box().low, high = job_.record->box().high;
  const bool edge = web_below ? i == 0 : i + 1 == runs.size();
  const double far = edge ? (web_below ? (x ? low.x : low.y) : (x ? high.x : high.y))
                          : (web_below ? runs[i - 1].high_mm : runs[i + 1].low_mm);
  if (std::abs(std::abs(face - far) - w) > kBeside_mm + 0.1 * w)
    return place; // what stands there is thicker than the web: the line meets another part of it
  using From = Whereabouts::From;
  const From ends[2] = {x ? From::left : From::front, x ? From::right : From::back};
  if (edge) {
    if (!job_.scene.sheet_given)
      return place; // the border is assumed
    place.kind = Whereabouts::Kind::at_edge;
    place.from = web_below ? ends[0] : ends[1];
    place.first = place.second = 1;
    place.slots = mine->pocket >= 0 && plan.slot(mine->pocket);
    return place;
  }
  const std::size_t lower = web_below ? i - 1 : i; // of the two, in the order of the line
  const std::size_t from_low = lower + 1,
                    from_high = runs.size() - 1 - lower; // numbers less one of the second
  for (const bool high_first : {from_high < from_low, !(from_high < from_low)}) {
    const std::size_t last = high_first ? from_high : from_low;
    bool slots = false;
    if (!counted(plan, runs, last, high_first, slots))
      continue;
    place.kind = Whereabouts::Kind::between;
    place.from = high_first ? ends[1] : ends[0];
    place.first = static_cast<int>(last), place.second = static_cast<int>(last) + 1;
    place.slots = slots;
    return place;
  }
  return place;
}

} // namespace snagmap
