#include "sim/advice/advice.hpp"

#include "sim/advice/tries.hpp"
#include "sim/program/written.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <tuple>

namespace snagmap {
namespace {

std::string seconds_text(double s) {
  return std::abs(s) < 0.5 ? std::string("no time")
                           : fmt::format("{}{:.0f} s", s < 0 ? "-" : "+", std::abs(s));
}

/// " (at X373 Y196 and 4 more)".
std::string places_of(const std::vector<SnaggingWeb>& webs) {
  constexpr std::size_t kTold = 3;
  std::string text;
  for (std::size_t i = 0; i < std::min(kTold, webs.size()); ++i)
    text += fmt::format("{}X {:.0f} mm Y {:.0f} mm", i ? ", " : "", webs[i].place_mm.x, webs[i].place_mm.y);
  return webs.size() > kTold ? fmt::format(" (at {} and {} more)", text, webs.size() - kTold)
                             : " (at " + text + ")";
}

/// Webs one by one: a number that stays may hide one that holds now and one that does not.
void tell_webs(Advice& advice, const JobNumbers& before) {
  const WebChanges& webs = advice.webs;
  if (!advice.answered)
    return;
  const std::string both =
      fmt::format("webs that snag {} -> {}", before.webs_snagging, advice.after.webs_snagging);
  const bool fewer = advice.after.webs_snagging < before.webs_snagging;
  if (!webs.gone.empty() && advice.for_webs)
    advice.better.push_back(
        webs.fresh.empty() || fewer
            ? both + (webs.fresh.empty() ? "" : fmt::format(", {} no longer", webs.gone.size()))
            : fmt::format("{} of {} snagging webs no longer{}", webs.gone.size(), before.webs_snagging,
                          places_of(webs.gone)));
  if (!webs.fresh.empty())
    advice.worse.push_back(
        fewer ? fmt::format("webs that snag and did not: {}{}", webs.fresh.size(), places_of(webs.fresh))
              : fmt::format("{}: {} that did not{}", both, webs.fresh.size(), places_of(webs.fresh)));
  if (!webs.harder.empty()) {
    const auto worst = std::max_element(webs.harder.begin(), webs.harder.end(),
                                        [](const auto& a, const auto& b) { return a.second.s < b.second.s; });
    advice.worse.push_back(
        fmt::format("S of {} snagging web{} rises (most at X {:.0f} mm Y {:.0f} mm: {} -> {})",
                    webs.harder.size(), webs.harder.size() == 1 ? "" : "s", worst->second.place_mm.x,
                    worst->second.place_mm.y, snag_text(worst->first.s), snag_text(worst->second.s)));
  }
}

/// What changed for the better or the worse, one fact a line.
void tell(Advice& advice, const JobNumbers& before) {
  const JobNumbers& after = advice.after;
  const auto say = [&](bool good, std::string words) {
    (good ? advice.better : advice.worse).push_back(std::move(words));
  };
  tell_webs(advice, before);
  if (advice.answered && before.worst_s > 0 &&
      std::abs(after.worst_s / before.worst_s - 1) > 0.01 && // less is no cure where only strands are meant
      (advice.for_webs || after.worst_s > before.worst_s))
    say(after.worst_s < before.worst_s,
        fmt::format("worst S {} -> {}", snag_text(before.worst_s), snag_text(after.worst_s)));
  if (after.stops != before.stops)
    say(after.stops < before.stops,
        fmt::format("findings that stop the job {} -> {}", before.stops, after.stops));
  if (after.rubs != before.rubs)
    say(after.rubs < before.rubs,
        fmt::format("places where neck or shank rub {} -> {}", before.rubs, after.rubs));
  if (after.hold_known && std::abs(after.hold_low / std::max(before.hold_low, 1e-9) - 1) > 0.02)
    say(after.hold_low > before.hold_low,
        fmt::format("hold-down factor {:.2f} ({:.2f} to {:.2f}) -> {:.2f} ({:.2f} to {:.2f})", before.hold,
                    before.hold_low, before.hold_high, after.hold, after.hold_low, after.hold_high));
  if (after.long_runs != before.long_runs)
    say(after.long_runs < before.long_runs,
        fmt::format("long strands {} -> {}", before.long_runs, after.long_runs));
  if (std::abs(after.longest_run_mm - before.longest_run_mm) > 5)
    say(after.longest_run_mm < before.longest_run_mm,
        fmt::format("longest strand run {:.0f} -> {:.0f} mm", before.longest_run_mm, after.longest_run_mm));
  if (!advice.answered && std::abs(after.lean_mm - before.lean_mm) > 0.02)
    say(after.lean_mm < before.lean_mm,
        fmt::format("largest lean of a holding web {:.2f} -> {:.2f} mm", before.lean_mm, after.lean_mm));
  if (!advice.answered && std::abs(after.chip_mm - before.chip_mm) > 0.002)
    say(after.chip_mm > before.chip_mm,
        fmt::format("mean chip load {:.3f} -> {:.3f} mm", before.chip_mm, after.chip_mm));
  if (std::abs(after.over_cut_mm - before.over_cut_mm) > 0.05)
    say(after.over_cut_mm < before.over_cut_mm,
        fmt::format("largest over-cut {:.2f} -> {:.2f} mm", before.over_cut_mm, after.over_cut_mm));
  if (std::abs(after.time_s - before.time_s) >= 0.5)
    say(after.time_s < before.time_s,
        fmt::format("program time {:.0f} -> {:.0f} s", before.time_s, after.time_s));
}

constexpr double kHoldMoves = 1.02; // a hold that changes by less is the same

/// Gains and losses of what alarms or decides, and what becomes of the lever.
void weigh(Advice& advice, const JobNumbers& before, const std::map<std::string, int>& stopping_before,
           const std::map<std::string, int>& stopping_after) {
  const JobNumbers& after = advice.after;
  std::map<std::string, std::pair<int, int>> stopping;
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

/// What the finite elements say of the best, beside what they say of the job as it stands.
std::string confirmed_text(const AdviceList& list, const Advice& one) {
  if (!one.confirmed || !list.before_in_3d)
    return "";
  return fmt::format(". With finite elements: webs that snag {} -> {}, worst S {} -> {}",
                     list.before_in_3d->webs_snagging, one.confirmed->webs_snagging,
                     snag_text(list.before_in_3d->worst_s), snag_text(one.confirmed->worst_s));
}

std::string joined(const std::vector<std::string>& words) {
  std::string text;
  for (const std::string& word : words)
    text += (text.empty() ? "" : "; ") + word;
  return text;
}

std::string program_words(const Advice& one) {
  if (one.program_file.empty())
    return "";
  return ". Program: " + one.program_file +
         (one.job->restore.empty()
              ? ""
              : ". Not carried over, to be restored by hand: " + joined(one.job->restore));
}

/// Both sides with their numbers.
std::string trade_text(const Advice& one) {
  return fmt::format("gains: {}; costs: {}", joined(one.better),
                     one.worse.empty() ? "nothing that is counted here" : joined(one.worse));
}

std::vector<std::string> head_of(const Scene& scene, const Advice& advice) {
  std::vector<std::string> head{scene.title, "changed by snagmap: " + advice.words};
  if (advice.trades)
    head.push_back("a trade and no cure; " + trade_text(advice));
  else if (advice.helps)
    head.push_back("foreseen: " + joined(advice.better) +
                   (advice.worse.empty() ? "" : "; worse: " + joined(advice.worse)));
  head.push_back("a prediction, not a promise: preview this program and run it in air before it meets foam");
  head.push_back(
      "guard and eye protection on; hands off until the spindle stands still; the machine's manual "
      "comes first");
  return head;
}

/// The file's name, and its head now that the lever's standing is known: the moves stay as they were judged.
void name_program(Advice& advice, const std::string& name) {
  Outcome<WrittenProgram> written = written_program(
      advice.job->path, name, program_options(advice.job->scene), head_of(advice.job->scene, advice));
  if (!written) { // what came back once comes back again; if not, there is no file
    advice.worse.push_back("the program cannot be written: " + written.faults().front().what);
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
    Outcome<WrittenProgram> made =
        written_program(changed, "advice.nc", program_options(scene), head_of(scene, advice));
    if (!made)
      return leave_out(advice.words + ": the program cannot be written: " + made.faults().front().what);
    written = std::move(*made);
  }
  const Path& path = same_program ? base_.path : written.path;
  PreviewOptions how;
  how.verify = 0;
  bool stop = false;
  const std::string lever = advice.lever;
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
    return leave_out(advice.words + ": " + found.faults().front().what);
  advice.after = job_numbers(*found);
  advice.job = std::make_shared<const AdvisedJob>(
      AdvisedJob{scene, path, same_program, std::move(written.text), std::move(written.restore)});
  if (advice.answered)
    advice.webs = web_changes(webs_, webs_that_snag(*found));
  file(std::move(advice), stopping_findings(*found));
}

void AdviceTries::file(Advice advice, const std::map<std::string, int>& stopping) {
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
    how.verify = 0;
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
        name_program(one, fmt::format("advice-{}.nc", number));
  return list;
}

bool confirm_best(AdviceList& list, const Preview& found, const PreviewOptions& options) {
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

std::vector<AdvicePart> advice_parts(const AdviceList& list) {
  AdvicePart help{"What would help", {}}, trade{"What it gains, what it costs", {}},
      rest{"What was tried without gain, and what was not", {}};
  if (list.clean)
    return {{help.title, {"nothing to advise: no web snags, no strand is long, the hold keeps a margin"}}};
  int n = 0;
  for (const Advice& one : list.ranked)
    help.lines.push_back(fmt::format("{}. {} ({}; {}): {}{}{}{}{}", ++n, one.words, to_text(one.effort),
                                     seconds_text(one.added_s), joined(one.better),
                                     one.answered ? "" : "; S does not answer",
                                     one.worse.empty() ? "" : ". Worse: " + joined(one.worse),
                                     confirmed_text(list, one), program_words(one)));
  if (list.ranked.empty())
    help.lines.push_back(
        "nothing that was tried clears a snagging web, a finding that stops the job or a weak "
        "hold without making another worse");
  for (const Advice& one : list.trades)
    trade.lines.push_back(fmt::format("{}. {}: {} ({}; {}){}{}", ++n, trade_text(one), one.words,
                                      to_text(one.effort), seconds_text(one.added_s),
                                      one.answered ? "" : "; S does not answer", program_words(one)));
  for (const Advice& one : list.no_help)
    rest.lines.push_back(fmt::format("no help: {}{}{}", one.words,
                                     one.better.empty() ? "" : ": " + joined(one.better),
                                     one.worse.empty() ? "" : ". Worse: " + joined(one.worse)));
  for (const Advice& one : list.not_answered)
    rest.lines.push_back(fmt::format("not answered by this model (S): {}{}{}", one.words,
                                     one.better.empty() ? "" : ". Better: " + joined(one.better),
                                     one.worse.empty() ? "" : ". Worse: " + joined(one.worse)));
  for (const std::string& why : list.not_tried)
    rest.lines.push_back("not tried: " + why);
  if (list.stopped)
    rest.lines.push_back("stopped before all levers were tried");
  std::vector<AdvicePart> parts{std::move(help)};
  for (AdvicePart* part : {&trade, &rest})
    if (!part->lines.empty())
      parts.push_back(std::move(*part));
  return parts;
}

} // namespace snagmap
