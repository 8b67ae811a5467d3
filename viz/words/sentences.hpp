// All sentences of a result in the units shown, for the files.
#pragma once

#include "sim/results/sentences.hpp"
#include "viz/words/shown.hpp"

namespace snagmap {

class ShownSentences : public Sentences {
public:
  explicit ShownSentences(const Shown& shown) : shown_(shown) {}
  std::string words(const Fact& fact) const override;
  std::string words(const Risk& risk) const override;
  std::string words(const Reason& reason) const override;
  std::string words(const Unsolved& why) const override;
  std::string words(const Note& note) const override;
  std::string words(const Assumed& assumed) const override;
  std::string words(const Lever& lever) const override;
  std::string words(const Change& change) const override;
  std::string words(const Untried& why) const override;
  std::string words(const Whereabouts& place) const override;
  std::string place(const RiskStop& stop) const override;
  std::vector<std::string> steps(const RiskTimeline& timeline, const RiskStop& stop) const override;
  std::string stops_caution() const override;

private:
  Shown shown_;
};

} // namespace snagmap
