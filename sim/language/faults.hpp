// The faults of a program, gathered by rule: each rule is told once, with its count and its first place.
#pragma once

#include "models/base/fault.hpp"
#include "sim/language/block.hpp"

#include <string>
#include <unordered_map>
#include <vector>

namespace snagmap {

class ProgramFaults {
public:
  /// At most `most_rules` are told; the rest are counted.
  explicit ProgramFaults(int most_rules)
      : most_rules_(static_cast<std::size_t>(most_rules < 1 ? 1 : most_rules)) {}

  void add(const std::string& file, int line, const Refusal& refusal, std::string excerpt);
  /// One that stands for itself, such as a program that does not end.
  void add(Fault fault) { single_.push_back(std::move(fault)); }
  bool empty() const { return faults_.empty() && single_.empty(); }
  /// Once only.
  std::vector<Fault> take();

private:
  std::size_t most_rules_;
  std::vector<Fault> faults_, single_;
  std::vector<int> counts_, last_line_;
  std::unordered_map<std::string, std::size_t> by_rule_;
  std::size_t untold_ = 0;
};

/// What the line is, when it is no RS-274 but a construct of another language: a macro statement, a dialogue
/// program, mark-up. Null when it is none known.
const char* foreign_construct(const char* begin, const char* end);

} // namespace snagmap
