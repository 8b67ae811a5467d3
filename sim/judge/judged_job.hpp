// What the stages after judging read.
#pragma once

#include "sim/judge/found.hpp"
#include "sim/motion/motion.hpp"
#include "sim/path/path.hpp"
#include "sim/record/record.hpp"
#include "sim/scene/scene.hpp"

#include <memory>
#include <vector>

namespace snagmap {

/// A job cut, watched and judged: checks, verification and pictures read it.
struct JudgedJob {
  Scene scene;
  Path path;
  Motion motion;
  std::shared_ptr<const RemovalRecord> record;
  std::vector<WebFound> webs;
  std::vector<Spot> spots;         ///< worst first
  std::vector<PathSample> samples; ///< along the path
};

} // namespace snagmap
