#include "sim/record/tile_cut.hpp"

namespace snagmap {
namespace {

/// Columns whose centres lie within low..high mm of the centre of column 0, clipped to 0..count-1.
bool columns_within(double low, double high, double step, int count, int& first, int& last) {
  const double a = std::ceil(low / step), b = std::floor(high / step);
  first = a > 0 ? static_cast<int>(std::min(a, 1e9)) : 0;
  last = b < count - 1 ? static_cast<int>(std::max(b, -1e9)) : count - 1;
  return first <= last;
}

constexpr std::uint32_t kRunMost = 16;    ///< moves in a run: longer ones would not be passed over often
constexpr double kWallMargin_mm = 1e-3;   ///< a wall on a block's edge belongs to both blocks

bool level(const Sweep& sweep) { return sweep.za == sweep.zb || sweep.kind == SweepKind::upright; }

void windows_of(const Sweep& sweep, const Sweeps& sweeps, double radius, Vec2 p, Windows& out) {
  out.count = 0;
  switch (sweep.kind) {
  case SweepKind::line: line_window(sweep, radius, p, out); break;
  case SweepKind::arc: arc_windows(sweeps.arcs[sweep.arc], radius, p, out); break;
  case SweepKind::upright: out.add(0, 1); break;
  case SweepKind::none: break;
  }
}

/// Smallest distance of the tip's way within a window, and the share where it is.
double nearest(const Sweep& sweep, const Sweeps& sweeps, Vec2 p, const Window& window, double& s) {
  s = 0.5 * (window.s0 + window.s1);
  if (sweep.kind == SweepKind::line) {
    const Vec2 e = sweep.b - sweep.a;
    s = std::clamp(dot(e, p - sweep.a) / dot(e, e), 0.0, 1.0);
    return norm(p - (sweep.a + s * e));
  }
  if (sweep.kind == SweepKind::arc) {
    const SweptArc& arc = sweeps.arcs[sweep.arc];
    const double angle = arc.angle0 + s * arc.turn;
    return norm(p - (arc.centre + Vec2{arc.radius * std::cos(angle), arc.radius * std::sin(angle)}));
  }
  return norm(p - sweep.a);
}

} // namespace

template <class Visit> void TileCutter::for_spans(const Sweep& sweep, double radius, Visit visit) const {
  const ColumnGrid& grid = data_.grid;
  const Vec2 corner{grid.x_of(i0_), grid.y_of(j0_)};
  const Box2 box = plan_box(sweep, data_.sweeps);
  int row0, row1;
  if (!columns_within(box.low.y - radius - corner.y, box.high.y + radius - corner.y, grid.dy, rows_, row0, row1))
    return;
  const Vec2 along{1, 0};
  int first, last;
  if (sweep.kind == SweepKind::arc) {
    const SweptArc& arc = data_.sweeps.arcs[sweep.arc];
    for (int row = row0; row <= row1; ++row) {
      Chords chords;
      arc_chords(arc, 0, 1, radius, {corner.x, grid.y_of(j0_ + row)}, along, chords);
      for (int n = 0; n < chords.count; ++n) {
        const Chord& chord = chords.at[static_cast<std::size_t>(n)];
        if (columns_within(chord.low, chord.high, grid.dx, columns_, first, last)) visit(row, first, last);
      }
    }
    return;
  }
  const Capsule capsule(sweep.a, sweep.b, radius);
  for (int row = row0; row <= row1; ++row) {
    Chord chord;
    if (capsule.chord({corner.x, grid.y_of(j0_ + row)}, along, chord) &&
        columns_within(chord.low, chord.high, grid.dx, columns_, first, last))
      visit(row, first, last);
  }
}

double TileCutter::cut_move(std::uint32_t move, TileYield& yield) {
  const Sweep& sweep = data_.sweeps.moves[move];
  const BodyZone& flutes = data_.bodies[sweep.body].flutes;
  const double z_min = std::min(sweep.za, sweep.zb), z_max = std::max(sweep.za, sweep.zb);
  const Box3& box = data_.grid.box;
  if (z_min + flutes.low >= box.high.z || z_max + flutes.high <= box.low.z) return 0;
  double removed = 0;
  Touch touch;
  touch.move = move;
  touch.zone = Zone::flutes;
  touch.rapid = true;
  touch.s = 2;
  Windows windows;
  const auto note_rapid = [&](std::uint32_t cell, float length) {
    const Vec2 p{data_.grid.x_of(i0_ + static_cast<int>(cell) % kTileSide),
                 data_.grid.y_of(j0_ + static_cast<int>(cell) / kTileSide)};
    windows_of(sweep, data_.sweeps, flutes.radius, p, windows);
    for (int n = 0; n < windows.count; ++n) {
      const Window& window = windows.at[static_cast<std::size_t>(n)];
      double s;
      const double d = nearest(sweep, data_.sweeps, p, window, s);
      const double depth = std::min(flutes.radius - d, static_cast<double>(length));
      if (depth < kTangency_mm) continue;
      if (window.s0 < touch.s) {
        touch.s = window.s0;
        const double z = sweep.z_at(window.s0);
        touch.place = {p.x, p.y, std::clamp(z, box.low.z, box.high.z)};
      }
      touch.depth_mm = std::max(touch.depth_mm, depth);
    }
  };
  if (level(sweep)) {
    const float low = std::max(static_cast<float>(z_min + flutes.low), floor_);
    const float high = static_cast<float>(z_max + flutes.high);
    for_spans(sweep, flutes.radius, [&](int row, int first, int last) {
      const std::uint32_t base = static_cast<std::uint32_t>(row * kTileSide);
      for (int i = first; i <= last; ++i) {
        const std::uint32_t cell = base + static_cast<std::uint32_t>(i);
        if (top_[cell] <= low) continue;
        const float length = cut_cell(cell, low, high, move);
        removed += length;
        if (sweep.rapid && length > 0) note_rapid(cell, length);
      }
    });
  } else {
    for_spans(sweep, flutes.radius, [&](int row, int first, int last) {
      const double y = data_.grid.y_of(j0_ + row);
      for (int i = first; i <= last; ++i) {
        const std::uint32_t cell = static_cast<std::uint32_t>(row * kTileSide + i);
        if (top_[cell] <= std::max(static_cast<float>(z_min), floor_)) continue;
        windows_of(sweep, data_.sweeps, flutes.radius, {data_.grid.x_of(i0_ + i), y}, windows);
        for (int n = 0; n < windows.count; ++n) {
          const Window& window = windows.at[static_cast<std::size_t>(n)];
          const double z0 = sweep.z_at(window.s0), z1 = sweep.z_at(window.s1);
          const float low = std::max(static_cast<float>(std::min(z0, z1) + flutes.low), floor_);
          const float high = static_cast<float>(std::max(z0, z1) + flutes.high);
          if (high <= low) continue;
          const float length = cut_cell(cell, low, high, move);
          removed += length;
          if (sweep.rapid && length > 0) note_rapid(cell, length);
        }
      }
    });
  }
  if (touch.depth_mm > 0) yield.touches.push_back(touch);
  return removed * data_.grid.dx * data_.grid.dy;
}

void TileCutter::touch_move(std::uint32_t move, const BodyZone& zone, TileYield& yield) {
  const Sweep& sweep = data_.sweeps.moves[move];
  const Box3& box = data_.grid.box;
  const double lowest = std::min(sweep.za, sweep.zb) + zone.low;
  if (lowest >= box.high.z || std::max(sweep.za, sweep.zb) + zone.high <= box.low.z) return;
  Touch touch;
  touch.zone = zone.zone;
  touch.rapid = sweep.rapid;
  touch.move = move;
  Windows windows;
  const float least = std::max(static_cast<float>(lowest), floor_);
  for_spans(sweep, zone.radius, [&](int row, int first, int last) {
    const double y = data_.grid.y_of(j0_ + row);
    for (int i = first; i <= last; ++i) {
      const std::uint32_t cell = static_cast<std::uint32_t>(row * kTileSide + i);
      if (top_[cell] <= least) continue;
      const Vec2 p{data_.grid.x_of(i0_ + i), y};
      windows_of(sweep, data_.sweeps, zone.radius, p, windows);
      for (int n = 0; n < windows.count; ++n) {
        const Window& window = windows.at[static_cast<std::size_t>(n)];
        const double z0 = sweep.z_at(window.s0), z1 = sweep.z_at(window.s1);
        const float low = std::max(static_cast<float>(std::min(z0, z1) + zone.low), floor_);
        const float high = std::min(static_cast<float>(std::max(z0, z1) + zone.high), top_[cell]);
        if (high <= low) continue;
        double s;
        const double inside = zone.radius - nearest(sweep, data_.sweeps, p, window, s);
        const double depth = std::min(inside, static_cast<double>(foam_within(cell, low, high)));
        if (depth < kTangency_mm || depth <= touch.depth_mm) continue;
        touch.depth_mm = depth;
        touch.s = s;
        touch.place = {p.x, p.y, 0.5 * (low + high)};
      }
    }
  });
  if (touch.depth_mm > 0) yield.touches.push_back(touch);
}

float TileCutter::cut_hollow(std::uint32_t cell, float low, float high, std::uint32_t move) {
  if (!hollow_) {
    hollow_ = true;
    gap_.assign(kTileColumns, -1);
  }
  const float top = top_[cell];
  const bool open = high >= top;  // the cut joins the clear part above
  float removed = 0;
  float upper = std::min(high, top);
  float gap_low = low, gap_high = upper;
  // Walk the gaps from above; what lies between them within low..upper is foam that goes now.
  std::int32_t* link = &gap_[cell];
  while (*link >= 0) {
    const Gap gap = gaps_[static_cast<std::size_t>(*link)];
    if (gap.low > gap_high) {  // wholly above the cut
      link = &gaps_[static_cast<std::size_t>(*link)].next;
      continue;
    }
    if (gap.high < low) break;
    if (upper > gap.high) {
      log_.push_back({gap.high, upper, move, cell});
      removed += upper - gap.high;
    }
    upper = std::min(upper, gap.low);
    gap_low = std::min(gap_low, gap.low);
    gap_high = std::max(gap_high, gap.high);
    *link = gap.next;  // merged into the new gap
  }
  if (upper > low) {
    log_.push_back({low, upper, move, cell});
    removed += upper - low;
  }
  if (open) {
    top_[cell] = gap_low;
  } else {
    const std::int32_t next = *link, own = static_cast<std::int32_t>(gaps_.size());
    *link = own;
    gaps_.push_back({gap_low, gap_high, next});
  }
  return removed;
}

float TileCutter::foam_within(std::uint32_t cell, float low, float high) const {
  float foam = std::min(high, top_[cell]) - low;
  if (foam <= 0) return 0;
  if (!hollow_) return foam;
  for (std::int32_t n = gap_[cell]; n >= 0; n = gaps_[static_cast<std::size_t>(n)].next) {
    const Gap& gap = gaps_[static_cast<std::size_t>(n)];
    foam -= std::max(0.0f, std::min(high, gap.high) - std::max(low, gap.low));
  }
  return foam;
}

void TileCutter::index_move(std::uint32_t move) {
  const Sweep& sweep = data_.sweeps.moves[move];
  const BodyZone& flutes = data_.bodies[sweep.body].flutes;
  const Box3& box = data_.grid.box;
  const double low = std::min(sweep.za, sweep.zb) + flutes.low;
  const double high = std::max(sweep.za, sweep.zb) + flutes.high;
  if (low >= box.high.z || high <= box.low.z) return;
  const ColumnGrid& grid = data_.grid;
  const Box2 plan = plan_box(sweep, data_.sweeps);
  const double x0 = box.low.x + i0_ * grid.dx, y0 = box.low.y + j0_ * grid.dy;
  const double width = grid.dx * (1 << grid.block_shift), depth = grid.dy * (1 << grid.block_shift);
  const int side = grid.blocks_a_side();
  const double reach = flutes.radius + kWallMargin_mm;
  const float x_low = static_cast<float>(plan.low.x - reach), x_high = static_cast<float>(plan.high.x + reach);
  const float y_low = static_cast<float>(plan.low.y - reach), y_high = static_cast<float>(plan.high.y + reach);
  const auto block = [side](double v) { return std::clamp(static_cast<int>(std::floor(v)), -1, side); };
  const int bx0 = std::max(block((plan.low.x - reach - x0) / width), 0);
  const int bx1 = std::min(block((plan.high.x + reach - x0) / width), side - 1);
  const int by0 = std::max(block((plan.low.y - reach - y0) / depth), 0);
  const int by1 = std::min(block((plan.high.y + reach - y0) / depth), side - 1);
  const bool test = sweep.kind == SweepKind::line && bx1 - bx0 > 1 && by1 - by0 > 1;
  const Vec2 e = sweep.b - sweep.a;
  const double l2 = dot(e, e), far = reach + 0.5 * std::hypot(width, depth);
  for (int by = by0; by <= by1; ++by) {
    for (int bx = bx0; bx <= bx1; ++bx) {
      if (test) {  // a slanting way leaves the corners of its box alone
        const Vec2 c{x0 + (bx + 0.5) * width - sweep.a.x, y0 + (by + 0.5) * depth - sweep.a.y};
        const double s = std::clamp(dot(e, c) / l2, 0.0, 1.0);
        const Vec2 off = c - s * e;
        if (dot(off, off) > far * far) continue;
      }
      const std::size_t b = static_cast<std::size_t>(by * side + bx);
      if (last_run_[b] >= 0) {
        MoveRun& run = runs_[static_cast<std::size_t>(last_run_[b])].run;
        if (run.first + run.count == move && run.count < kRunMost && run.low == static_cast<float>(low) &&
            run.high == static_cast<float>(high)) {
          ++run.count;
          run.x0 = std::min(run.x0, x_low);
          run.y0 = std::min(run.y0, y_low);
          run.x1 = std::max(run.x1, x_high);
          run.y1 = std::max(run.y1, y_high);
          continue;
        }
      }
      last_run_[b] = static_cast<std::int32_t>(runs_.size());
      runs_.push_back({{move, 1, static_cast<float>(low), static_cast<float>(high), x_low, y_low, x_high, y_high},
                       static_cast<std::uint32_t>(b)});
    }
  }
}

void TileCutter::finish(Tile& out) {
  if (!log_.empty()) {
    out.offset.assign(kTileColumns + 1, 0);
    for (const LogEntry& entry : log_) ++out.offset[entry.cell];
    std::uint32_t sum = 0;
    for (std::uint32_t& count : out.offset) count = sum += count;  // now the end of each column
    out.cuts.resize(log_.size());
    // Filling from the end turns the order of time round: columns that only fall come out bottom up.
    for (const LogEntry& entry : log_) out.cuts[--out.offset[entry.cell]] = {entry.low, entry.high, entry.move};
    if (hollow_) {
      for (int cell = 0; cell < kTileColumns; ++cell) {
        const auto begin = out.cuts.begin() + out.offset[static_cast<std::size_t>(cell)];
        const auto end = out.cuts.begin() + out.offset[static_cast<std::size_t>(cell) + 1];
        std::sort(begin, end, [](const CutInterval& a, const CutInterval& b) { return a.low < b.low; });
      }
    }
  }
  if (!log_.empty()) slice(out);
  if (!runs_.empty()) {
    const std::size_t blocks = last_run_.size();
    out.run_offset.assign(blocks + 1, 0);
    for (const RunEntry& entry : runs_) ++out.run_offset[entry.block + 1];
    for (std::size_t b = 0; b < blocks; ++b) out.run_offset[b + 1] += out.run_offset[b];
    std::vector<std::uint32_t> at(out.run_offset.begin(), out.run_offset.end() - 1);
    out.runs.resize(runs_.size());
    for (const RunEntry& entry : runs_) out.runs[at[entry.block]++] = entry.run;
  }
}

void TileCutter::slice(Tile& out) const {
  const ColumnGrid& grid = data_.grid;
  const int side = grid.blocks_a_side(), shift = grid.block_shift, count = grid.slices();
  const float top = static_cast<float>(grid.box.high.z);
  out.slices.assign(static_cast<std::size_t>(side * side * count), {});
  for (int row = 0; row < rows_; ++row) {
    for (int i = 0; i < columns_; ++i) {
      BlockSlice* const slices = out.slices.data() + ((row >> shift) * side + (i >> shift)) * count;
      const std::size_t cell = static_cast<std::size_t>(row * kTileSide + i);
      const CutInterval* cut = out.cuts.data() + out.offset[cell];
      const CutInterval* const last = out.cuts.data() + out.offset[cell + 1];
      // Foam and cuts of the column in turn, from the bottom; a slice may see several.
      int k = 0;
      const auto pass = [&](float from, float to, auto&& mark) {
        if (to <= from) return;
        while (k + 1 < count && grid.slice_low[static_cast<std::size_t>(k) + 1] <= from) ++k;
        for (;; ++k) {
          mark(slices[k]);
          if (k + 1 >= count || grid.slice_low[static_cast<std::size_t>(k) + 1] >= to) break;
        }
      };
      const auto stays = [](BlockSlice& slice) { slice.last = kNever; };
      float at = floor_;
      for (; cut != last; ++cut) {
        pass(at, cut->low, stays);
        pass(cut->low, cut->high, [move = cut->move](BlockSlice& slice) {
          slice.first = std::min(slice.first, move);
          slice.last = std::max(slice.last, move);
        });
        at = cut->high;
      }
      pass(at, top, stays);
    }
  }
}

void TileCutter::run(int tile, const std::uint32_t* first, const std::uint32_t* last, Tile& out,
                     TileYield& yield, const std::atomic<bool>& stop, std::atomic<std::size_t>& done) {
  const ColumnGrid& grid = data_.grid;
  i0_ = (tile % grid.tiles_x) << kTileShift;
  j0_ = (tile / grid.tiles_x) << kTileShift;
  columns_ = std::min(kTileSide, grid.nx - i0_);
  rows_ = std::min(kTileSide, grid.ny - j0_);
  floor_ = static_cast<float>(grid.box.low.z);
  hollow_ = false;
  top_.assign(kTileColumns, static_cast<float>(grid.box.high.z));
  gaps_.clear();
  log_.clear();
  runs_.clear();
  const int side = grid.blocks_a_side();
  last_run_.assign(static_cast<std::size_t>(side * side), -1);
  yield.removed_mm3.assign(static_cast<std::size_t>(last - first), 0);
  constexpr std::ptrdiff_t kStep = 256;  // moves between two looks at the stop flag
  for (const std::uint32_t* from = first; from != last;) {
    if (stop.load(std::memory_order_relaxed)) return;
    const std::uint32_t* const to = from + std::min<std::ptrdiff_t>(kStep, last - from);
    for (const std::uint32_t* m = from; m != to; ++m) {
      yield.removed_mm3[static_cast<std::size_t>(m - first)] = cut_move(*m, yield);
      for (const BodyZone& zone : data_.bodies[data_.sweeps.moves[*m].body].others) touch_move(*m, zone, yield);
      index_move(*m);
    }
    done.fetch_add(static_cast<std::size_t>(to - from), std::memory_order_relaxed);
    from = to;
  }
  finish(out);
}

} // namespace snagmap
