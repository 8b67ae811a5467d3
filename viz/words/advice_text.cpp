// The list of advice as text, and the heads of advised programs.
#include "viz/words/advice_words.hpp"
#include "viz/words/note_words.hpp"

#include <fmt/format.h>

#include <cmath>

namespace snagmap {
namespace {

std::string seconds_text(double s) {
  return std::abs(s) < 0.5 ? std::string("no time")
                           : fmt::format("{}{:.0f} s", s < 0 ? "-" : "+", std::abs(s));
}

/// What the finite elements say of the best, beside what they say of the job as it stands.
std::string confirmed_text(const AdviceList& list, const Advice& one) {
  if (!one.confirmed || !list.before_in_3d)
    return "";
  return fmt::format(". With finite elements: webs that snag {} -> {}, worst S {} -> {}",
                     list.before_in_3d->webs_snagging, one.confirmed->webs_snagging,
                     snag_text(list.before_in_3d->worst_s), snag_text(one.confirmed->worst_s));
}

template <class Said> std::string all_words(const std::vector<Said>& all, const Shown& shown) {
  std::string text;
  for (const Said& one : all)
    text += (text.empty() ? "" : "; ") + words_of(one, shown);
  return text;
}

std::string program_words(const Advice& one, const Shown& shown) {
  if (one.program_file.empty())
    return "";
  return ". Program: " + one.program_file +
         (one.job->restore.empty()
              ? ""
              : ". Not carried over, to be restored by hand: " + all_words(one.job->restore, shown));
}

/// Both sides with their numbers.
std::string trade_text(const Advice& one, const Shown& shown) {
  return fmt::format("gains: {}; costs: {}", all_words(one.better, shown),
                     one.worse.empty() ? "nothing that is counted here" : all_words(one.worse, shown));
}

} // namespace

std::vector<std::string> advice_program_head(const Scene& scene, const Advice& advice) {
  const Shown shown{scene.show_inch};
  std::vector<std::string> head{scene.title, "changed by snagmap: " + words_of(advice.lever, shown)};
  if (advice.trades)
    head.push_back("a trade and no cure; " + trade_text(advice, shown));
  else if (advice.helps)
    head.push_back("foreseen: " + all_words(advice.better, shown) +
                   (advice.worse.empty() ? "" : "; worse: " + all_words(advice.worse, shown)));
  head.push_back("a prediction, not a promise: preview this program and run it in air before it meets foam");
  head.push_back(
      "guard and eye protection on; hands off until the spindle stands still; the machine's manual "
      "comes first");
  return head;
}

std::vector<AdvicePart> advice_parts(const AdviceList& list, const Shown& shown) {
  AdvicePart help{"What would help", {}}, trade{"What it gains, what it costs", {}},
      rest{"What was tried without gain, and what was not", {}};
  if (list.clean)
    return {{help.title, {"nothing to advise: no web snags, no strand is long, the hold keeps a margin"}}};
  int n = 0;
  for (const Advice& one : list.ranked)
    help.lines.push_back(fmt::format("{}. {} ({}; {}): {}{}{}{}{}", ++n, words_of(one.lever, shown),
                                     to_text(one.effort), seconds_text(one.added_s),
                                     all_words(one.better, shown), one.answered ? "" : "; S does not answer",
                                     one.worse.empty() ? "" : ". Worse: " + all_words(one.worse, shown),
                                     confirmed_text(list, one), program_words(one, shown)));
  if (list.ranked.empty())
    help.lines.push_back(
        "nothing that was tried clears a snagging web, a finding that stops the job or a weak "
        "hold without making another worse");
  for (const Advice& one : list.trades)
    trade.lines.push_back(fmt::format("{}. {}: {} ({}; {}){}{}", ++n, trade_text(one, shown),
                                      words_of(one.lever, shown), to_text(one.effort),
                                      seconds_text(one.added_s), one.answered ? "" : "; S does not answer",
                                      program_words(one, shown)));
  for (const Advice& one : list.no_help)
    rest.lines.push_back(fmt::format("no help: {}{}{}", words_of(one.lever, shown),
                                     one.better.empty() ? "" : ": " + all_words(one.better, shown),
                                     one.worse.empty() ? "" : ". Worse: " + all_words(one.worse, shown)));
  for (const Advice& one : list.not_answered)
    rest.lines.push_back(fmt::format("not answered by this model (S): {}{}{}", words_of(one.lever, shown),
                                     one.better.empty() ? "" : ". Better: " + all_words(one.better, shown),
                                     one.worse.empty() ? "" : ". Worse: " + all_words(one.worse, shown)));
  for (const Untried& why : list.not_tried)
    rest.lines.push_back("not tried: " + words_of(why, shown));
  if (list.stopped)
    rest.lines.push_back("stopped before all levers were tried");
  std::vector<AdvicePart> parts{std::move(help)};
  for (AdvicePart* part : {&trade, &rest})
    if (!part->lines.empty())
      parts.push_back(std::move(*part));
  return parts;
}

} // namespace snagmap
