#include "sim/record/tile_cut.hpp"
#include "sim/record/mesh.hpp"

namespace snagmap {
namespace {

/// Columns whose centres lie within low..high mm of the centre of column 0, clipped to 0..count-1.
inline bool columns_within(double low, double high, double columns_a_mm, int count, int& first, int& last) {
  first = std::max(0, ceil_of(low * columns_a_mm));
  last = std::min(count - 1, floor_of(high * columns_a_mm));
  return first <= last;
}

} // namespace

template <class Visit>
void TileCutter::for_cells(const Sweep& sweep, double radius, float level, Visit visit) const {
  const ColumnGrid& grid = data_.grid;
  const Vec2 corner{grid.x_of(i0_), grid.y_of(j0_)};
  const Box2 box = plan_box(sweep, data_.sweeps);
  const double columns_a_mm = 1 / grid.dx;
  int row0, row1, left, right;
  if (!columns_within(box.low.y - radius - corner.y, box.high.y + radius - corner.y, 1 / grid.dy, rows_, row0,
                      row1) ||
      !columns_within(box.low.x - radius - corner.x, box.high.x + radius - corner.x, columns_a_mm, columns_,
                      left, right))
    return;
  // Short moves mostly pass over what is clear already: whole rows and pieces of rows are looked at together.
  const auto for_rows = [&](const auto& visit_row) {
    for (int row = row0; row <= row1; ++row)
      for (int at = left; at <= right; at += kLook)
        if (any_over(static_cast<std::uint32_t>(row * kTileSide + at), level)) {
          visit_row(row);
          break;
        }
  };
  const auto visit_chord = [&](int row, const Chord& chord) {
    int first, last;
    if (!columns_within(chord.low, chord.high, columns_a_mm, columns_, first, last))
      return;
    const std::uint32_t end = static_cast<std::uint32_t>(row * kTileSide + last) + 1;
    for (std::uint32_t at = static_cast<std::uint32_t>(row * kTileSide + first); at < end; at += kLook)
      if (any_over(at, level))
        for (std::uint32_t cell = at; cell < std::min(at + kLook, end); ++cell)
          if (top_[cell] > level)
            visit(cell);
  };
  const Vec2 along{1, 0};
  if (sweep.kind == SweepKind::arc) {
    const ArcBand band(data_.sweeps.arcs[sweep.arc], 0, 1, radius);
    for_rows([&](int row) {
      Chords chords;
      band.chords({corner.x, grid.y_of(j0_ + row)}, along, chords);
      for (int n = 0; n < chords.count; ++n)
        visit_chord(row, chords.at[static_cast<std::size_t>(n)]);
    });
    return;
  }
  const Capsule capsule(sweep.a, sweep.b, radius);
  for_rows([&](int row) {
    Chord chord;
    if (capsule.chord({corner.x, grid.y_of(j0_ + row)}, along, chord))
      visit_chord(row, chord);
  });
}

void TileCutter::note_rapid(const Sweep& sweep, const BodyPart& part, std::uint32_t cell, double length,
                            Touch& touch) const {
  const Vec2 p = place_of(cell);
  HeightsList list;
  heights_over(sweep, data_.sweeps, part, p, list);
  for (int n = 0; n < list.count; ++n) {
    const Heights& h = list.at[static_cast<std::size_t>(n)];
    const double depth = std::min(part.radius - h.distance, length);
    if (depth < kTangency_mm)
      continue;
    if (touch.depth_mm == 0 || h.s0 < touch.s) {
      touch.s = h.s0;
      touch.place = {p.x, p.y,
                     std::clamp(sweep.z_at(h.s0) + part.low, data_.grid.box.low.z, data_.grid.box.high.z)};
    }
    touch.depth_mm = std::max(touch.depth_mm, depth);
  }
}

double TileCutter::cut_part(const Sweep& sweep, std::uint32_t move, const BodyPart& part, TileYield& yield) {
  const double z_min = std::min(sweep.za, sweep.zb), z_max = std::max(sweep.za, sweep.zb);
  const Box3& box = data_.grid.box;
  if (z_min + part.low >= box.high.z || z_max + part.high <= box.low.z)
    return 0;
  const std::uint32_t stamp = move + 1;
  const float lowest = std::max(static_cast<float>(z_min + part.low), floor_);
  double removed = 0;
  Touch touch;
  touch.move = move;
  touch.zone = Zone::flutes;
  touch.rapid = true;
  const auto cut = [&](std::uint32_t cell, float low, float high) {
    const float length = cut_cell(cell, low, high, stamp);
    removed += length;
    if (sweep.rapid && length > 0)
      note_rapid(sweep, part, cell, length, touch);
  };
  const auto cut_heights = [&](std::uint32_t cell, double low, double high) {
    const float from = std::max(static_cast<float>(low), floor_), to = static_cast<float>(high);
    if (to > from)
      cut(cell, from, to);
  };
  if (is_level(sweep) && part.flat) {
    const float high = static_cast<float>(z_max + part.high);
    for_cells(sweep, part.radius, lowest, [&](std::uint32_t cell) { cut(cell, lowest, high); });
  } else if (is_level(sweep) && sweep.kind != SweepKind::arc) {
    // Only the distance to the way counts.
    const Vec2 e = sweep.b - sweep.a;
    const double l2 = dot(e, e), inverse = l2 > 0 ? 1 / l2 : 0;
    for_cells(sweep, part.radius, lowest, [&](std::uint32_t cell) {
      const Vec2 ap = place_of(cell) - sweep.a;
      const Vec2 off = ap - std::clamp(dot(e, ap) * inverse, 0.0, 1.0) * e;
      const double d = std::min(std::sqrt(dot(off, off)), part.radius);
      cut_heights(cell, z_min + part.under.at(d), z_max - part.over.at(d));
    });
  } else if (part.flat) {
    // A ramp or plunge: the time over the column tells its heights, how near the axis comes does not matter.
    const LowerEnd end(sweep, data_.sweeps, part.radius);
    const bool to_the_top = z_min + part.high >= box.high.z;
    Windows windows;
    for_cells(sweep, part.radius, lowest, [&](std::uint32_t cell) {
      const Vec2 p = place_of(cell);
      if (to_the_top && end.covers(p)) {
        cut_heights(cell, end.z() + part.low, box.high.z);
        return;
      }
      windows.count = 0;
      windows_over(sweep, data_.sweeps, part.radius, p, windows);
      for (int n = 0; n < windows.count; ++n) {
        const Window& window = windows.at[static_cast<std::size_t>(n)];
        const double z0 = sweep.z_at(window.s0), z1 = sweep.z_at(window.s1);
        cut_heights(cell, std::min(z0, z1) + part.low, std::max(z0, z1) + part.high);
      }
    });
  } else {
    HeightsList list;
    for_cells(sweep, part.radius, lowest, [&](std::uint32_t cell) {
      list.count = 0;
      heights_over(sweep, data_.sweeps, part, place_of(cell), list);
      for (int n = 0; n < list.count; ++n)
        cut_heights(cell, list.at[static_cast<std::size_t>(n)].low,
                    list.at[static_cast<std::size_t>(n)].high);
    });
  }
  if (touch.depth_mm > 0)
    yield.touches.push_back(touch);
  return removed * data_.grid.dx * data_.grid.dy;
}

void TileCutter::touch_part(const Sweep& sweep, std::uint32_t move, const BodyPart& part, TileYield& yield) {
  const Box3& box = data_.grid.box;
  const double lowest = std::min(sweep.za, sweep.zb) + part.low;
  if (lowest >= box.high.z || std::max(sweep.za, sweep.zb) + part.high <= box.low.z)
    return;
  Touch touch;
  touch.zone = part.zone;
  touch.rapid = sweep.rapid;
  touch.move = move;
  const float least = std::max(static_cast<float>(lowest), floor_);
  HeightsList list;
  for_cells(sweep, part.radius, least, [&](std::uint32_t cell) {
    const Vec2 p = place_of(cell);
    list.count = 0;
    heights_over(sweep, data_.sweeps, part, p, list);
    for (int n = 0; n < list.count; ++n) {
      const Heights& h = list.at[static_cast<std::size_t>(n)];
      const float low = std::max(static_cast<float>(h.low), floor_);
      const float high = std::min(static_cast<float>(h.high), top_[cell]);
      if (high <= low)
        continue;
      const double depth =
          std::min(part.radius - h.distance, static_cast<double>(foam_within(cell, low, high)));
      if (depth < kTangency_mm || depth <= touch.depth_mm)
        continue;
      touch.depth_mm = depth;
      touch.s = h.s;
      touch.place = {p.x, p.y, 0.5 * (low + high)};
    }
  });
  if (touch.depth_mm > 0)
    yield.touches.push_back(touch);
}

float TileCutter::cut_hollow(std::uint32_t cell, float low, float high, std::uint32_t stamp) {
  if (!hollow_) {
    hollow_ = true;
    gap_.assign(kTileColumns, -1);
  }
  const float top = top_[cell];
  const bool open = high >= top; // the cut joins the clear part above
  float removed = 0;
  float upper = std::min(high, top);
  float gap_low = low, gap_high = upper;
  // Walk the gaps from above; what lies between them within low..upper is foam that goes now.
  std::int32_t* link = &gap_[cell];
  while (*link >= 0) {
    const Gap gap = gaps_[static_cast<std::size_t>(*link)];
    if (gap.low > gap_high) { // wholly above the cut
      link = &gaps_[static_cast<std::size_t>(*link)].next;
      continue;
    }
    if (gap.high < low)
      break;
    if (upper > gap.high) {
      log_.push_back({gap.high, upper, stamp, cell});
      removed += upper - gap.high;
    }
    upper = std::min(upper, gap.low);
    gap_low = std::min(gap_low, gap.low);
    gap_high = std::max(gap_high, gap.high);
    *link = gap.next; // merged into the new gap
  }
  if (upper > low) {
    log_.push_back({low, upper, stamp, cell});
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
  if (foam <= 0)
    return 0;
  if (!hollow_)
    return foam;
  for (std::int32_t n = gap_[cell]; n >= 0; n = gaps_[static_cast<std::size_t>(n)].next) {
    const Gap& gap = gaps_[static_cast<std::size_t>(n)];
    foam -= std::max(0.0f, std::min(high, gap.high) - std::max(low, gap.low));
  }
  return foam;
}

void TileCutter::finish(Tile& out) {
  if (!log_.empty()) {
    out.offset.assign(kTileColumns + 1, 0);
    for (const LogEntry& entry : log_)
      ++out.offset[entry.cell];
    std::uint32_t sum = 0;
    for (std::uint32_t& count : out.offset)
      count = sum += count; // now the end of each column
    out.cuts.resize(log_.size());
    // Filling from the end turns the order of time round: columns that only fall come out bottom up.
    for (const LogEntry& entry : log_)
      out.cuts[--out.offset[entry.cell]] = {entry.low, entry.high, entry.stamp};
    if (hollow_) {
      for (int cell = 0; cell < kTileColumns; ++cell) {
        const auto begin = out.cuts.begin() + out.offset[static_cast<std::size_t>(cell)];
        const auto end = out.cuts.begin() + out.offset[static_cast<std::size_t>(cell) + 1];
        std::sort(begin, end, [](const CutInterval& a, const CutInterval& b) { return a.low < b.low; });
      }
    }
  }
}

void TileCutter::start(int tile) {
  const ColumnGrid& grid = data_.grid;
  i0_ = (tile % grid.tiles_x) << kTileShift;
  j0_ = (tile / grid.tiles_x) << kTileShift;
  columns_ = std::min(kTileSide, grid.nx - i0_);
  rows_ = std::min(kTileSide, grid.ny - j0_);
  floor_ = static_cast<float>(grid.box.low.z);
  hollow_ = false;
  top_.assign(kTileColumns + kLook, static_cast<float>(grid.box.high.z));
  gaps_.clear();
  log_.clear();
}

void TileCutter::run(int tile, SweepList list, Tile& out, TileYield& yield, const std::atomic<bool>& stop,
                     std::atomic<std::size_t>& done) {
  start(tile);
  if (!data_.mesh.triangles.empty())
    hollow_out_mesh();
  yield.removed_mm3.assign(static_cast<std::size_t>(list.last - list.first), 0);
  constexpr std::ptrdiff_t kStep = 256; // sweeps between two looks at the stop flag
  for (const std::uint32_t* from = list.first; from != list.last;) {
    if (stop.load(std::memory_order_relaxed))
      return;
    const std::uint32_t* const to = from + std::min<std::ptrdiff_t>(kStep, list.last - from);
    for (const std::uint32_t* n = from; n != to; ++n) {
      const Sweep sweep = data_.sweeps[*n];
      const std::uint32_t move = data_.sweeps.move_of(*n);
      const Body& body = data_.bodies[sweep.body];
      double& removed = yield.removed_mm3[static_cast<std::size_t>(n - list.first)];
      for (const BodyPart& part : body.flutes)
        removed += cut_part(sweep, move, part, yield);
      for (const BodyPart& part : body.others)
        touch_part(sweep, move, part, yield);
    }
    done.fetch_add(static_cast<std::size_t>(to - from), std::memory_order_relaxed);
    from = to;
  }
  finish(out);
  index_tile(data_, fresh_, tile, list, out);
}

void TileCutter::hollow_out_mesh() {
  const ColumnGrid& grid = data_.grid;
  const std::vector<std::vector<float>> crossings =
      column_crossings(data_.mesh, grid, i0_, j0_, columns_, rows_);
  for (int row = 0; row < rows_; ++row) {
    for (int i = 0; i < columns_; ++i) {
      const std::uint32_t cell = static_cast<std::uint32_t>(row * kTileSide + i);
      // Crossings come from the bottom up: air, foam, air in turn.
      float from = floor_;
      for (std::size_t n = 0; n < crossings[cell].size(); n += 2) {
        if (crossings[cell][n] > from)
          cut_cell(cell, from, crossings[cell][n], 0);
        from = n + 1 < crossings[cell].size() ? crossings[cell][n + 1] : from;
      }
      if (from < top_[cell])
        cut_cell(cell, from, static_cast<float>(grid.box.high.z), 0);
    }
  }
}

} // namespace snagmap
