// What the job's answer is: one row a web, and the first advice. Every view shows these.
#pragma once

#include "sim/advice/advice.hpp"
#include "sim/answer/place.hpp"

#include <memory>
#include <string>
#include <vector>

namespace snagmap {

/// A web of the sheet at its worst.
struct WebRow {
  int web = 0;          ///< its number, WebFound::id
  std::size_t spot = 0; ///< its worst, an index of Preview::spots
  std::size_t spots = 0;
  Whereabouts place;
  Level level = Level::firm;            ///< of the worst spot
  bool snags = false, may_snag = false; ///< S of 1 or more; only the upper end of a band
  double least_w_mm = 0; ///< the least thickness that would hold, other things equal; 0: none to 4 times now
  double least_w_high_mm = 0;          ///< the same by the upper end of the band; 0: none
  std::vector<std::string> cleared_by; ///< names of cutters and levers after which it is foreseen to hold
};

/// Another cutter of the same diameter, set on every spot by the formula, scaled as the spot was by finite
/// elements. No run of the job: where else the new cutter would be worst is not looked for.
struct CutterTry {
  std::string name;
  bool drawer = false; ///< else from the cards
  double flutes_mm = 0, instead_of_mm = 0;
  double pass_mm = 0; ///< passes must be no deeper than this; 0: they are not
  bool rubs = false;  ///< wall stands above its neck and touches the shank
  int webs_left = 0;  ///< that still snag
  double worst_s = 0;
  std::vector<int> clears; ///< webs
};

struct JobAnswer {
  std::vector<WebRow> rows;     ///< worst first
  std::size_t snag = 0;         ///< webs with S of 1 or more
  std::size_t may_snag = 0;     ///< further ones whose band reaches 1
  std::string cutter;           ///< that of the worst web
  std::vector<CutterTry> tries; ///< best first; empty when nothing snags
  const WebRow* row(int web) const;
};

/// A pure function of the preview, its advice included: the same on any number of threads.
JobAnswer answer_of(const Preview& preview);
/// The one the preview holds, or worked out now.
std::shared_ptr<const JobAnswer> job_answer(const Preview& preview);

} // namespace snagmap
