#include "viz/words/answer_words.hpp"

#include "viz/words/advice_words.hpp"
#include "viz/words/clock.hpp"
#include "viz/words/finding_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <set>

namespace snagmap {
namespace {

constexpr std::size_t kWidthsTold = 3;

const char* plural(std::size_t count) {
  return count == 1 ? "" : "s";
}

/// "clears all 11" or "clears 9 of the 11".
std::string clears(std::size_t cleared, std::size_t of) {
  if (cleared < of)
    return fmt::format("clears {} of the {}", cleared, of);
  return of == 1 ? "clears it" : fmt::format("clears all {}", of);
}

/// `advised`: --advise has run. It tries the drawer, not the cards.
std::string cutter_words(const CutterTry& one, std::size_t of, bool advised, const Shown& shown) {
  std::string words =
      fmt::format("{} {} (flutes {} instead of {}) {}", one.name,
                  one.drawer ? "of the drawer" : "of the cards", shown.short_length(one.flutes_mm),
                  shown.short_number(one.instead_of_mm), clears(one.clears.size(), of));
  if (one.pass_mm > 0)
    words += fmt::format(" if no pass is deeper than {}", shown.short_length(one.pass_mm));
  if (one.rubs)
    words += "; its shank would rub deeper walls";
  words += ": a quick estimate by the formula";
  if (!one.drawer)
    return words + "; put into the scene's drawer, it is tried whole by --advise.";
  return words + (advised ? "." : "; --advise tries it whole.");
}

/// The best advice for webs that was tried whole; empty: none clears one.
std::string tried_words(const AdviceList& list, const Shown& shown) {
  const auto best = std::find_if(list.ranked.begin(), list.ranked.end(), [](const Advice& one) {
    return one.for_webs && !one.webs.gone.empty() && kind_of(one.lever) != LeverKind::wider_web;
  });
  if (best == list.ranked.end())
    return "";
  std::string words = words_of(best->lever, shown);
  if (!words.empty())
    words[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(words[0])));
  if (best->confirmed && list.before_in_3d)
    return fmt::format("{}: tried with finite elements, {} of the {} still snag.", words,
                       best->confirmed->webs_snagging, list.before_in_3d->webs_snagging);
  return fmt::format("{}: tried whole by the formula, it {}.", words,
                     clears(best->webs.gone.size(), static_cast<std::size_t>(list.before.webs_snagging)));
}

std::string hold_words(const HoldDown& hold) {
  switch (hold.kind) {
  case HoldDownKind::tape:
    return hold.tape_area_share < 1 ? fmt::format("tape under {:.3g} % of it", 100 * hold.tape_area_share)
                                    : std::string("tape under all of it");
  case HoldDownKind::vacuum:
    return "vacuum under it";
  default:
    return "hold-down not given";
  }
}

std::string zero_words(const Scene& scene) {
  const auto side = [](double share, const char* low, const char* middle, const char* high) {
    return share < 0.25 ? low : share > 0.75 ? high : middle;
  };
  if (!scene.sheet_given)
    return "";
  return fmt::format("zero {} {} on the {}", side(scene.zero.share_y, "front", "middle", "back"),
                     side(scene.zero.share_x, "left", "middle", "right"),
                     scene.zero_on_table ? "table" : "sheet's top");
}

} // namespace

Level judged_level(const Spot& spot, bool cautious) {
  if (!cautious)
    return spot.level();
  const double s = spot.answer.s_high;
  if (s >= 1)
    return std::max(spot.level(), spot.answer.root_load_ratio < 1 ? Level::tears : Level::snags);
  return std::max(spot.level(), s >= 0.5 ? Level::leans : Level::firm);
}

bool alarms(const Preview& preview, const Alarm& alarm) {
  return !alarming_webs(preview, alarm).empty() ||
         std::any_of(preview.findings.begin(), preview.findings.end(),
                     [](const Finding& finding) { return finding.stops_job; });
}

std::vector<int> alarming_webs(const Preview& preview, const Alarm& alarm) {
  std::vector<int> webs;
  std::set<int> met;
  for (const Spot& spot : preview.spots)
    if (judged_level(spot, alarm.cautious) >= alarm.level && met.insert(spot.web).second)
      webs.push_back(spot.web);
  return webs;
}

