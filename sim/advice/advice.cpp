#include "sim/advice/advice.hpp"

#include "sim/advice/tries.hpp"
#include "sim/program/written.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <tuple>

namespace snagmap {
namespace {

constexpr std::size_t kPlacesTold = 3;

std::vector<Vec3> places_of(const std::vector<SnaggingWeb>& webs) {
  std::vector<Vec3> places;
  for (std::size_t i = 0; i < std::min(kPlacesTold, webs.size()); ++i)
    places.push_back(webs[i].place_mm);
  return places;
}

/// Webs one by one: a number that stays may hide one that holds now and one that does not.
void tell_webs(Advice& advice, const JobNumbers& before) {
  const WebChanges& webs = advice.webs;
  if (!advice.answered)
    return;
  const int was = before.webs_snagging, is = advice.after.webs_snagging;
  if (!webs.gone.empty() && advice.for_webs) {
    if (webs.fresh.empty() || is < was)
      advice.better.push_back(change::WebsSnag{was, is, webs.fresh.empty() ? 0 : webs.gone.size()});
    else
      advice.better.push_back(change::WebsNoLonger{webs.gone.size(), was, places_of(webs.gone)});
  }
  if (!webs.fresh.empty())
    advice.worse.push_back(change::WebsAnew{webs.fresh.size(), is < was, was, is, places_of(webs.fresh)});
  if (!webs.harder.empty()) {
    const auto worst = std::max_element(webs.harder.begin(), webs.harder.end(),
                                        [](const auto& a, const auto& b) { return a.second.s < b.second.s; });
    advice.worse.push_back(
        change::WebsHarder{webs.harder.size(), worst->second.place_mm, worst->first.s, worst->second.s});
  }
}

/// What changed for the better or the worse, fact by fact.
void tell(Advice& advice, const JobNumbers& before) {
  const JobNumbers& after = advice.after;
  const auto say = [&](bool good, Change what) {
    (good ? advice.better : advice.worse).push_back(std::move(what));
  };
  tell_webs(advice, before);
  if (advice.answered && before.worst_s > 0 &&
      std::abs(after.worst_s / before.worst_s - 1) > 0.01 && // less is no cure where only strands are meant
      (advice.for_webs || after.worst_s > before.worst_s))
    say(after.worst_s < before.worst_s, change::WorstS{before.worst_s, after.worst_s});
  if (after.stops != before.stops)
    say(after.stops < before.stops, change::StoppingFindings{before.stops, after.stops});
  if (after.rubs != before.rubs)
    say(after.rubs < before.rubs, change::Rubs{before.rubs, after.rubs});
  if (after.hold_known && std::abs(after.hold_low / std::max(before.hold_low, 1e-9) - 1) > 0.02)
    say(after.hold_low > before.hold_low, change::Hold{before.hold, before.hold_low, before.hold_high,
                                                       after.hold, after.hold_low, after.hold_high});
  if (after.long_runs != before.long_runs)
    say(after.long_runs < before.long_runs, change::LongStrands{before.long_runs, after.long_runs});
  if (std::abs(after.longest_run_mm - before.longest_run_mm) > 5)
    say(after.longest_run_mm < before.longest_run_mm,
        change::LongestRun{before.longest_run_mm, after.longest_run_mm});
  if (!advice.answered && std::abs(after.lean_mm - before.lean_mm) > 0.02)
    say(after.lean_mm < before.lean_mm, change::Lean{before.lean_mm, after.lean_mm});
  if (!advice.answered && std::abs(after.chip_mm - before.chip_mm) > 0.002)
    say(after.chip_mm > before.chip_mm, change::Chip{before.chip_mm, after.chip_mm});
  if (std::abs(after.over_cut_mm - before.over_cut_mm) > 0.05)
    say(after.over_cut_mm < before.over_cut_mm, change::OverCut{before.over_cut_mm, after.over_cut_mm});
  if (std::abs(after.time_s - before.time_s) >= 0.5)
    say(after.time_s < before.time_s, change::ProgramTime{before.time_s, after.time_s});
}

constexpr double kHoldMoves = 1.02; // a hold that changes by less is the same

/// Gains and losses of what alarms or decides, and what becomes of the lever.
void weigh(Advice& advice, const JobNumbers& before, const std::map<FindingKind, int>& stopping_before,
           const std::map<FindingKind, int>& stopping_after) {
  const JobNumbers& after = advice.after;
  std::map<FindingKind, std::pair<int, int>> stopping;
  for (const auto& [kind, count] : stopping_before)
    stopping[kind].first = count;
  for (const auto& [kind, count] : stopping_after)
    stopping[kind].second = count;
  for (const auto& [kind, counts] : stopping) {
    advice.cleared += counts.second < counts.first;
    advice.lost += counts.second > counts.first;
  }
  advice.cleared += before.hold_weak() && !after.hold_weak();
  advice.lost += after.hold_weak() && (!before.hold_weak() || after.hold_low * kHoldMoves < before.hold_low);
  // That samples fall elsewhere on a path with lifts is no cure, but what it does to webs is a cost.
  if (advice.for_webs)
    advice.cleared += static_cast<int>(advice.webs.gone.size());
  advice.lost += static_cast<int>(advice.webs.fresh.size() + advice.webs.harder.size());
  advice.runs_cleared = before.long_runs - after.long_runs;
  advice.added_s = after.time_s - before.time_s;
  advice.helps = advice.cleared > 0 && advice.lost == 0;
  const bool gains_less =
      after.rubs < before.rubs || advice.runs_cleared >= std::max(1, before.long_runs / 10);
  advice.trades = !advice.helps && ((advice.cleared > 0 && advice.cleared >= advice.lost) ||
                                    (gains_less && advice.lost <= std::max(0, advice.runs_cleared - 1)));
}

void rank(std::vector<Advice>& list) {
  std::stable_sort(list.begin(), list.end(), [](const Advice& a, const Advice& b) {
    const auto key = [](const Advice& x) {
      return std::make_tuple(x.lost - x.cleared, -x.runs_cleared, x.effort, std::lround(x.added_s));
    };
    return key(a) < key(b);
  });
}

bool solved_in_3d(const Preview& job) {
  return std::any_of(job.spots.begin(), job.spots.end(), [](const Spot& s) { return s.fe.has_value(); });
}

std::vector<std::string> head_of(const AdviceOptions& options, const Scene& scene, const Advice& advice) {
  return options.head ? options.head(scene, advice) : std::vector<std::string>{scene.title};
}

/// The file's name, and its head now that the lever's standing is known: the moves stay as they were judged.
void name_program(Advice& advice, const std::string& name, const AdviceOptions& options) {
  Outcome<WrittenProgram> written =
      written_program(advice.job->path, name, program_options(advice.job->scene),
                      head_of(options, advice.job->scene, advice), options.say);
  if (!written) { // what came back once comes back again; if not, there is no file
    advice.worse.push_back(change::ProgramNotWritten{written.faults().front().what});
    return;
  }
  AdvisedJob job = *advice.job;
  job.path = std::move(written->path);
  job.text = std::move(written->text);
  advice.job = std::make_shared<const AdvisedJob>(std::move(job));
  advice.program_file = name;
}

} // namespace

const char* to_text(Effort effort) {
  switch (effort) {
  case Effort::program:
    return "program or set-up";
  case Effort::purchase:
    return "to be had";
  case Effort::design:
    return "design";
  }
  return "";
}

AdviceTries::AdviceTries(const Preview& base, const AdviceOptions& options, AdviceList& list)
    : base_(base), options_(options), list_(list), webs_(webs_that_snag(base)),
      stopping_(stopping_findings(base)), top_mm_(base.scene.sheet.high.z) {}

void AdviceTries::run(Advice advice, const Scene& scene, const Path& changed) {
  if (list_.stopped)
    return;
  const bool same_program = &changed == &base_.path;
  // What is judged is what the written file cuts: the program is written, and its path read back.
  WrittenProgram written;
  if (!same_program) {
    Outcome<WrittenProgram> made = written_program(changed, "advice.nc", program_options(scene),
                                                   head_of(options_, scene, advice), options_.say);
    if (!made)
      return leave_out(untried::ProgramNotWritten{advice.lever, made.faults().front().what});
    written = std::move(*made);
  }
  const Path& path = same_program ? base_.path : written.path;
  PreviewOptions how;
  how.verify = SolveChoice::none();
  bool stop = false;
  const std::string lever = to_text(kind_of(advice.lever));
  how.progress = [&](const std::string&, double share) {
    if (options_.progress && !options_.progress("try: " + lever, share))
      stop = true;
    return !stop;
  };
  const Outcome<Preview> found = preview_again(base_, scene, path, how);
  if (stop) {
    list_.stopped = true;
    return;
  }
  ++list_.runs;
  if (!found)
    return leave_out(untried::PreviewFailed{advice.lever, found.faults().front().what});
  advice.after = job_numbers(*found);
  advice.job = std::make_shared<const AdvisedJob>(
      AdvisedJob{scene, path, same_program, std::move(written.text), std::move(written.restore)});
  if (advice.answered)
    advice.webs = web_changes(webs_, webs_that_snag(*found));
  file(std::move(advice), stopping_findings(*found));
}

void AdviceTries::file(Advice advice, const std::map<FindingKind, int>& stopping) {
  const JobNumbers& before = list_.before;
  weigh(advice, before, stopping_, stopping);
  tell(advice, before);
  if (advice.helps || advice.trades) {
    std::vector<Advice>& entries = advice.helps ? list_.ranked : list_.trades;
    entries.push_back(std::move(advice));
    rank(entries);
  } else {
    advice.job.reset();
    (advice.answered ? list_.no_help : list_.not_answered).push_back(std::move(advice));
  }
  if (options_.found)
    options_.found(list_);
}

AdviceList advise(const Preview& found, const AdviceOptions& options) {
  AdviceList list;
  list.before = job_numbers(found);
  const JobNumbers& now = list.before;
  list.clean =
      now.webs_snagging == 0 && now.stops == 0 && now.rubs == 0 && now.long_runs == 0 && !now.hold_weak();
  if (list.clean)
    return list;
  if (!solved_in_3d(found)) {
    AdviceTries(found, options, list).all();
  } else {
    // Like with like: the changed jobs are judged by the formula, so this one is too.
    PreviewOptions how;
    how.verify = SolveChoice::none();
    how.progress = options.progress;
    const Outcome<Preview> base = preview_again(found, found.scene, found.path, how);
    if (!base) {
      list.stopped = true;
      return list;
    }
    ++list.runs;
    list.before = job_numbers(*base);
    AdviceTries(*base, options, list).all();
  }
  std::size_t number = 0;
  for (auto* entries : {&list.ranked, &list.trades})
    for (Advice& one : *entries)
      if (++number; one.job && !one.job->same_program)
        name_program(one, fmt::format("advice-{}.nc", number), options);
  return list;
}

namespace {

/// How wide a web must be is told once: by the job as it was solved.
void settle_widths(AdviceList& list, const Preview& found) {
  for (auto* entries : {&list.ranked, &list.trades, &list.no_help})
    for (Advice& one : *entries)
      if (auto* wider = std::get_if<lever::WiderWebs>(&one.lever))
        if (lever::WiderWebs again = wider_webs_of(found).lever; !again.webs.empty())
          *wider = std::move(again);
}

} // namespace

bool confirm_best(AdviceList& list, const Preview& found, const PreviewOptions& options) {
  if (solved_in_3d(found))
    settle_widths(list, found);
  if (list.ranked.empty() || !list.ranked.front().job || !solved_in_3d(found))
    return true;
  Advice& best = list.ranked.front();
  const Outcome<Preview> again = preview_again(found, best.job->scene, best.job->path, options);
  if (!again)
    return false;
  ++list.runs;
  list.before_in_3d = job_numbers(found);
  best.confirmed = job_numbers(*again);
  return true;
}

std::string advised_program(const Advice& advice) {
  return advice.job->text;
}

} // namespace snagmap
