#include "voxel_peers.hpp"

#include "../measure.hpp"

#include <openvdb/openvdb.h>
#include <openvdb/tools/Composite.h>
#include <openvdb/tools/SignedFloodFill.h>

#include <algorithm>
#include <cmath>

namespace snagmap::bench {
namespace {

double swept_distance(Vec3 p, const Move& move, double radius, double top) {
  const Vec2 e = xy(move.to) - xy(move.from), ap = xy(p) - xy(move.from);
  const double l2 = dot(e, e), s = l2 > 0 ? std::clamp(dot(ap, e) / l2, 0.0, 1.0) : 0;
  const double dh = norm(ap - s * e) - radius, low = std::min(move.from.z, move.to.z),
               dv = std::max(low - p.z, p.z - top);
  return dh > 0 && dv > 0 ? std::hypot(dh, dv) : std::max(dh, dv);
}

struct IndexBox {
  openvdb::CoordBBox box;
  IndexBox(const Job& job, const Move& move, double h, double margin) {
    const double r = 0.5 * job.cutters[static_cast<std::size_t>(move.tool)].diameter_mm + margin;
    const auto at = [h](double v, double low) { return static_cast<int>(std::floor((v - low) / h)); };
    const Vec3& l = job.sheet.low;
    box = {{at(std::min(move.from.x, move.to.x) - r, l.x), at(std::min(move.from.y, move.to.y) - r, l.y),
            at(std::min(move.from.z, move.to.z) - margin, l.z)},
           {at(std::max(move.from.x, move.to.x) + r, l.x), at(std::max(move.from.y, move.to.y) + r, l.y),
            at(job.sheet.high.z + margin, l.z)}};
  }
};

/// Moves of the sample, spread evenly over the program so that their lengths are the program's.
std::vector<Move> spread(const Job& job, std::size_t sample) {
  std::vector<Move> cutting;
  for (const Move& move : job.path.moves)
    if (move.kind != MoveKind::arc && std::min(move.from.z, move.to.z) < job.sheet.high.z)
      cutting.push_back(move);
  std::vector<Move> moves;
  for (std::size_t n = 0; n < sample; ++n)
    moves.push_back(cutting[n * cutting.size() / sample]);
  return moves;
}

} // namespace

double csg_moves_per_s(const Job& job, double h, std::size_t sample) {
  const auto transform = openvdb::math::Transform::createLinearTransform(h);
  const float band = static_cast<float>(3 * h);
  const auto fill = [&](openvdb::FloatGrid& grid, const openvdb::CoordBBox& box, const auto& distance) {
    auto accessor = grid.getAccessor();
    for (auto it = box.begin(); it; ++it) {
      const openvdb::Coord c = *it;
      const Vec3 p{job.sheet.low.x + (c.x() + 0.5) * h, job.sheet.low.y + (c.y() + 0.5) * h,
                   job.sheet.low.z + (c.z() + 0.5) * h};
      const float d = static_cast<float>(distance(p));
      if (std::abs(d) < band)
        accessor.setValue(c, d);
    }
    openvdb::tools::signedFloodFill(grid.tree());
  };
  const std::vector<Move> moves = spread(job, sample);
  auto stock = openvdb::FloatGrid::create(band);
  stock->setTransform(transform);
  stock->setGridClass(openvdb::GRID_LEVEL_SET);
  const Vec3 size = job.sheet.high - job.sheet.low;
  const openvdb::Coord last(static_cast<int>(size.x / h) + 3, static_cast<int>(size.y / h) + 3,
                            static_cast<int>(size.z / h) + 3);
  { // the sheet: six slabs of the narrow band
    const auto distance = [&](Vec3 p) {
      const Vec3 c = 0.5 * (job.sheet.low + job.sheet.high);
      const double x = std::abs(p.x - c.x) - 0.5 * size.x, y = std::abs(p.y - c.y) - 0.5 * size.y,
                   z = std::abs(p.z - c.z) - 0.5 * size.z;
      return x <= 0 && y <= 0 && z <= 0 ? std::max({x, y, z})
                                        : norm(Vec3{std::max(x, 0.0), std::max(y, 0.0), std::max(z, 0.0)});
    };
    for (int axis = 0; axis < 3; ++axis)
      for (int end = 0; end < 2; ++end) {
        openvdb::CoordBBox slab({-3, -3, -3}, last);
        if (end == 0)
          slab.max()[axis] = 3;
        else
          slab.min()[axis] = last[axis] - 6;
        fill(*stock, slab, distance);
      }
  }
  const double seconds = timed([&] {
    for (const Move& move : moves) {
      const double r = 0.5 * job.cutters[static_cast<std::size_t>(move.tool)].diameter_mm;
      auto tool = openvdb::FloatGrid::create(band);
      tool->setTransform(transform);
      tool->setGridClass(openvdb::GRID_LEVEL_SET);
      fill(*tool, IndexBox(job, move, h, 3 * h).box,
           [&](Vec3 p) { return swept_distance(p, move, r, job.sheet.high.z); });
      openvdb::tools::csgDifference(*stock, *tool);
    }
  });
  return static_cast<double>(moves.size()) / seconds;
}

double accessor_moves_per_s(const Job& job, double h, std::size_t sample) {
  const std::vector<Move> moves = spread(job, sample);
  openvdb::MaskTree tree;
  const Vec3 size = job.sheet.high - job.sheet.low;
  tree.fill({{0, 0, 0},
             {static_cast<int>(size.x / h), static_cast<int>(size.y / h), static_cast<int>(size.z / h) - 1}},
            true, true);
  openvdb::tree::ValueAccessor<openvdb::MaskTree> accessor(tree);
  std::size_t removed = 0;
  const double seconds = timed([&] {
    for (const Move& move : moves) {
      const double r = 0.5 * job.cutters[static_cast<std::size_t>(move.tool)].diameter_mm;
      const openvdb::CoordBBox box = IndexBox(job, move, h, 0).box;
      const Vec2 e = xy(move.to) - xy(move.from);
      const double l2 = dot(e, e), z_low = std::min(move.from.z, move.to.z);
      for (int x = box.min().x(); x <= box.max().x(); ++x)
        for (int y = box.min().y(); y <= box.max().y(); ++y) {
          const Vec2 ap =
              Vec2{job.sheet.low.x + (x + 0.5) * h, job.sheet.low.y + (y + 0.5) * h} - xy(move.from);
          const Vec2 off = ap - (l2 > 0 ? std::clamp(dot(ap, e) / l2, 0.0, 1.0) : 0.0) * e;
          if (dot(off, off) > r * r)
            continue;
          for (int z = box.min().z(); z <= box.max().z(); ++z) {
            if (job.sheet.low.z + (z + 0.5) * h < z_low)
              continue;
            const openvdb::Coord c(x, y, z);
            if (accessor.isValueOn(c)) {
              accessor.setValueOff(c);
              ++removed;
            }
          }
        }
    }
  });
  if (removed == 0)
    std::printf("(nothing removed)\n");
  return static_cast<double>(moves.size()) / seconds;
}

} // namespace snagmap::bench
