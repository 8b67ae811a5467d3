// Errors are data with a place: every user mistake comes back as Faults, never as a crash or a silent guess.
#pragma once

#include <string>
#include <utility>
#include <variant>
#include <vector>

namespace snagmap {

/// One mistake in the user's input: where it stands, what is wrong, what to do about it.
struct Fault {
  std::string file;    ///< empty for the command line
  int line = 0;        ///< 1-based; 0 when there is no line
  int column = 0;      ///< 1-based; 0 when there is no column
  std::string what;    ///< the value seen and the rule it broke
  std::string way_out; ///< what to write instead
  std::string excerpt; ///< the offending line; empty when none. A caret is drawn under `column`.
};

/// "file:line:column: what", then the excerpt with a caret, then the way out; ends without a newline.
std::string to_text(const Fault& fault);

/// A value or the faults that kept it from being one. `notes` travel with a value (assumed, accepted).
template <class T> class Outcome {
public:
  Outcome(T value) : state_(std::move(value)) {}
  Outcome(Fault fault) : state_(std::vector<Fault>{std::move(fault)}) {}
  Outcome(std::vector<Fault> faults) : state_(std::move(faults)) {}
  explicit operator bool() const { return state_.index() == 0; }
  const T& operator*() const { return std::get<0>(state_); }
  T& operator*() { return std::get<0>(state_); }
  const T* operator->() const { return &std::get<0>(state_); }
  T* operator->() { return &std::get<0>(state_); }
  const std::vector<Fault>& faults() const { return std::get<1>(state_); }

private:
  std::variant<T, std::vector<Fault>> state_;
};

} // namespace snagmap
