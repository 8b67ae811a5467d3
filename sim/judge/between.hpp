// Between the samples: where and when along the way a web is worst, whatever the places of the samples.
#pragma once

#include "sim/judge/spots.hpp"
#include "sim/watch/sampler.hpp"

#include <optional>

namespace snagmap {

/// A wall at a moment of its own, and its judgement.
struct Looked {
  Sample sample;
  WallSeen wall; ///< its sample number means nothing
  SnagQuestion question;
  SnagAnswer answer;
};

/// Looks between the samples of a job.
class Between {
public:
  /// `spacing_mm`: of the samples, how far a place between them may lie from one.
  Between(const RemovalRecord& record, const Path& path, const Scene& scene, const WatchOptions& watching,
          double spacing_mm)
      : record_(record), path_(path), scene_(scene), watching_(watching), spacing_mm_(spacing_mm),
        sampler_(path, scene.sheet.high.z) {}

  /// `seen`: the walls of one web, side and pass along the path. Each top of S among them that could be the
  /// highest is searched up to the samples beside it; what is found if it is worse than all that was seen.
  /// Any thread. `whole_mm`: length of the web in the finished sheet.
  std::optional<Looked> worse_than(const std::vector<std::size_t>& seen, const std::vector<WallSeen>& walls,
                                   const std::vector<Sample>& samples, const Judged& judged,
                                   double whole_mm) const;

private:
  std::optional<Looked> look(const WallSeen& wall, const Sample& from, double way_mm, double whole_mm) const;

  const RemovalRecord& record_;
  const Path& path_;
  const Scene& scene_;
  const WatchOptions& watching_;
  double spacing_mm_;
  Sampler sampler_;
};

} // namespace snagmap
