// The verdict in words: how many webs snag, what clears them, what else stops the job, what to check by hand.
#pragma once

#include "sim/answer/answer.hpp"
#include "viz/words/shown.hpp"

#include <string>
#include <vector>

namespace snagmap {

/// What the exit status and the verdict go by.
struct Alarm {
  Level level = Level::snags;
  bool cautious = false; ///< by the upper end of the band instead of the nominal S
};

/// The level the alarm goes by: nominal, or that of the band's upper end.
Level judged_level(const Spot& spot, bool cautious);
/// A spot at or above the level, or a finding that stops the job.
bool alarms(const Preview& preview, const Alarm& alarm);
/// Numbers of the webs with a spot at or above the level, worst first.
std::vector<int> alarming_webs(const Preview& preview, const Alarm& alarm);

/// One line: "11 of 84 webs snag with flat-6.35-long; 25 more may."
std::string headline(const Preview& preview, const JobAnswer& answer, const Alarm& alarm);
/// What clears the webs, a sentence each: another cutter, then thicker webs; empty when nothing snags.
std::vector<std::string> remedies(const Preview& preview, const JobAnswer& answer);
/// Findings that stop the job, each with its moment.
std::vector<std::string> stopping_words(const Preview& preview);
/// What the answer rests on and only the person at the machine can see.
std::string by_hand(const Preview& preview);

} // namespace snagmap
