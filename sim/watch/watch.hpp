// The watch: which webs stand beside the cutter at a sample, and their numbers in the stock of that instant:
// what lies ahead of the cutter on its way is still foam.
#pragma once

#include "models/web/compliance.hpp"
#include "sim/record/record.hpp"
#include "sim/scene/scene.hpp"
#include "sim/watch/sampling.hpp"

#include <array>
#include <functional>
#include <vector>

namespace snagmap {

/// A web beside the cutter at one sample. Its numbers come from the moves, none from the voxels.
struct WallSeen {
  std::uint32_t sample = 0;
  Vec2 normal;             ///< unit, from the cutter toward the wall
  Vec2 face_mm, middle_mm; ///< on the near face; on the mid-line
  double w_mm = 0, h_mm = 0, root_z_mm = 0, top_z_mm = 0;
  double d1_mm = 0, d2_mm = 0;
  WebEnd end1 = WebEnd::free, end2 = WebEnd::free;
  bool ring = false, junction = false, post = false;
  double fill = 1; ///< section of a short post over thickness times length
  Contact contact;
  std::array<double, kSlices> gap_mm{};
  std::vector<Vec2> midline_mm; ///< end 1 to end 2
  /// In the finished sheet: is anything left of this foam at half its height, and the middle and thickness of
  /// it. What leaves nothing is waste, and no web.
  bool stays = false;
  Vec2 home_mm;
  double home_w_mm = 0;
};

struct WatchOptions {
  double cap_mm = kNoWeb_mm;
  double reach_mm = 1; ///< a wall further from the flutes than this is not beside them: one bite depth
  double thin_mm =
      1.1; ///< foam no thicker than one bite (and a tenth) is bitten through, not drawn in: no S is its
  double least_gamma = 0;      ///< webs whose gamma_bound lies under this are passed over
  double b_p_mm = 5, nu = 0.3; ///< for that bound
  bool rigid_floor = false;
  std::function<bool(double)> progress; ///< as in PreviewOptions
};

struct Watched {
  std::vector<WallSeen> walls; ///< by sample, then by sector: the same order on any thread count
  std::vector<WallSeen> thin;  ///< likewise: foam too thin to judge; without ends and gaps
  std::size_t rays = 0;
  bool stopped = false;
};

/// Looks from every sample in parallel. `cutters` by the index in the path's moves.
Watched watch(const RemovalRecord& record, const Path& path, const std::vector<CutterCard>& cutters,
              const std::vector<Sample>& samples, const WatchOptions& options);

} // namespace snagmap
