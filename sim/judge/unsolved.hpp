// Why a spot is not solved by finite elements, as data. Sentences are made of it in viz/words.
#pragma once

#include "sim/text/members.hpp"

#include <array>
#include <utility>
#include <variant>

namespace snagmap {

enum class UnsolvedKind {
  no_contact,
  web_gone,
  no_web,
  under_a_voxel,
  no_modulus,
  face_elsewhere,
  too_large,
  left_out,
  loose,
  not_settled,
  no_modes,
  spindle_stands,
};
/// As files have it: "under-a-voxel".
const char* to_text(UnsolvedKind kind);

namespace unsolved {

/// No wall in reach of the flutes.
struct NoContact {
  static constexpr auto kind = UnsolvedKind::no_contact;
};
struct WebGone {
  static constexpr auto kind = UnsolvedKind::web_gone;
};
struct NoWeb {
  double over_mm; ///< thicker than this
  static constexpr auto kind = UnsolvedKind::no_web;
  static constexpr std::array keys{"over_mm"};
};
struct UnderAVoxel {
  double w_mm, voxel_mm;
  static constexpr auto kind = UnsolvedKind::under_a_voxel;
  static constexpr std::array keys{"w_mm", "voxel_mm"};
};
struct NoModulus {
  static constexpr auto kind = UnsolvedKind::no_modulus;
};
struct FaceElsewhere {
  static constexpr auto kind = UnsolvedKind::face_elsewhere;
};
struct TooLarge {
  double unknowns, most;
  static constexpr auto kind = UnsolvedKind::too_large;
  static constexpr std::array keys{"unknowns", "most"};
};
/// The spots before it used up the limit.
struct LeftOut {
  double most; ///< unknowns times right-hand sides of all spots
  static constexpr auto kind = UnsolvedKind::left_out;
  static constexpr std::array keys{"most"};
};
/// Foam under the flutes that nothing holds.
struct Loose {
  static constexpr auto kind = UnsolvedKind::loose;
};
struct NotSettled {
  double residual;
  static constexpr auto kind = UnsolvedKind::not_settled;
  static constexpr std::array keys{"residual"};
};
/// Solved, but nothing of it swings, or its modes did not settle.
struct NoModes {
  static constexpr auto kind = UnsolvedKind::no_modes;
};
/// No tooth passes the web: the spindle stands or the move has no feed there.
struct SpindleStands {
  static constexpr auto kind = UnsolvedKind::spindle_stands;
};

} // namespace unsolved
using Unsolved =
    std::variant<unsolved::NoContact, unsolved::WebGone, unsolved::NoWeb, unsolved::UnderAVoxel,
                 unsolved::NoModulus, unsolved::FaceElsewhere, unsolved::TooLarge, unsolved::LeftOut,
                 unsolved::Loose, unsolved::NotSettled, unsolved::NoModes, unsolved::SpindleStands>;

/// Its kind, as files have it.
inline const char* kind_text(const Unsolved& why) {
  return std::visit([](const auto& one) { return to_text(one.kind); }, why);
}

/// A value, or why there is none. Whoever takes the value must have asked: std::bad_variant_access otherwise.
template <class T> class [[nodiscard]] OrUnsolved {
public:
  OrUnsolved(T value) : state_(std::in_place_index<0>, std::move(value)) {}
  OrUnsolved(Unsolved why) : state_(std::in_place_index<1>, std::move(why)) {}
  explicit operator bool() const { return state_.index() == 0; }
  const T& operator*() const { return std::get<0>(state_); }
  T& operator*() { return std::get<0>(state_); }
  const T* operator->() const { return &std::get<0>(state_); }
  T* operator->() { return &std::get<0>(state_); }
  const Unsolved& why_not() const { return std::get<1>(state_); }

private:
  std::variant<T, Unsolved> state_;
};

} // namespace snagmap
