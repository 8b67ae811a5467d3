// From walls seen to spots: judge every wall, name the webs, keep the worst sample of each web and pass.
#pragma once

#include "sim/judge/found.hpp"
#include "sim/judge/judged_job.hpp"
#include "sim/motion/motion.hpp"
#include "sim/record/record.hpp"
#include "sim/scene/scene.hpp"
#include "sim/watch/sampling.hpp"
#include "sim/watch/watch.hpp"

#include <vector>

namespace snagmap {

/// The question for one wall as if its contact were whole: pure, from the sample, the cutter and the foam at
/// the web.
SnagQuestion question_of(const WallSeen& wall, const Sample& sample, const Move& move,
                         const CutterCard& cutter, const Scene& scene);

/// Judges one wall seen from a sample, its contact cut short where the web ends; an island in both
/// directions, keeping the worse.
void judge_wall(const WallSeen& wall, const Sample& sample, const Path& path, const Scene& scene,
                SnagQuestion& question, SnagAnswer& answer);

struct Judged {
  std::vector<SnagQuestion> questions; ///< by wall
  std::vector<SnagAnswer> answers;
};
/// In parallel; the same bits on any thread count.
Judged judge_walls(const std::vector<WallSeen>& walls, const std::vector<Sample>& samples, const Path& path,
                   const Scene& scene);

struct Merged {
  std::vector<WebFound> webs;
  std::vector<Spot> spots;         ///< worst first
  std::vector<PathSample> samples; ///< along the path, one for each sample, its worst wall in it
  std::vector<WallSeen>
      crumbs; ///< walls that were passed over: a few cells thin and shorter than the contact
};
/// A spot merges the samples of one web, side and pass level, and is the worst of them or of a place between
/// them, whose look is appended to walls, judgements and samples. A web is a mid-line walked in the finished
/// sheet; foam of which nothing is left there is waste, and no web.
Merged merge_spots(std::vector<WallSeen>& walls, Judged& judged, std::vector<Sample>& samples,
                   const RemovalRecord& record, const Path& path, const Motion& motion, const Scene& scene,
                   const WatchOptions& watching, double spacing_mm);

/// Worst first, by the S that decides; numbers them anew.
void rank_spots(std::vector<Spot>& spots);

/// Where spots were solved by elements: samples along each web take the nearest solved spot's S over the
/// formula's, the spots are ranked and their reasons found anew.
void follow_elements(JudgedJob& job);

/// What makes a spot worse, each with the number behind it (S recomputed where one is named).
std::vector<Reason> reasons_of(const Spot& spot, const WebFound& web, const FoamCard& foam);

} // namespace snagmap
