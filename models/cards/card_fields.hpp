// The properties of foam, cutter and machine cards, each listed once: reading, writing, printing, comparing
// and hashing cards go over these lists. A member of a card that is missing here does not compile.
#pragma once

#include "models/base/quantity.hpp"
#include "models/cards/cutter.hpp"
#include "models/cards/foam.hpp"
#include "models/cards/machine.hpp"

#include <tuple>
#include <type_traits>
#include <utility>

namespace snagmap {

/// What a property bears on. A second job takes over from the first what none of its changes bears on.
enum class Bears {
  words,   ///< only on what is said
  checks,  ///< only on what is worked out anew in every job
  judging, ///< on the spots
  motion,  ///< on feeds and times, and so on the spots
  record,  ///< on the foam that is left, and so on the spots
};

template <class Card, class Value> struct Field {
  const char* key;       ///< in scenes and card files; null: not written there, or not by this name alone
  const char* in_result; ///< in result.json; null: not there
  Value Card::*member;
  Bears bears;
  Dimension dimension = Dimension::share; ///< of a number or a band
  double low = 0, high = 0;               ///< values allowed, in the dimension's base unit
};

template <class Card> struct CardFields;

template <> struct CardFields<FoamCard> {
  template <class Value> using F = Field<FoamCard, Value>;
  using C = FoamCard;
  using D = Dimension;
  static constexpr auto kBand = Bears::judging;
  static constexpr auto list = std::make_tuple(
      F<std::string>{"name", "name", &C::name, Bears::judging},
      F<std::string>{"title", "title", &C::title, Bears::words},
      F<FoamKind>{"kind", nullptr, &C::kind, Bears::judging},
      F<bool>{"open_cell", "open_cell", &C::open_cell, Bears::judging},
      F<bool>{nullptr, nullptr, &C::special, Bears::words}, // only the catalogue has it
      F<double>{"density", "density_kg_m3", &C::density_kg_m3, Bears::judging, D::density, 5, 500},
      F<Banded>{"modulus", "E_kPa", &C::E_kPa, kBand, D::pressure, 1, 20000},
      F<Banded>{"poisson", "nu", &C::nu, kBand, D::share, 0, 0.49},
      F<Banded>{"tear_energy", "Gc_N_mm", &C::Gc_N_mm, kBand, D::line_force, 0.01, 20},
      F<Banded>{"tensile_strength", "tensile_kPa", &C::tensile_kPa, kBand, D::pressure, 1, 20000},
      F<Banded>{"bite_depth", "bite_depth_mm", &C::bite_depth_mm, kBand, D::length, 0.05, 10},
      F<Banded>{"pull_ratio", "lambda", &C::lambda, kBand, D::share, 0.0001, 10},
      F<Banded>{"cell", "cell_mm", &C::cell_mm, kBand, D::length, 0.01, 20},
      F<Banded>{"cut_force", "cut_force_N_mm", &C::cut_force_N_mm, kBand, D::line_force, 0.001, 50},
      F<Banded>{"severing_energy", "severing_MJ_m3", &C::severing_MJ_m3, kBand, D::energy_density, 0.001,
                100},
      F<Banded>{"loss_factor", "loss_factor", &C::loss_factor, kBand, D::share, 0, 2},
      F<std::vector<std::string>>{"history", nullptr, &C::history, Bears::words});
};

template <> struct CardFields<CutterCard> {
  template <class Value> using F = Field<CutterCard, Value>;
  using C = CutterCard;
  using D = Dimension;
  static constexpr auto kBody = Bears::record;
  static constexpr auto list = std::make_tuple(
      F<std::string>{"name", "name", &C::name, Bears::checks},
      F<std::string>{nullptr, nullptr, &C::title, Bears::words},
      F<std::string>{nullptr, "source", &C::source, Bears::words}, F<TipShape>{"tip", "tip", &C::tip, kBody},
      F<double>{"diameter", "diameter_mm", &C::diameter_mm, kBody, D::length, 0.2, 80},
      F<double>{"corner_radius", "corner_radius_mm", &C::corner_radius_mm, kBody, D::length, 0, 400},
      F<double>{"taper", "taper_deg", &C::taper_deg, kBody, D::angle, 0.5, 80},
      F<double>{"tip_diameter", nullptr, &C::tip_diameter_mm, kBody, D::length, 0, 400},
      F<double>{"flute_length", "flute_length_mm", &C::flute_length_mm, kBody, D::length, 0.2, 300},
      F<double>{"neck_diameter", "neck_diameter_mm", &C::neck_diameter_mm, kBody, D::length, 0.2, 80},
      F<double>{"neck_length", "neck_length_mm", &C::neck_length_mm, kBody, D::length, 0, 400},
      F<double>{"shank_diameter", "shank_diameter_mm", &C::shank_diameter_mm, kBody, D::length, 0.2, 80},
      F<double>{"stick_out", "stick_out_mm", &C::stick_out_mm, kBody, D::length, 1, 400},
      F<double>{"nut_diameter", nullptr, &C::nut_diameter_mm, kBody, D::length, 0.2, 80},
      F<double>{"nut_length", nullptr, &C::nut_length_mm, kBody, D::length, 0, 400},
      F<double>{"holder_diameter", nullptr, &C::holder_diameter_mm, kBody, D::length, 1, 300},
      F<double>{"holder_length", nullptr, &C::holder_length_mm, kBody, D::length, 0, 400},
      F<int>{"flutes", "flutes", &C::flutes, Bears::judging, D::share, 1, 12},
      F<double>{"helix", "helix_deg", &C::helix_deg, Bears::checks, D::angle, -60, 60},
      F<double>{"rake", "rake_deg", &C::rake_deg, Bears::checks, D::angle, -30, 60},
      F<double>{"least_chip", "least_chip_mm", &C::least_chip_mm, Bears::checks, D::length, 0, 2},
      F<std::vector<ProfilePiece>>{"profile", nullptr, &C::own_profile, kBody, D::length, 0, 400});
};

template <> struct CardFields<MachineCard> {
  using C = MachineCard;
  using D = Dimension;
  template <class Value> using F = Field<MachineCard, Value>;
  using Axes = std::array<double, 3>;
  static constexpr auto list = std::make_tuple(
      F<std::string>{"name", "name", &C::name, Bears::words},
      F<std::string>{nullptr, nullptr, &C::title, Bears::words},
      F<std::string>{nullptr, "source", &C::source, Bears::words},
      F<Axes>{"feed", "feed_mm_min", &C::feed_mm_min, Bears::motion, D::speed, 1, 200000},
      F<Axes>{"rapid", "rapid_mm_min", &C::rapid_mm_min, Bears::motion, D::speed, 1, 200000},
      F<Axes>{"acceleration", "acceleration_mm_s2", &C::acceleration_mm_s2, Bears::motion, D::acceleration, 1,
              50000},
      F<Axes>{"jerk", "jerk_mm_s3", &C::jerk_mm_s3, Bears::motion, D::jerk, 0, 1e8},
      F<double>{"corner_deviation", "corner_deviation_mm", &C::corner_deviation_mm, Bears::motion, D::length,
                0.0001, 2},
      F<double>{"spindle_run_up", "spindle_run_up_s", &C::spindle_run_up_s, Bears::motion, D::time, 0, 600},
      F<double>{"tool_change", "tool_change_s", &C::tool_change_s, Bears::motion, D::time, 0, 3600},
      // Scenes give both as spindle = [least, most].
      F<double>{nullptr, "spindle_min_rpm", &C::spindle_min_rpm, Bears::checks, D::rotation, 0, 100000},
      F<double>{nullptr, "spindle_max_rpm", &C::spindle_max_rpm, Bears::checks, D::rotation, 0, 100000});
};

/// Calls `f` with every field of the card's type, in the order of result.json.
template <class Card, class F> void for_each_field(F f) {
  std::apply([&](const auto&... field) { (f(field), ...); }, CardFields<Card>::list);
}

/// Calls `f(field, member)` with every field of type `Value`.
template <class Value, class Card, class F> void for_each_value(Card& card, F f) {
  for_each_field<std::remove_const_t<Card>>([&](const auto& field) {
    if constexpr (std::is_same_v<std::decay_t<decltype(card.*field.member)>, Value>)
      f(field, card.*field.member);
  });
}

/// Everything a piece of a profile is.
inline auto parts_of(const ProfilePiece& p) {
  return std::tie(p.r0_mm, p.z0_mm, p.r1_mm, p.z1_mm, p.arc, p.centre_r_mm, p.centre_z_mm, p.zone);
}

namespace card_fields_detail {

struct Anything {
  template <class T> constexpr operator T() const;
};
template <class T, class = void, class... Values> struct Takes : std::false_type {};
template <class T, class... Values>
struct Takes<T, std::void_t<decltype(T{std::declval<Values>()...})>, Values...> : std::true_type {};
/// Members of an aggregate: the most values that its braces take.
template <class T, class... Values> constexpr std::size_t members_of() {
  if constexpr (Takes<T, void, Values..., Anything>::value)
    return members_of<T, Values..., Anything>();
  else
    return sizeof...(Values);
}
template <class Card> constexpr bool lists_every_member() {
  return std::tuple_size_v<decltype(CardFields<Card>::list)> == members_of<Card>();
}

static_assert(lists_every_member<FoamCard>(), "a property of foam is not in its field list");
static_assert(lists_every_member<CutterCard>(), "a property of cutters is not in their field list");
static_assert(lists_every_member<MachineCard>(), "a property of machines is not in their field list");
static_assert(std::tuple_size_v<decltype(parts_of(std::declval<ProfilePiece>()))> ==
                  members_of<ProfilePiece>(),
              "a property of profile pieces is not among their parts");

} // namespace card_fields_detail
} // namespace snagmap
