// The removal record: for every place in the sheet, the first move that removes the foam there.
//
// How exact it is. The sheet is a grid of columns; every column keeps the parts of it that each move took
// first, with exact heights (floats) of the swept body over the column's middle. So heights are right to
// rounding, and what is counted by columns (solid, column, top) is coarse by half a column sideways.
// Walls are not: a look intersects its ray with the swept bodies of the moves that pass there, and asks the
// columns only how far that must go; `standing` does the same for one upright line. Volumes come from the
// swept bodies too. Cylinders, level moves of any profile, and balls on slopes are closed forms, other
// profiles on slopes roots to 1e-9 mm; arcs outside the xy plane, and helices of curved cutters, are chords
// within 0.002 voxel of the arc, hollow profile arcs chords within 1e-4 mm. Foam thinner than 0.01 mm along a
// ray is passed over as a cusp between two moves. A neck or shank is held against the stock as its own move
// leaves it.
#pragma once

#include "models/base/fault.hpp"
#include "models/cards/cutter.hpp"
#include "sim/path/path.hpp"
#include "sim/stock/shape.hpp"

#include <array>
#include <cstdint>
#include <functional>
#include <memory>
#include <vector>

namespace snagmap {

/// A moment is a count of moves done: at moment t the foam removed by moves 0..t-1 is gone.
using Moment = std::uint32_t;
constexpr std::uint32_t kNever = 0xffffffffu;

/// The stock while a move is under way: moves 0..done-1 are gone whole, of move number `done` what its first
/// `share` (0..1 of its length) sweeps.
struct Instant {
  Moment done = 0;
  double share = 0;
  Instant(Moment moves_done) : done(moves_done) {}
  Instant(Moment moves_done, double share_of_next) : done(moves_done), share(share_of_next) {}
};

struct CutOptions {
  double voxel_mm = 0.5;
  /// Refuse a cut whose record would not fit, before it starts, saying which voxel size would; 0: no limit.
  std::size_t memory_limit_bytes = 0;
  /// Called now and then from one thread with the share done; return false to stop early.
  std::function<bool(double)> progress;
};

/// A body of the cutter that touched foam without cutting it, or a rapid that met foam.
struct Touch {
  Zone zone = Zone::neck;
  bool rapid = false;
  std::uint32_t move = 0;
  Vec3 place;          ///< mm
  double s = 0;        ///< share of the move
  double depth_mm = 0; ///< how far into the foam
};

/// Horizontal look from a point: air, then foam, then air again. Exact wall places, not voxel faces.
struct Span {
  double gap_mm = 0;       ///< to the first foam; `cap` when none
  double thickness_mm = 0; ///< of that foam to the next air; 0 when no foam within the cap
  bool hit = false;        ///< foam found within the cap
  bool through = false;    ///< air found again within the cap
};

/// Foam of one column at a moment, from the bottom up.
struct Slab {
  double low_mm = 0, high_mm = 0;
};

/// Foam of one column that leaves with one move; kNever: it stays.
struct FoamRun {
  float low_mm = 0, high_mm = 0;
  std::uint32_t move = kNever;
};

/// The columns over the sheet: they tile it exactly, column 0 at its lower left corner.
struct ColumnLayout {
  int nx = 0, ny = 0;
  double dx_mm = 0, dy_mm = 0;
};

/// What a record will take, from a cut on coarser columns (their number scales with 1 / voxel^2).
struct RecordEstimate {
  std::size_t bytes = 0;       ///< of the record and its cutting, within about a tenth
  std::size_t fixed_bytes = 0; ///< of them those that larger voxels do not save: the moves
  std::size_t columns = 0, intervals = 0;
  double voxel_that_fits_mm =
      0; ///< smallest within the limit asked about; 0: no limit was given, or none fits
};

struct RecordData; ///< the inside, for the files of sim/record

class RemovalRecord {
public:
  RemovalRecord();
  ~RemovalRecord();
  RemovalRecord(RemovalRecord&&) noexcept;
  RemovalRecord& operator=(RemovalRecord&&) noexcept;

  /// Cuts the whole program in parallel; bitwise equal on any number of threads.
  static Outcome<RemovalRecord> cut(const StockShape& stock, const std::vector<CutterCard>& cutters,
                                    const Path& path, const CutOptions& options);

  /// Estimates without keeping anything; costs a small share of the cut.
  static Outcome<RecordEstimate> estimate(const StockShape& stock, const std::vector<CutterCard>& cutters,
                                          const Path& path, double voxel_mm, std::size_t limit_bytes = 0);

  const Box3& box() const;
  double voxel_mm() const;
  Moment end() const; ///< the moment after the last move

  // All queries are read-only and may be called from any thread. A place, direction or length that is not
  // finite is refused (models/base/finite.hpp).
  /// First move that removes the foam at p; kNever for foam that stays or places outside the sheet.
  std::uint32_t removed_by(Vec3 p) const;
  /// True when p lies in the sheet and its foam is still there at t (column-resolved in xy).
  bool solid(Vec3 p, Moment t) const;
  /// Looks from `origin` horizontally along the unit vector `dir`, at most cap_mm far, in the stock of t.
  Span look(Vec3 origin, Vec2 dir, double cap_mm, Instant t) const;
  /// Foam in the column at (x, y) at t; empty outside the sheet.
  std::vector<Slab> column(Vec2 p, Moment t) const;
  /// Foam on the upright line at p in the stock of t, from the bottom up, from the moves themselves (pockets
  /// that the sheet came with: from the columns); empty outside the sheet.
  std::vector<Slab> standing(Vec2 p, Instant t) const;
  /// Highest foam in the column at t; the sheet's underside when the column is empty or outside.
  double top_mm(Vec2 p, Moment t) const;
  ColumnLayout columns() const;
  /// Appends the runs of column (i, j) from the underside to the top, neighbours of one move made one. Gaps
  /// are air the sheet came with.
  void append_runs(int i, int j, std::vector<FoamRun>& out) const;
  const std::vector<Touch>& touches() const;
  std::size_t bytes() const;
  double cut_s() const; ///< how long the cut took

  const RecordData& data() const;
  explicit RemovalRecord(RecordData&& data);

private:
  struct Data;
  std::unique_ptr<Data> data_;
};

} // namespace snagmap
