// The sentences of a result: made where the units shown are known (viz/words), and handed in.
#pragma once

#include "sim/advice/levers.hpp"
#include "sim/answer/place.hpp"
#include "sim/preview/preview.hpp"

#include <string>
#include <vector>

namespace snagmap {

class Sentences {
public:
  virtual ~Sentences() = default;
  virtual std::string words(const Fact& fact) const = 0;
  virtual std::string words(const Risk& risk) const = 0;
  virtual std::string words(const Reason& reason) const = 0;
  virtual std::string words(const Unsolved& why) const = 0;
  virtual std::string words(const Note& note) const = 0;
  virtual std::string words(const Assumed& assumed) const = 0;
  virtual std::string words(const Lever& lever) const = 0;
  virtual std::string words(const Change& change) const = 0;
  virtual std::string words(const Untried& why) const = 0;
  virtual std::string words(const Whereabouts& place) const = 0;
  /// Where a stop is, and what to do there, in order.
  virtual std::string place(const RiskStop& stop) const = 0;
  virtual std::vector<std::string> steps(const RiskTimeline& timeline, const RiskStop& stop) const = 0;
  virtual std::string stops_caution() const = 0;
};

} // namespace snagmap