std::string headline(const Preview& preview, const JobAnswer& answer, const Alarm& alarm) {
  if (answer.rows.empty())
    return "No thin web was found beside the cutter.";
  const std::size_t webs = answer.rows.size(), alarming = alarming_webs(preview, alarm).size();
  const char* does = alarm.level == Level::leans   ? alarming == 1 ? "leans or worse" : "lean or worse"
                     : alarm.level == Level::tears ? alarming == 1 ? "tears" : "tear"
                     : alarming == 1               ? "snags"
                                                   : "snag";
  std::string text;
  const std::string with =
      answer.cutter.empty() || preview.scene.cutters.size() > 1 ? "" : " with " + answer.cutter;
  if (alarming > 0)
    text = fmt::format("{} of {} web{} {}{}", alarming, webs, plural(webs), does, with);
  else
    text = fmt::format("{} predicted to {}{}",
                       webs == 1 ? "The one web is not" : fmt::format("None of {} webs is", webs),
                       alarm.level == Level::leans   ? "lean or worse"
                       : alarm.level == Level::tears ? "tear"
                                                     : "snag",
                       with);
  if (alarm.cautious)
    text += ", by the upper end of each range";
  else if (alarm.level == Level::snags && answer.may_snag > 0)
    text += webs == 1 ? "; but it may: its range reaches 1"
                      : fmt::format("; {}{} may: {} range reaches 1", answer.may_snag,
                                    alarming > 0 ? " more" : "", answer.may_snag == 1 ? "its" : "their");
  return text + ".";
}

std::vector<std::string> remedies(const Preview& preview, const JobAnswer& answer) {
  std::vector<std::string> words;
  if (answer.snag == 0)
    return words;
  const Shown shown{preview.scene.show_inch};
  if (const std::string tried = preview.advice ? tried_words(*preview.advice, shown) : ""; !tried.empty())
    words.push_back(tried);
  else if (!answer.tries.empty())
    words.push_back(cutter_words(answer.tries.front(), answer.snag, preview.advice != nullptr, shown));
  else
    words.push_back(std::string("No cutter of the drawer or the cards with shorter flutes of this diameter "
                                "clears any (estimated by the formula)") +
                    (preview.advice ? "." : "; --advise tries more."));
  std::string wider;
  std::size_t told = 0, more = 0, hopeless = 0;
  for (const WebRow& row : answer.rows) {
    if (!row.snags)
      continue;
    if (row.least_w_mm <= 0)
      ++hopeless;
    else if (told == kWidthsTold)
      ++more;
    else
      wider += fmt::format("{}web {} {} thick (now {})", told++ == 0 ? "" : ", ", row.web,
                           shown.length(row.least_w_mm, 1),
                           shown.number(preview.spots[row.spot].question.web.w_mm, 1));
  }
  if (!wider.empty())
    words.push_back(
        "Or make " + wider + (more > 0 ? fmt::format(" and {} more (webs.csv)", more) : "") + "." +
        (hopeless > 0 ? fmt::format(" No thickness up to four times as now holds {} of them.", hopeless)
                      : ""));
  return words;
}

std::vector<std::string> stopping_words(const Preview& preview) {
  std::vector<std::string> words;
  for (const Finding& finding : preview.findings)
    if (finding.stops_job)
      words.push_back(moment_words(finding) + ": " + words_of(finding.what, Shown{preview.scene.show_inch}));
  return words;
}

std::string by_hand(const Preview& preview) {
  const Scene& scene = preview.scene;
  const Shown shown{scene.show_inch};
  std::string words;
  for (const CutterCard& cutter : scene.cutters)
    words +=
        fmt::format("{}{} in the spindle (flutes {}, stick-out {})", words.empty() ? "" : "; ", cutter.name,
                    shown.short_length(cutter.flute_length_mm), shown.short_length(cutter.stick_out_mm));
  const std::string zero = zero_words(scene);
  if (!scene.layers.empty())
    words += fmt::format("; foam {}, {} thick; {}{}{}", scene.main_foam().name,
                         shown.short_length(scene.sheet.high.z - scene.sheet.low.z), zero,
                         zero.empty() ? "" : "; ", hold_words(scene.hold_down));
  return words + ".";
}

} // namespace snagmap
