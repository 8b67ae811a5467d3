// The levers one by one (advice_webs.cpp, advice_strands.cpp); advice.cpp ranks what they give.
#pragma once

#include "sim/advice/advice.hpp"

#include <set>

namespace snagmap {

/// An advice to fill in.
inline Advice advice_of(Lever lever, Effort effort, bool answered = true) {
  Advice advice;
  advice.lever = std::move(lever);
  advice.effort = effort;
  advice.answered = answered;
  return advice;
}

/// The webs that snag and a width holds, in their order, and those that none does.
struct WiderWebsFound {
  lever::WiderWebs lever;
  std::set<int> hopeless;
  double worst_s = 0; ///< of the job with them so wide
};
WiderWebsFound wider_webs_of(const JudgedJob& job);

/// Tries levers on one job and keeps what came out.
class AdviceTries {
public:
  /// `base`: the job without finite elements.
  AdviceTries(const Preview& base, const AdviceOptions& options, AdviceList& list);
  /// All levers that bear on what the job suffers from, cheapest first. Stops early when asked to.
  void all();

private:
  bool suffers_webs() const { return list_.before.webs_snagging > 0; }
  bool suffers_strands() const { return list_.before.long_runs > 0; }
  bool suffers_rest() const { return list_.before.stops > 0 || list_.before.rubs > 0; }

  /// Runs the changed job and files the answer.
  void run(Advice advice, const Scene& scene, const Path& changed);
  /// The same, meant for strands: what it does to webs elsewhere on the path is no cure.
  void run_for_strands(Advice advice, const std::optional<Path>& path, const Untried& none);
  /// Files an answer worked out already; `stopping`: the changed job's findings that stop it.
  void file(Advice advice, const std::map<FindingKind, int>& stopping);
  void leave_out(Untried why) { list_.not_tried.push_back(std::move(why)); }

  void another_cutter();
  void smaller_passes();
  void another_order();
  void finish_last();
  void other_side();
  void wider_webs();
  void firmer_foam();
  void other_feeds();
  void break_strands();
  void clear_otherwise();
  void more_hold();

  const Preview& base_;
  const AdviceOptions& options_;
  AdviceList& list_;
  const std::vector<SnaggingWeb> webs_;
  const std::map<FindingKind, int> stopping_;
  const double top_mm_;
};

} // namespace snagmap
