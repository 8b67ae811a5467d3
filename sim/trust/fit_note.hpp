// What a user should know of a fit: which readings contradict, and what bounds what. Sentences are made in
// viz/words.
#pragma once

#include "models/mechanics/lambda_fit.hpp"
#include "sim/text/members.hpp"

#include <array>
#include <string>
#include <variant>

namespace snagmap {

/// A wall of the piece as it was read. Number 0: it has none, and the line names it.
struct WallSaid {
  int number, line;
  double w_mm, h_mm;
  std::string cutter;
  WallOutcome outcome;
  static constexpr std::array keys{"number", "line", "w_mm", "h_mm", "cutter", "outcome"};
};
/// Walls cut alike.
struct WallGroup {
  double h_mm;
  std::string cutter;
  double lambda; ///< the end of its band that the other group contradicts
  static constexpr std::array keys{"h_mm", "cutter", "lambda"};
};

namespace fit_note {

struct CameOutOtherwise {
  double times; ///< as thick as planned
  static constexpr const char* kind = "came_out_otherwise";
  static constexpr std::array keys{"times"};
};
struct OrderReversed {
  double share; ///< of the pairs of a wall that held and one that went
  static constexpr const char* kind = "order_reversed";
  static constexpr std::array keys{"share"};
};
struct UnlikelyWall {
  WallSaid wall;
  static constexpr const char* kind = "unlikely_wall";
  static constexpr std::array keys{"wall"};
};
struct Scatter {
  double share; ///< standard deviation of ln S
  static constexpr const char* kind = "scatter";
  static constexpr std::array keys{"share"};
};
struct GroupsContradict {
  WallGroup under, over;
  static constexpr const char* kind = "groups_contradict";
  static constexpr std::array keys{"under", "over"};
};
struct EveryWallHeld {
  double lambda_under;
  static constexpr const char* kind = "every_wall_held";
  static constexpr std::array keys{"lambda_under"};
};
struct NoWallHeld {
  double lambda_over;
  static constexpr const char* kind = "no_wall_held";
  static constexpr std::array keys{"lambda_over"};
};
struct CuttersExchanged {
  double times; ///< likelier
  std::string one, other;
  static constexpr const char* kind = "cutters_exchanged";
  static constexpr std::array keys{"times", "one", "other"};
};
struct HeldYetThin {
  WallSaid wall;
  double measured_mm;
  static constexpr const char* kind = "held_yet_thin";
  static constexpr std::array keys{"wall", "measured_mm"};
};
struct LeansFar {
  WallSaid wall;
  static constexpr const char* kind = "leans_far";
  static constexpr std::array keys{"wall"};
};
struct LeftEmpty {
  int walls;
  static constexpr const char* kind = "left_empty";
  static constexpr std::array keys{"walls"};
};

} // namespace fit_note
using FitNote =
    std::variant<fit_note::CameOutOtherwise, fit_note::OrderReversed, fit_note::UnlikelyWall,
                 fit_note::Scatter, fit_note::GroupsContradict, fit_note::EveryWallHeld, fit_note::NoWallHeld,
                 fit_note::CuttersExchanged, fit_note::HeldYetThin, fit_note::LeansFar, fit_note::LeftEmpty>;

} // namespace snagmap
