// Running a campaign: shard by shard, each in a file of its own, resumed where it was stopped; and merging
// them.
#pragma once

#include "sim/study/sweep.hpp"

#include <functional>
#include <string>

namespace snagmap {

/// Shard `index` of `count`, from 1: the cases whose number leaves index - 1 when divided by count.
struct Shard {
  std::size_t index = 1, count = 1;
};
/// "2/8". Fault (no place) for anything else.
Outcome<Shard> parse_shard(const std::string& text);

struct SweepRun {
  std::size_t cases = 0, done_before = 0, ran = 0; ///< of this shard
  bool stopped = false;
  double seconds = 0;                ///< clock time of this run
  double case_s = 0, pipeline_s = 0; ///< summed over its cases, and the part of it inside the pipeline
  std::string file;                  ///< the shard's finished table
};

/// Runs what is left of a shard, cases in parallel. Each finished case is appended to shard-I-of-N.part in
/// the folder; when all are there, shard-I-of-N.csv appears whole, in the order of the cases. Faults: another
/// process works on the shard, or its file belongs to another plan. `progress`: cases done of the shard;
/// return false to stop, what is done stays.
Outcome<SweepRun> run_shard(const SweepPlan& plan, const Shard& shard, const std::string& folder,
                            const std::function<bool(std::size_t done)>& progress = {});

/// Joins every finished shard of the folder into one table, CSV. Faults: a case that is missing or stands
/// twice (named, with its files), a shard of another plan.
Outcome<std::string> merge_shards(const SweepPlan& plan, const std::string& folder);

} // namespace snagmap
