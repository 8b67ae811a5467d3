// What advice says, as data: the levers, what changes with them, and why one was not tried. Sentences are
// made of them in viz/words.
#pragma once

#include "models/base/vec.hpp"
#include "models/mechanics/wall_side.hpp"
#include "sim/text/members.hpp"

#include <array>
#include <cstdint>
#include <string>
#include <variant>
#include <vector>

namespace snagmap {

enum class LeverKind {
  cutter,
  pass_depth,
  order,
  light_finish,
  climb,
  wider_web,
  foam,
  feed,
  lift,
  holes,
  cross_cuts,
  walls_first,
  tape,
  skin,
  tabs,
  helix,
};
/// As files have it: "pass-depth".
const char* to_text(LeverKind kind);

namespace lever {

enum class Differs { flute_length, helix, flutes, neck, tip };
const char* to_text(Differs by);

struct Cutter {
  std::string name; ///< in the drawer, of the same diameter
  Differs by;
  double value, instead_of; ///< mm, degrees or a count
  static constexpr auto kind = LeverKind::cutter;
  static constexpr std::array keys{"name", "differs_by", "value", "instead_of"};
};
struct PassDepth {
  double pass_mm, now_mm;
  static constexpr auto kind = LeverKind::pass_depth;
  static constexpr std::array keys{"pass_mm", "now_mm"};
};
struct Order {
  int web;
  std::int32_t line, pocket_line; ///< of its wall, and of the pocket behind it
  static constexpr auto kind = LeverKind::order;
  static constexpr std::array keys{"web", "line", "pocket_line"};
};
struct LightFinish {
  static constexpr auto kind = LeverKind::light_finish;
};
struct Climb {
  bool climb_now; ///< at the worst web
  WallSides sides;
  static constexpr auto kind = LeverKind::climb;
  static constexpr std::array keys{"climb_now", "wall_sides"};
};
struct WiderWeb {
  int web;
  Vec3 place_mm;
  double w_mm, now_mm, whole_band_mm; ///< the last clears the whole band; 0: no width does
  static constexpr std::array keys{"web", "place_mm", "w_mm", "now_mm", "whole_band_mm"};
};
struct WiderWebs {
  std::vector<WiderWeb> webs;
  std::size_t more;
  static constexpr auto kind = LeverKind::wider_web;
  static constexpr std::array keys{"webs", "more"};
};
struct Foam {
  std::string name, title;
  static constexpr auto kind = LeverKind::foam;
  static constexpr std::array keys{"name", "title"};
};
struct Feed {
  double factor;
  static constexpr auto kind = LeverKind::feed;
  static constexpr std::array keys{"factor"};
};
struct Lift {
  std::size_t times, runs;
  std::int32_t first_line;
  static constexpr auto kind = LeverKind::lift;
  static constexpr std::array keys{"times", "runs", "first_line"};
};
struct Holes {
  std::size_t holes;
  std::int32_t first_line;
  static constexpr auto kind = LeverKind::holes;
  static constexpr std::array keys{"holes", "first_line"};
};
struct CrossCuts {
  static constexpr auto kind = LeverKind::cross_cuts;
};
struct WallsFirst {
  static constexpr auto kind = LeverKind::walls_first;
};
struct Tape {
  bool for_vacuum;
  double share_now; ///< of the sheet that is taped
  static constexpr auto kind = LeverKind::tape;
  static constexpr std::array keys{"for_vacuum", "share_now"};
};
struct Skin {
  double thick_mm;
  static constexpr auto kind = LeverKind::skin;
  static constexpr std::array keys{"thick_mm"};
};
struct Tabs {
  int tabs;
  double wide_mm, high_mm;
  static constexpr auto kind = LeverKind::tabs;
  static constexpr std::array keys{"tabs", "wide_mm", "high_mm"};
};
struct Helix {
  static constexpr auto kind = LeverKind::helix;
};

} // namespace lever
using Lever =
    std::variant<lever::Cutter, lever::PassDepth, lever::Order, lever::LightFinish, lever::Climb,
                 lever::WiderWebs, lever::Foam, lever::Feed, lever::Lift, lever::Holes, lever::CrossCuts,
                 lever::WallsFirst, lever::Tape, lever::Skin, lever::Tabs, lever::Helix>;
LeverKind kind_of(const Lever& lever);

/// What is better or worse with a lever.
enum class ChangeKind {
  webs_snag,
  webs_no_longer,
  webs_anew,
  webs_harder,
  worst_s,
  stopping_findings,
  rubs,
  hold,
  long_strands,
  longest_run,
  lean,
  chip,
  over_cut,
  program_time,
  program_made_anew,
  program_not_written,
};
const char* to_text(ChangeKind kind);

namespace change {

struct WebsSnag {
  int before, after;
  std::size_t no_longer; ///< 0: not told
  static constexpr auto kind = ChangeKind::webs_snag;
  static constexpr std::array keys{"before", "after", "no_longer"};
};
struct WebsNoLonger {
  std::size_t webs;
  int of;
  std::vector<Vec3> places_mm; ///< the first few
  static constexpr auto kind = ChangeKind::webs_no_longer;
  static constexpr std::array keys{"webs", "of", "places_mm"};
};
struct WebsAnew {
  std::size_t webs;
  bool fewer; ///< snag in all, than before
  int before, after;
  std::vector<Vec3> places_mm;
  static constexpr auto kind = ChangeKind::webs_anew;
  static constexpr std::array keys{"webs", "fewer", "before", "after", "places_mm"};
};
struct WebsHarder {
  std::size_t webs;
  Vec3 place_mm; ///< of the worst
  double s_before, s_after;
  static constexpr auto kind = ChangeKind::webs_harder;
  static constexpr std::array keys{"webs", "place_mm", "s_before", "s_after"};
};
struct WorstS {
  double before, after;
  static constexpr auto kind = ChangeKind::worst_s;
  static constexpr std::array keys{"before", "after"};
};
template <ChangeKind Kind> struct Count {
  int before, after;
  static constexpr ChangeKind kind = Kind;
  static constexpr std::array keys{"before", "after"};
};
using StoppingFindings = Count<ChangeKind::stopping_findings>;
using Rubs = Count<ChangeKind::rubs>;
using LongStrands = Count<ChangeKind::long_strands>;
struct Hold {
  double before, before_low, before_high, after, after_low, after_high;
  static constexpr auto kind = ChangeKind::hold;
  static constexpr std::array keys{"before", "before_low", "before_high", "after", "after_low", "after_high"};
};
template <ChangeKind Kind> struct Length {
  double before_mm, after_mm;
  static constexpr ChangeKind kind = Kind;
  static constexpr std::array keys{"before_mm", "after_mm"};
};
using LongestRun = Length<ChangeKind::longest_run>;
using Lean = Length<ChangeKind::lean>;
using Chip = Length<ChangeKind::chip>;
using OverCut = Length<ChangeKind::over_cut>;
struct ProgramTime {
  double before_s, after_s;
  static constexpr auto kind = ChangeKind::program_time;
  static constexpr std::array keys{"before_s", "after_s"};
};
struct ProgramMadeAnew {
  static constexpr auto kind = ChangeKind::program_made_anew;
};
struct ProgramNotWritten {
  std::string fault;
  static constexpr auto kind = ChangeKind::program_not_written;
  static constexpr std::array keys{"fault"};
};

} // namespace change
using Change =
    std::variant<change::WebsSnag, change::WebsNoLonger, change::WebsAnew, change::WebsHarder, change::WorstS,
                 change::StoppingFindings, change::Rubs, change::Hold, change::LongStrands,
                 change::LongestRun, change::Lean, change::Chip, change::OverCut, change::ProgramTime,
                 change::ProgramMadeAnew, change::ProgramNotWritten>;

/// Why a lever was not tried.
enum class UntriedKind {
  drawer_empty,
  other_diameter,
  no_second_loop,
  no_closed_loop,
  no_width_holds,
  no_firmer_foam,
  stop_changes_nothing,
  no_run_beside,
  no_wall_after_loops,
  whole_sheet_taped,
  no_such_path,
  program_not_written,
  preview_failed,
};
const char* to_text(UntriedKind kind);

namespace untried {

struct DrawerEmpty {
  static constexpr auto kind = UntriedKind::drawer_empty;
};
struct OtherDiameter {
  std::string cutter;
  double diameter_mm, now_mm;
  static constexpr auto kind = UntriedKind::other_diameter;
  static constexpr std::array keys{"cutter", "diameter_mm", "now_mm"};
};
struct NoSecondLoop {
  static constexpr auto kind = UntriedKind::no_second_loop;
};
struct NoClosedLoop {
  static constexpr auto kind = UntriedKind::no_closed_loop;
};
struct NoWidthHolds {
  double up_to_times;
  static constexpr auto kind = UntriedKind::no_width_holds;
  static constexpr std::array keys{"up_to_times"};
};
struct NoFirmerFoam {
  static constexpr auto kind = UntriedKind::no_firmer_foam;
};
struct StopChangesNothing {
  std::int32_t line;
  static constexpr auto kind = UntriedKind::stop_changes_nothing;
  static constexpr std::array keys{"line"};
};
struct NoRunBeside {
  static constexpr auto kind = UntriedKind::no_run_beside;
};
struct NoWallAfterLoops {
  static constexpr auto kind = UntriedKind::no_wall_after_loops;
};
struct WholeSheetTaped {
  static constexpr auto kind = UntriedKind::whole_sheet_taped;
};
struct NoSuchPath {
  Lever lever;
  static constexpr auto kind = UntriedKind::no_such_path;
  static constexpr std::array keys{"lever"};
};
struct ProgramNotWritten {
  Lever lever;
  std::string fault;
  static constexpr auto kind = UntriedKind::program_not_written;
  static constexpr std::array keys{"lever", "fault"};
};
struct PreviewFailed {
  Lever lever;
  std::string fault;
  static constexpr auto kind = UntriedKind::preview_failed;
  static constexpr std::array keys{"lever", "fault"};
};

} // namespace untried
using Untried =
    std::variant<untried::DrawerEmpty, untried::OtherDiameter, untried::NoSecondLoop, untried::NoClosedLoop,
                 untried::NoWidthHolds, untried::NoFirmerFoam, untried::StopChangesNothing,
                 untried::NoRunBeside, untried::NoWallAfterLoops, untried::WholeSheetTaped,
                 untried::NoSuchPath, untried::ProgramNotWritten, untried::PreviewFailed>;

} // namespace snagmap
