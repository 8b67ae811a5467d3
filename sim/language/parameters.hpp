// Parameters of a program: numbered, named, and those that tell where the control stands.
#pragma once

#include <array>
#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace snagmap {

/// What the control knows of itself while the program runs: places, modes, tools.
class LiveValues {
public:
  virtual ~LiveValues() = default;
  virtual std::optional<double> numbered(int index) const = 0;
  virtual std::optional<double> named(const std::string& name) const = 0;
};

/// Parameters 1 to 5602; all begin at 0. Named ones exist from their first setting on: those that begin with
/// '_' everywhere, the others within their subprogram (LinuxCNC, G-code overview, Named Parameters).
struct Parameters {
  static constexpr int kLast = 5602, kFirstLive = 5400;
  std::array<double, kLast + 1> value{};
  std::map<std::string, double> global;
  std::vector<std::map<std::string, double>> local{1}; ///< the running subprogram's last
  std::size_t depth = 0;                               ///< of calls, by O word or by M97 and M98
  const LiveValues* live = nullptr;

  double numbered(int index) const {
    if (index >= kFirstLive && live)
      if (const auto now = live->numbered(index))
        return *now;
    return value[static_cast<std::size_t>(index)];
  }
  /// `name` in lower case and without blanks.
  std::optional<double> named(const std::string& name) const;
  void set(const std::string& name, double to);
};

} // namespace snagmap
