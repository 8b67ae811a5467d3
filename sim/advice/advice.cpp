#include "sim/advice/advice.hpp"

#include "sim/advice/tries.hpp"
#include "sim/program/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

namespace snagmap {
namespace {

std::string seconds_text(double s) {
  return std::abs(s) < 0.5 ? std::string("no time")
                           : fmt::format("{}{:.0f} s", s < 0 ? "-" : "+", std::abs(s));
}

/// What changed for the better or the worse, one fact a line.
void tell(Advice& advice, const JobNumbers& before) {
  const JobNumbers& after = advice.after;
  const auto say = [&](bool good, std::string words) {
    (good ? advice.better : advice.worse).push_back(std::move(words));
  };
  if (advice.answered && after.webs_snagging != before.webs_snagging)
    say(after.webs_snagging < before.webs_snagging,
        fmt::format("webs that snag {} -> {}", before.webs_snagging, after.webs_snagging));
  if (advice.answered && before.worst_s > 0 && std::abs(after.worst_s / before.worst_s - 1) > 0.01)
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

void rank(std::vector<Advice>& list) {
  std::stable_sort(list.begin(), list.end(), [](const Advice& a, const Advice& b) {
    const auto key = [](const Advice& x) {
      return std::make_tuple(-x.cleared, -x.runs_cleared, x.effort, std::lround(x.added_s));
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
    : base_(base), options_(options), list_(list), top_mm_(base.scene.sheet.high.z) {}

void AdviceTries::run(Advice advice, const Scene& scene, const Path& path) {
  if (list_.stopped)
    return;
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
  advice.job = std::make_shared<const AdvisedJob>(AdvisedJob{scene, path, &path == &base_.path});
  file(std::move(advice));
}

void AdviceTries::file(Advice advice) {
  const JobNumbers &before = list_.before, &after = advice.after;
  advice.cleared =
      before.stops - after.stops + before.rubs - after.rubs + before.hold_weak() - after.hold_weak();
  if (advice.answered && advice.for_webs)
    advice.cleared += before.webs_snagging - after.webs_snagging;
  advice.runs_cleared = before.long_runs - after.long_runs;
  advice.added_s = after.time_s - before.time_s;
  const bool harms = advice.for_webs ? advice.answered && after.worst_s > 1.05 * before.worst_s
                                     : after.webs_snagging - before.webs_snagging >= advice.runs_cleared;
  advice.helps = advice.cleared > 0 ||
                 (advice.cleared == 0 && !harms && advice.runs_cleared >= std::max(1, before.long_runs / 10));
  tell(advice, before);
  if (advice.helps) {
    list_.ranked.push_back(std::move(advice));
    rank(list_.ranked);
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
  list.clean = now.webs_snagging == 0 && now.stops == 0 && now.rubs == 0 && now.runs_held &&
               now.long_runs == 0 && !now.hold_weak();
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
  for (std::size_t i = 0; i < list.ranked.size(); ++i)
    if (list.ranked[i].job && !list.ranked[i].job->same_program)
      list.ranked[i].program_file = fmt::format("advice-{}.nc", i + 1);
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
  std::map<int, int> numbers;
  for (const auto& [number, cutter] : advice.job->scene.tool_index)
    numbers.emplace(cutter, number);
  return program_text(
      advice.job->path, numbers,
      {advice.job->scene.title, "changed by snagmap: " + advice.words,
       "coordinates of the sheet; tool lengths are not written: every cutter's tip is its zero",
       "a prediction, not a promise: preview this program and run it in air before it meets foam",
       "guard and eye protection on; hands off until the spindle stands still; the machine's manual comes "
       "first"});
}

std::vector<std::string> advice_lines(const AdviceList& list) {
  std::vector<std::string> lines;
  if (list.clean)
    return {"nothing to advise: no web snags, no strand is long, the hold keeps a margin"};
  int n = 0;
  for (const Advice& one : list.ranked)
    lines.push_back(
        fmt::format("{}. {} ({}; {}): {}{}{}{}{}", ++n, one.words, to_text(one.effort),
                    seconds_text(one.added_s), joined(one.better), one.answered ? "" : "; S does not answer",
                    one.worse.empty() ? "" : ". Worse: " + joined(one.worse), confirmed_text(list, one),
                    one.program_file.empty() ? "" : ". Program: " + one.program_file));
  for (const Advice& one : list.no_help)
    lines.push_back(fmt::format("no help: {}{}{}", one.words,
                                one.better.empty() ? "" : ": " + joined(one.better),
                                one.worse.empty() ? "" : ". Worse: " + joined(one.worse)));
  for (const Advice& one : list.not_answered)
    lines.push_back(fmt::format("not answered by this model (S): {}{}{}", one.words,
                                one.better.empty() ? "" : ". Better: " + joined(one.better),
                                one.worse.empty() ? "" : ". Worse: " + joined(one.worse)));
  for (const std::string& why : list.not_tried)
    lines.push_back("not tried: " + why);
  if (list.stopped)
    lines.push_back("stopped before all levers were tried");
  return lines;
}

} // namespace snagmap
