// Values of facts, reasons and the like as JSON, by their key lists.
#pragma once

#include "models/base/vec.hpp"
#include "sim/text/assumed.hpp"
#include "sim/text/members.hpp"

#include <nlohmann/json.hpp>

#include <optional>
#include <string>
#include <type_traits>
#include <variant>
#include <vector>

namespace snagmap {

/// An object of the struct's members.
template <class T> nlohmann::ordered_json members_json(const T& from);

inline nlohmann::ordered_json value_json(Vec3 from) {
  return {from.x, from.y, from.z};
}
inline nlohmann::ordered_json value_json(const Amount& from) {
  return {{"value", from.value}, {"unit", base_unit(from.dimension)}};
}
template <class T> nlohmann::ordered_json value_json(const std::optional<T>& from);
template <class T> nlohmann::ordered_json value_json(const std::vector<T>& from);
template <class... T> nlohmann::ordered_json value_json(const std::variant<T...>& from);
template <class T> nlohmann::ordered_json value_json(const T& from) {
  if constexpr (std::is_enum_v<T>)
    return to_text(from);
  else if constexpr (HasKeys<T>::value)
    return members_json(from);
  else
    return from;
}
template <class T> nlohmann::ordered_json value_json(const std::vector<T>& from) {
  nlohmann::ordered_json all = nlohmann::ordered_json::array();
  for (const T& one : from)
    all.push_back(value_json(one));
  return all;
}
template <class T> nlohmann::ordered_json members_json(const T& from) {
  nlohmann::ordered_json all = nlohmann::ordered_json::object();
  for_each_member(from, [&](const char* key, const auto& member) { all[key] = value_json(member); });
  return all;
}
template <class T> nlohmann::ordered_json value_json(const std::optional<T>& from) {
  return from ? value_json(*from) : nlohmann::ordered_json(nullptr);
}
/// Kind and values of whatever it holds.
template <class... T> nlohmann::ordered_json value_json(const std::variant<T...>& from) {
  return std::visit(
      [](const auto& one) {
        nlohmann::ordered_json all;
        all["kind"] = to_text(one.kind);
        for_each_member(one, [&](const char* key, const auto& member) { all[key] = value_json(member); });
        return all;
      },
      from);
}
/// The values alone.
template <class Variant> nlohmann::ordered_json values_of(const Variant& from) {
  return std::visit([](const auto& one) { return members_json(one); }, from);
}

} // namespace snagmap
