// Errors are data with a place: every user mistake comes back as Faults, never as a crash or a silent guess.
#pragma once

#include <string>
#include <utility>
#include <variant>
#include <vector>

namespace snagmap {

/// One mistake in the user's input: where it stands, what is wrong, what to do about it.
struct [[nodiscard]] Fault {
  std::string file;    ///< empty for the command line
  int line = 0;        ///< 1-based; 0 when there is no line
  int column = 0;      ///< 1-based; 0 when there is no column
  std::string what;    ///< the value seen and the rule it broke
  std::string way_out; ///< what to write instead
  std::string excerpt; ///< the offending line; empty when none. A caret is drawn under `column`.

  Fault() = default;
  Fault(std::string what_, std::string way_out_, std::string file_ = "", int line_ = 0, int column_ = 0,
        std::string excerpt_ = "")
      : file(std::move(file_)), line(line_), column(column_), what(std::move(what_)),
        way_out(std::move(way_out_)), excerpt(std::move(excerpt_)) {}
};

/// "file:line:column: what", then the excerpt with a caret, then the way out; ends without a newline.
std::string to_text(const Fault& fault);

/// Throws std::logic_error with the first fault's text: whoever takes a value must have asked whether there
/// is one.
[[noreturn]] void no_value(const std::vector<Fault>& faults);

/// A value or the faults that kept it from being one.
template <class T> class [[nodiscard]] Outcome {
public:
  Outcome(T value) : state_(std::move(value)) {}
  Outcome(Fault fault) : state_(std::vector<Fault>{std::move(fault)}) {}
  Outcome(std::vector<Fault> faults) : state_(std::move(faults)) {}
  explicit operator bool() const { return state_.index() == 0; }
  const T& operator*() const { return value(*this); }
  T& operator*() { return value(*this); }
  const T* operator->() const { return &value(*this); }
  T* operator->() { return &value(*this); }
  /// Empty when there is a value.
  const std::vector<Fault>& faults() const {
    static const std::vector<Fault> none;
    return *this ? none : std::get<1>(state_);
  }

private:
  template <class Self> static auto& value(Self& self) {
    if (!self)
      no_value(self.faults());
    return *std::get_if<0>(&self.state_);
  }

  std::variant<T, std::vector<Fault>> state_;
};

} // namespace snagmap
