#include "height_map.hpp"

#include <tbb/parallel_for.h>

#include <algorithm>

namespace snagmap::bench {
namespace {

/// Piece of the row at height y (from x = 0) under a disc swept from a to b.
bool row_chord(Vec2 a, Vec2 b, double r, double y, double& low, double& high) {
  low = 1e300, high = -1e300;
  const double ya = y - a.y, yb = y - b.y;
  if (std::abs(ya) <= r) {
    const double k = std::sqrt(r * r - ya * ya);
    low = a.x - k, high = a.x + k;
  }
  if (std::abs(yb) <= r) {
    const double k = std::sqrt(r * r - yb * yb);
    low = std::min(low, b.x - k), high = std::max(high, b.x + k);
  }
  const double ex = b.x - a.x, ey = b.y - a.y, l2 = ex * ex + ey * ey;
  if (ey != 0) {
    const double side = r * std::sqrt(l2);
    for (const double s : {side, -side}) {
      const double x = a.x + (ex * ya + s) / ey, along = (x - a.x) * ex + ya * ey;
      if (along >= 0 && along <= l2)
        low = std::min(low, x), high = std::max(high, x);
    }
  }
  return high >= low;
}

} // namespace

std::vector<double> HeightMap::cut() {
  constexpr int kTile = 64;
  const int tx = (nx_ + kTile - 1) / kTile, ty = (ny_ + kTile - 1) / kTile;
  map_.assign(static_cast<std::size_t>(nx_) * static_cast<std::size_t>(ny_),
              static_cast<float>(job_.sheet.high.z));
  const std::vector<Move>& moves = job_.path.moves;
  std::vector<std::vector<std::uint32_t>> bins(static_cast<std::size_t>(tx * ty));
  for (std::size_t m = 0; m < moves.size(); ++m) {
    const Move& move = moves[m];
    const double r = 0.5 * job_.cutters[static_cast<std::size_t>(move.tool)].diameter_mm;
    if (std::min(move.from.z, move.to.z) >= job_.sheet.high.z)
      continue;
    const auto tile = [&](double v, int count) {
      return std::clamp(static_cast<int>(std::floor(v / (kTile * h_))), 0, count - 1);
    };
    double x0 = std::min(move.from.x, move.to.x), x1 = std::max(move.from.x, move.to.x);
    double y0 = std::min(move.from.y, move.to.y), y1 = std::max(move.from.y, move.to.y);
    if (move.kind == MoveKind::arc) {
      const double ring = norm(xy(move.from) - move.centre);
      x0 = move.centre.x - ring, x1 = move.centre.x + ring, y0 = move.centre.y - ring,
      y1 = move.centre.y + ring;
    }
    for (int y = tile(y0 - r - job_.sheet.low.y, ty); y <= tile(y1 + r - job_.sheet.low.y, ty); ++y)
      for (int x = tile(x0 - r - job_.sheet.low.x, tx); x <= tile(x1 + r - job_.sheet.low.x, tx); ++x)
        bins[static_cast<std::size_t>(y * tx + x)].push_back(static_cast<std::uint32_t>(m));
  }
  std::vector<std::vector<double>> part(bins.size());
  tbb::parallel_for(std::size_t{0}, bins.size(), [&](std::size_t n) {
    part[n].resize(bins[n].size());
    const int i0 = kTile * static_cast<int>(n % static_cast<std::size_t>(tx)),
              j0 = kTile * static_cast<int>(n / static_cast<std::size_t>(tx));
    for (std::size_t k = 0; k < bins[n].size(); ++k)
      part[n][k] = stamp(moves[bins[n][k]], i0, j0, std::min(i0 + kTile, nx_), std::min(j0 + kTile, ny_));
  });
  std::vector<double> removed(moves.size(), 0);
  for (std::size_t n = 0; n < bins.size(); ++n)
    for (std::size_t k = 0; k < bins[n].size(); ++k)
      removed[bins[n][k]] += part[n][k] * h_ * h_;
  return removed;
}

double HeightMap::stamp(const Move& move, int i0, int j0, int i1, int j1) {
  if (move.kind == MoveKind::arc) { // short chords, as a height map would do it
    const int count = std::max(1, static_cast<int>(length_mm(move) / h_));
    double sum = 0;
    Vec3 from = move.from;
    for (int n = 1; n <= count; ++n) {
      const Vec3 to = point_at(move, static_cast<double>(n) / count);
      sum += stamp_line(from, to, move.tool, i0, j0, i1, j1);
      from = to;
    }
    return sum;
  }
  return stamp_line(move.from, move.to, move.tool, i0, j0, i1, j1);
}

double HeightMap::stamp_line(Vec3 from, Vec3 to, int tool, int i0, int j0, int i1, int j1) {
  const double r = 0.5 * job_.cutters[static_cast<std::size_t>(tool)].diameter_mm;
  const Vec2 low = xy(job_.sheet.low), a = xy(from) - low, b = xy(to) - low;
  const float z = static_cast<float>(std::max(job_.sheet.low.z, std::min(from.z, to.z)));
  const int row0 = std::max(j0, static_cast<int>(std::ceil((std::min(a.y, b.y) - r) / h_ - 0.5)));
  const int row1 = std::min(j1 - 1, static_cast<int>(std::floor((std::max(a.y, b.y) + r) / h_ - 0.5)));
  double sum = 0;
  for (int row = row0; row <= row1; ++row) {
    double x0, x1;
    if (!row_chord(a, b, r, (row + 0.5) * h_, x0, x1))
      continue;
    const int first = std::max(i0, static_cast<int>(std::ceil(x0 / h_ - 0.5))),
              last = std::min(i1 - 1, static_cast<int>(std::floor(x1 / h_ - 0.5)));
    float* const heights = map_.data() + static_cast<std::size_t>(row) * static_cast<std::size_t>(nx_);
    for (int i = first; i <= last; ++i) {
      if (heights[i] > z) {
        sum += static_cast<double>(heights[i] - z);
        heights[i] = z;
      }
    }
  }
  return sum;
}

} // namespace snagmap::bench
