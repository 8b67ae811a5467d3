// Plain structs as named values. A struct that goes into files names its members in their order:
//   struct CutIntoTable {
//     double below_mm;
//     static constexpr std::array keys{"below_mm"};
//   };
// A member without a key, or a key without a member, does not compile.
#pragma once

#include <array>
#include <cstddef>
#include <tuple>
#include <type_traits>

namespace snagmap {

template <class T, class = void> struct HasKeys : std::false_type {};
template <class T> struct HasKeys<T, std::void_t<decltype(T::keys)>> : std::true_type {};

/// References to the members, in the order of the keys; none of a struct without members.
template <class T> auto members_of(T& value) {
  using Plain = std::remove_const_t<T>;
  if constexpr (std::is_empty_v<Plain>) {
    return std::tie();
  } else {
    constexpr std::size_t n = std::tuple_size_v<std::remove_const_t<decltype(Plain::keys)>>;
    static_assert(n <= 12, "no struct of so many members is known here");
    if constexpr (n == 1) {
      auto& [a] = value;
      return std::tie(a);
    } else if constexpr (n == 2) {
      auto& [a, b] = value;
      return std::tie(a, b);
    } else if constexpr (n == 3) {
      auto& [a, b, c] = value;
      return std::tie(a, b, c);
    } else if constexpr (n == 4) {
      auto& [a, b, c, d] = value;
      return std::tie(a, b, c, d);
    } else if constexpr (n == 5) {
      auto& [a, b, c, d, e] = value;
      return std::tie(a, b, c, d, e);
    } else if constexpr (n == 6) {
      auto& [a, b, c, d, e, f] = value;
      return std::tie(a, b, c, d, e, f);
    } else if constexpr (n == 7) {
      auto& [a, b, c, d, e, f, g] = value;
      return std::tie(a, b, c, d, e, f, g);
    } else if constexpr (n == 8) {
      auto& [a, b, c, d, e, f, g, h] = value;
      return std::tie(a, b, c, d, e, f, g, h);
    } else if constexpr (n == 9) {
      auto& [a, b, c, d, e, f, g, h, i] = value;
      return std::tie(a, b, c, d, e, f, g, h, i);
    } else if constexpr (n == 10) {
      auto& [a, b, c, d, e, f, g, h, i, j] = value;
      return std::tie(a, b, c, d, e, f, g, h, i, j);
    } else if constexpr (n == 11) {
      auto& [a, b, c, d, e, f, g, h, i, j, k] = value;
      return std::tie(a, b, c, d, e, f, g, h, i, j, k);
    } else {
      auto& [a, b, c, d, e, f, g, h, i, j, k, l] = value;
      return std::tie(a, b, c, d, e, f, g, h, i, j, k, l);
    }
  }
}

/// Calls `f(key, member)` for each member.
template <class T, class F> void for_each_member(T& value, F f) {
  if constexpr (!std::is_empty_v<std::remove_const_t<T>>) {
    std::size_t n = 0;
    std::apply([&](auto&... member) { (f(std::remove_const_t<T>::keys[n++], member), ...); },
               members_of(value));
  }
}

} // namespace snagmap
