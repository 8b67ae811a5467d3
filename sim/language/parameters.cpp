#include "sim/language/parameters.hpp"

namespace snagmap {

std::optional<double> Parameters::named(const std::string& name) const {
  const bool everywhere = !name.empty() && name[0] == '_';
  const auto& held = everywhere ? global : local.back();
  if (const auto found = held.find(name); found != held.end())
    return found->second;
  return everywhere && live ? live->named(name) : std::nullopt;
}

void Parameters::set(const std::string& name, double to) {
  (!name.empty() && name[0] == '_' ? global : local.back())[name] = to;
}

} // namespace snagmap
