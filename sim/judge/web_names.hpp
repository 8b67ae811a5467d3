// Which web a wall is a part of.
#pragma once

#include "sim/record/record.hpp"
#include "sim/scene/scene.hpp"
#include "sim/watch/watch.hpp"

#include <vector>

namespace snagmap {

/// A web as it stands in the finished sheet.
struct WebLine {
  std::vector<Vec2> line; ///< walked where it is thinnest
  double length_mm = 0;
};

struct WebNames {
  std::vector<WebLine> webs;
  std::vector<int> web;    ///< of every wall, an index; -1: waste, of which the finished sheet has nothing
  std::vector<Vec2> along; ///< the web's own line beside the wall: on which side of it the cutter is
};

/// Webs are parts of the finished sheet: each is walked there once, whatever the stock was when it was seen.
/// The thinnest places come first, crumbs last, so that a web is named by its own shape and not by the wall
/// that was met first.
WebNames name_webs(const std::vector<WallSeen>& walls, const std::vector<Sample>& samples,
                   const RemovalRecord& record, const Path& path, const Scene& scene);

} // namespace snagmap
