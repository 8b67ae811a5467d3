// Advice: the levers a person has, each tried in the model, ranked by what it clears against what it costs.
#pragma once

#include "sim/advice/changes.hpp"
#include "sim/advice/levers.hpp"
#include "sim/preview/job_numbers.hpp"

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace snagmap {

/// How far away a lever is.
enum class Effort {
  program, ///< done at the machine or in the program with what is at hand
  design,  ///< the drawing of the part changes
  purchase ///< a cutter or a foam to be had
};
const char* to_text(Effort effort);

/// A job as a lever changed it.
struct AdvisedJob {
  Scene scene;
  Path path;
  bool same_program = true;          ///< only the scene was changed
  std::string text;                  ///< of a changed program, as `path` was read from it
  std::vector<note::Remark> restore; ///< what the changed program does not carry of the one before
};

struct Advice {
  Lever lever; ///< what to do
  Effort effort = Effort::program;
  bool answered = true; ///< false: S cannot see this lever, so it is judged by the rest alone
  bool for_webs = true; ///< false: meant for strands; that samples fall elsewhere on the path is no cure
  JobNumbers after;
  WebChanges webs; ///< empty where S does not answer
  int cleared = 0; ///< of what alarms or decides: webs that snag, kinds of stopping findings, a weak hold
  int lost = 0;    ///< the same the other way: that were not there, or are worse
  int runs_cleared = 0; ///< strands of high risk, fewer than before
  double added_s = 0;   ///< program time
  std::vector<Change> better, worse;
  bool helps = false;  ///< clears something that alarms or decides and loses nothing of that rank
  bool trades = false; ///< gains something, and loses or costs something else
  /// The changed job, for those that help or trade; empty where only the designer can change it.
  std::shared_ptr<const AdvisedJob> job;
  std::optional<JobNumbers> confirmed; ///< of the same job with finite elements; only the best is confirmed
  std::string program_file;            ///< name of the changed program in the result folder; empty: none
};

struct AdviceList {
  JobNumbers before;                ///< of the job as it stands, by the formula like everything here
  std::vector<Advice> ranked;       ///< those that help: most cleared, least effort, least time first
  std::vector<Advice> trades;       ///< gains against losses, the same order
  std::vector<Advice> no_help;      ///< tried, and gain nothing, or less than they lose
  std::vector<Advice> not_answered; ///< by S; what they do change was worked out all the same
  std::vector<Untried> not_tried;
  std::optional<JobNumbers> before_in_3d; ///< beside the best one's `confirmed`
  bool clean = false;                     ///< nothing to advise about, so nothing was tried
  bool stopped = false;                   ///< before the end; what is listed was worked out
  std::size_t runs = 0;                   ///< of the pipeline
  std::size_t tried() const { return ranked.size() + trades.size() + no_help.size() + not_answered.size(); }
};

struct AdviceOptions {
  std::size_t webs = 3; ///< worst webs for which another order is tried
  /// Called with the list so far, ranked, after each lever.
  std::function<void(const AdviceList&)> found;
  std::function<bool(const std::string&, double)> progress; ///< as in PreviewOptions
  /// The head of a changed program, in words; without it the scene's title stands there.
  std::function<std::vector<std::string>(const Scene&, const Advice&)> head;
  SayRemark say; ///< of what it does not carry of the one before
};

/// Tries the levers, cheapest first, on a finished preview. Every entry was worked out by the same pipeline
/// on the changed scene or program, without finite elements on either side; a wider web, which only the
/// designer can draw, is solved for on each spot's own question. A clean job gets none. Deterministic.
AdviceList advise(const Preview& found, const AdviceOptions& options);

/// Runs the best advice once more with `verify` spots solved in 3D, beside `found`, the job as it stands
/// solved the same way, so that the list's first line rests on more than the formula. Does nothing without
/// ranked advice that has a changed job. False: stopped.
bool confirm_best(AdviceList& list, const Preview& found, const PreviewOptions& options);

/// The changed program as NC text.
std::string advised_program(const Advice& advice);

} // namespace snagmap
