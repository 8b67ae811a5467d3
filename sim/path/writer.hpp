// Writes a path move by move, travelling over the sheet wherever one move does not begin where the last
// ended.
#pragma once

#include "sim/path/layers.hpp"
#include "sim/path/moves.hpp"

#include <cstddef>
#include <map>
#include <utility>
#include <vector>

namespace snagmap {

class PathWriter {
public:
  /// Clearance, plunge feed and tool changes are those of `path`, which must outlive the writer.
  PathWriter(const Path& path, double top_mm);

  /// A move as it stands, begun where the tip is, with a tool change before where a feed move needs one.
  void copy(Move move);
  /// Moves [first, last) of the path.
  void copy_range(std::size_t first, std::size_t last);
  /// Feed moves [first, last) of the path, lifted by `up_mm`.
  void layer(std::size_t first, std::size_t last, double up_mm = 0);
  /// What stands before a layer, where the tip is.
  void stands_before(const PathLayer& layer);
  /// Down at a place to its height, and out again.
  void hole(Vec3 at, const Move& like);
  /// Up to the clearance, when the tip is lower.
  void lift(const Move& like);
  Path take() { return std::move(out_); }

private:
  void go(MoveKind kind, Vec3 to, const Move& like);
  void travel_to(Vec3 to, const Move& like);
  void change_to(const Move& like);

  const Path& path_;
  Path out_;
  std::size_t copied_ = 0; ///< moves of the path copied by range
  double top_mm_, clear_mm_, plunge_mm_min_ = 1000;
  std::map<std::pair<int, int>, std::vector<Move>> change_; ///< standing moves of each tool's change
};

/// The moves up to the first layer as they stand, its approach included, then `body(writer)`, then what
/// follows the last layer.
template <class Body>
Path rewritten(const Path& path, double top_mm, const std::vector<PathLayer>& layers, Body body) {
  PathWriter writer(path, top_mm);
  writer.copy_range(0, layers.empty() ? path.moves.size() : layers.front().first);
  if (!layers.empty()) {
    body(writer);
    writer.copy_range(layers.back().last, path.moves.size());
  }
  return writer.take();
}

} // namespace snagmap
