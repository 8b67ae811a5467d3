#include "viz/words/tooth_words.hpp"

#include "viz/words/spot_words.hpp"

#include <cmath>
#include <fmt/format.h>

namespace snagmap {
namespace {

std::string t_text(double t) {
  return t <= 0 ? "0" : t < 0.01 ? "< 0.01" : t >= 99.9 ? "> 100" : fmt::format("{:.2g}", t);
}

const char* side_of(bool climb) {
  return climb ? "climb" : "conventional";
}

/// Near 1 or 2 of the web's own frequency, within its band: where one tap in step with the swing counts most.
std::string rate_words(const WebTooth& tooth) {
  for (const int times : {1, 2})
    if (tooth.tooth_Hz > 0.85 * times * tooth.f1_low_Hz && tooth.tooth_Hz < 1.15 * times * tooth.f1_high_Hz)
      return fmt::format(
          " The teeth come {:.0f} times a second, which may be {} the web's own {:.0f} Hz ({:.0f} to "
          "{:.0f}): another speed changes T.",
          tooth.tooth_Hz, times == 1 ? "in step with" : "twice", tooth.f1_Hz, tooth.f1_low_Hz,
          tooth.f1_high_Hz);
  return "";
}

} // namespace

std::string tooth_band_text(double t, double low, double high) {
  return fmt::format("{} ({} to {})", t_text(t), t_text(low), t_text(high));
}

std::string tooth_words(const WebTooth& tooth, const Shown& shown) {
  if (!tooth.answered)
    return fmt::format("T is not known: {}.",
                       tooth.why_not ? words_of(*tooth.why_not, shown) : "it was not asked for");
  const char* push = tooth.push == ToothPush::pulled_in    ? "the teeth pull the wall in"
                     : tooth.push == ToothPush::pushed_off ? "the teeth push the wall off"
                     : tooth.push == ToothPush::none       ? "the teeth cut nothing of the wall there"
                                                     : "friction decides which way the teeth move the wall";
  const char* growth = tooth.growth == ToothGrowth::none ? "small motions die out"
                       : tooth.t < 1                     ? "small motions die out"
                       : tooth.growth == ToothGrowth::drawn_in
                           ? "a small lean grows to one side until the chips are full"
                           : "a small motion grows into a swing from tooth to tooth";
  const std::string width =
      tooth.engaged_rad >= 3.14 ? "in a full slot" : shown.length(tooth.width_mm) + " wide";
  return fmt::format("Cut {}, {}: {} ({:.2g} N, {:.2g} to {:.2g}); {}: T {}.{}", side_of(tooth.climb), width,
                     push, tooth.pull_N, tooth.pull_low_N, tooth.pull_high_N, growth,
                     tooth_band_text(tooth.t, tooth.t_low, tooth.t_high), rate_words(tooth));
}

std::string side_words(const WebTooth& tooth) {
  if (!tooth.answered || (tooth.t >= 1) == (tooth.t_turned >= 1))
    return "";
  return fmt::format("Cut {} instead T would be {}: {}.", side_of(!tooth.climb), t_text(tooth.t_turned),
                     tooth.t_turned < 1 ? "small motions die out" : "past its edge");
}

std::string both_words(const Spot& spot, const WebTooth& tooth) {
  if (!tooth.answered)
    return "Only S speaks.";
  const bool s = spot.answer.s >= 1, t = tooth.t >= 1;
  const bool open =
      (spot.answer.s_low < 1 && spot.answer.s_high >= 1) || (tooth.t_low < 1 && tooth.t_high >= 1);
  std::string words = s && t     ? "S and T agree that it does not stand"
                      : !s && !t ? "S and T agree that neither sees it go"
                      : s        ? "S and T disagree: by practice it is drawn in, by the teeth it is not"
                          : "S and T disagree: by practice it stays, by the teeth it swings or is drawn in";
  if (s != t)
    return words + "; a wall of this thickness cut from this side in the job's own foam settles it.";
  return words + (open ? ", but a band crosses 1: a test wall in the job's own foam closes it." : ".");
}

std::string over_cut_words(double over_cut_mm, const Shown& shown) {
  return shown.length(std::abs(over_cut_mm), 2) + (over_cut_mm < 0 ? " too shallow" : " too deep");
}

std::string two_numbers_words() {
  return "S is the steady pull set by what practice reports, blind to side, feed, flutes and speed. T is "
         "mechanics of "
         "the teeth with guessed inputs: severing work within a factor of six, friction not even in sign. "
         "Past 1 each "
         "says that a small motion grows. Neither has a cut test on foam behind it.\n";
}

} // namespace snagmap
