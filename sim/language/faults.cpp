#include "sim/language/faults.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cstring>

namespace snagmap {
namespace {

/// `what` with every number as one sign: faults that differ in numbers only are of one rule.
std::string without_numbers(const std::string& what) {
  std::string rule;
  rule.reserve(what.size());
  for (std::size_t i = 0; i < what.size(); ++i) {
    if (!std::isdigit(static_cast<unsigned char>(what[i]))) {
      rule += what[i];
      continue;
    }
    // G and M codes keep their numbers: G5 and G7 are two rules.
    if (i > 0 && (what[i - 1] == 'G' || what[i - 1] == 'M')) {
      while (i < what.size() && (std::isdigit(static_cast<unsigned char>(what[i])) || what[i] == '.'))
        rule += what[i++];
    } else {
      while (i < what.size() &&
             (std::isalnum(static_cast<unsigned char>(what[i])) || std::strchr(".+-", what[i])))
        ++i;
      if (!rule.empty() && rule.back() == '-')
        rule.pop_back();
      rule += '#';
    }
    --i;
  }
  return rule;
}

} // namespace

void ProgramFaults::add(const std::string& file, int line, const Refusal& refusal, std::string excerpt) {
  const std::string rule = refusal.rule.empty() ? without_numbers(refusal.what) : refusal.rule;
  if (const auto known = by_rule_.find(rule); known != by_rule_.end()) {
    int& last = last_line_[known->second]; // a loop meets its lines again
    counts_[known->second] += line > last;
    last = std::max(last, line);
    return;
  }
  if (faults_.size() >= most_rules_) {
    ++untold_;
    return;
  }
  by_rule_.emplace(rule, faults_.size());
  counts_.push_back(1);
  last_line_.push_back(line);
  faults_.push_back(Fault(refusal.what, refusal.way_out, file, line, refusal.column, std::move(excerpt)));
}

std::vector<Fault> ProgramFaults::take() {
  for (std::size_t i = 0; i < faults_.size(); ++i)
    if (counts_[i] > 1)
      faults_[i].what +=
          fmt::format(": {} lines, first {}:{}", counts_[i], faults_[i].line, faults_[i].column);
  if (untold_ > 0)
    faults_.push_back(
        Fault(fmt::format("{} lines break further rules, after the first {}", untold_, most_rules_),
              "mend these first", faults_.front().file));
  faults_.insert(faults_.end(), single_.begin(), single_.end());
  return std::move(faults_);
}

const char* foreign_construct(const char* begin, const char* end) {
  const char* p = begin;
  const auto blanks = [&] {
    while (p < end && (*p == ' ' || *p == '\t'))
      ++p;
  };
  blanks();
  if (p < end && *p == '<')
    return "mark-up, not an NC program";
  if (p < end && (*p | 0x20) == 'n')
    for (++p; p < end && std::isdigit(static_cast<unsigned char>(*p));)
      ++p;
  else if (p < end && std::isdigit(static_cast<unsigned char>(*p)))
    while (p < end && std::isdigit(static_cast<unsigned char>(*p)))
      ++p;
  blanks();
  const auto begins = [&](const char* word) {
    const std::size_t length = std::strlen(word);
    if (static_cast<std::size_t>(end - p) < length)
      return false;
    for (std::size_t i = 0; i < length; ++i)
      if (std::toupper(static_cast<unsigned char>(p[i])) != word[i])
        return false;
    return true;
  };
  static constexpr const char* kDialogue[] = {
      "BEGIN PGM", "END PGM", "BLK FORM", "TOOL CALL", "TOOL DEF", "CYCL DEF", "CYCL CALL", "CALL LBL",
      "LBL ",      "FN ",     "FUNCTION", "L X",       "L Y",      "L Z",      "CC X",      "CP "};
  for (const char* word : kDialogue)
    if (begins(word))
      return "a line of a dialogue program, another language than RS-274";
  static constexpr const char* kMacro[] = {"IF", "WHILE", "GOTO", "ELSE", "THEN", "DO", "END", "FOR"};
  for (const char* word : kMacro)
    if (begins(word))
      return "a macro statement (a loop, condition or jump of another control)";
  static constexpr const char* kOther[] = {"CYCLE", "POCKET", "SLOT",  "MCALL", "DEF ",  "PROC ",  "EXTERN",
                                           "SETVN", "POPEN",  "DPRNT", "BPRNT", "PCLOS", "CALL ",  "RET",
                                           "TRANS", "ATRANS", "ROT",   "AROT",  "SCALE", "MIRROR", "REPEAT"};
  for (const char* word : kOther)
    if (begins(word))
      return "a statement of another control's language";
  return nullptr;
}

} // namespace snagmap
