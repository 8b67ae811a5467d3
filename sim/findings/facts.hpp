// What a finding says, as data: one struct for each kind, its values with their units. Sentences are made of
// them in viz/words.
#pragma once

#include "models/base/vec.hpp"
#include "models/cards/banded.hpp"
#include "models/cards/collet.hpp"
#include "models/cards/cutter.hpp"
#include "models/mechanics/hold_down.hpp"
#include "sim/findings/finding_kind.hpp"
#include "sim/scene/scene.hpp"
#include "sim/text/members.hpp"

#include <array>
#include <cstdint>
#include <string>
#include <variant>
#include <vector>

namespace snagmap {

namespace fact {

/// A body of the cutter in foam, over a stretch of the program.
template <FindingKind Kind> struct BodyInFoam {
  double depth_mm; ///< at worst
  std::int32_t first_line, last_line;
  static constexpr FindingKind kind = Kind;
  static constexpr std::array keys{"depth_mm", "first_line", "last_line"};
};
using HolderInFoam = BodyInFoam<FindingKind::holder_in_foam>;
using NutInFoam = BodyInFoam<FindingKind::nut_in_foam>;
using NeckRubs = BodyInFoam<FindingKind::neck_rubs>;
using ShankRubs = BodyInFoam<FindingKind::shank_rubs>;

struct RapidInFoam {
  Zone body; ///< of flutes, neck and shank, the one that meets foam
  double depth_mm;
  std::int32_t first_line, last_line;
  static constexpr auto kind = FindingKind::rapid_in_foam;
  static constexpr std::array keys{"body", "depth_mm", "first_line", "last_line"};
};

struct CutIntoTable {
  double below_mm; ///< the sheet's underside
  static constexpr auto kind = FindingKind::cut_into_table;
  static constexpr std::array keys{"below_mm"};
};

struct ThinFoam {
  std::size_t places, left_standing;
  double w_mm, h_mm; ///< here
  static constexpr auto kind = FindingKind::thin_foam;
  static constexpr std::array keys{"places", "left_standing", "w_mm", "h_mm"};
};

/// The series is not known, so `nearest` is another one, or it has no such bore.
struct ColletUnknown {
  std::string cutter, series;
  double bore_mm;
  std::string nearest;
  double largest_mm; ///< bore of the nearest series
  static constexpr auto kind = FindingKind::collet_unknown;
  static constexpr std::array keys{"cutter", "series", "bore_mm", "nearest", "largest_mm"};
};
template <FindingKind Kind> struct ShankInCollet {
  std::string cutter;
  double shank_mm, bore_mm;
  Fit fit;
  double closes_mm, range_mm; ///< what it would have to close, and can
  static constexpr FindingKind kind = Kind;
  static constexpr std::array keys{"cutter", "shank_mm", "bore_mm", "fit", "closes_mm", "range_mm"};
};
using ColletRefused = ShankInCollet<FindingKind::collet_refused>;
using ColletCloses = ShankInCollet<FindingKind::collet_closes>;
struct ColletNotGiven {
  static constexpr auto kind = FindingKind::collet_not_given;
};
struct ClampShort {
  std::string cutter;
  Hold hold;
  double clamped_mm, collet_mm;
  static constexpr auto kind = FindingKind::clamp_short;
  static constexpr std::array keys{"cutter", "hold", "clamped_mm", "collet_mm"};
};
struct ReachShort {
  std::string cutter;
  double stick_out_mm, depth_mm, below_mm; ///< the last: collet face under the sheet's top
  static constexpr auto kind = FindingKind::reach_short;
  static constexpr std::array keys{"cutter", "stick_out_mm", "depth_mm", "below_mm"};
};
struct WallAboveFlutes {
  std::string cutter;
  double above_mm, relief_mm; ///< wall over the flutes; gap beside the neck
  static constexpr auto kind = FindingKind::wall_above_flutes;
  static constexpr std::array keys{"cutter", "above_mm", "relief_mm"};
};
struct ShankBesideWall {
  std::string cutter;
  double above_mm;
  static constexpr auto kind = FindingKind::shank_beside_wall;
  static constexpr std::array keys{"cutter", "above_mm"};
};
struct NeckRub {
  std::string cutter;
  std::size_t webs;
  double lean_mm, relief_mm; ///< largest lean, 0: drawn in, so of no size; gap beside the neck
  static constexpr auto kind = FindingKind::neck_rub;
  static constexpr std::array keys{"cutter", "webs", "lean_mm", "relief_mm"};
};
template <FindingKind Kind> struct Whirls {
  std::string cutter;
  double rpm, critical_rpm, stick_out_mm;
  static constexpr FindingKind kind = Kind;
  static constexpr std::array keys{"cutter", "rpm", "critical_rpm", "stick_out_mm"};
};
using WhirlRefused = Whirls<FindingKind::whirl_refused>;
using WhirlNear = Whirls<FindingKind::whirl_near>;

struct HoldDownNotGiven {
  static constexpr auto kind = FindingKind::hold_down_not_given;
};
struct ClampingPressure {
  double nominal_kPa, low_kPa, high_kPa; ///< nominal 0: next to nothing
  std::string source;
  static constexpr auto kind = FindingKind::clamping_pressure;
  static constexpr std::array keys{"nominal_kPa", "low_kPa", "high_kPa", "source"};
};
struct SealLost {
  std::int32_t line;
  static constexpr auto kind = FindingKind::seal_lost;
  static constexpr std::array keys{"line"};
};
/// What pulls and what resists at one moment.
template <FindingKind Kind> struct Holds {
  HoldDownKind by;
  std::int32_t piece_line;   ///< where the loose piece was freed; 0: the sheet
  double held_mm2;           ///< of the piece on the table
  double nominal, low, high; ///< times the pull
  bool snag, expected;       ///< of a snag; foreseen by the nominal S
  double lateral_N, lift_N;
  Give give;
  double edge_away_mm; ///< from the cutter to the nearest free edge
  static constexpr FindingKind kind = Kind;
  static constexpr std::array keys{"by",   "piece_line", "held_mm2",  "factor", "factor_low", "factor_high",
                                   "snag", "expected",   "lateral_N", "lift_N", "gives",      "edge_away_mm"};
};
using WeakHold = Holds<FindingKind::weak_hold>;
using HoldDown = Holds<FindingKind::hold_down>;

template <FindingKind Kind> struct Piece {
  Vec3 size_mm;
  double volume_mm3, base_mm2, height_mm; ///< base: on the table
  double beside_s;                        ///< the cutter is beside it, it being free
  std::int32_t next_cut_line, gone_line;  ///< 0: never
  static constexpr FindingKind kind = Kind;
  static constexpr std::array keys{"size_mm",  "volume_mm3",    "base_mm2", "height_mm",
                                   "beside_s", "next_cut_line", "gone_line"};
};
using LoosePiece = Piece<FindingKind::loose_piece>;
using PieceOnSkin = Piece<FindingKind::piece_on_skin>;
struct FloorCutThrough {
  double area_mm2;
  static constexpr auto kind = FindingKind::floor_cut_through;
  static constexpr std::array keys{"area_mm2"};
};
struct SkinLeft {
  double least_mm, area_mm2;
  static constexpr auto kind = FindingKind::skin_left;
  static constexpr std::array keys{"least_mm", "area_mm2"};
};
struct Crumbs {
  std::size_t count;
  double each_under_mm3, together_mm3;
  static constexpr auto kind = FindingKind::crumbs;
  static constexpr std::array keys{"count", "each_under_mm3", "together_mm3"};
};

struct Strand {
  double length_mm; ///< of cut without a break
  bool slot;
  std::int32_t to_line;
  double mass_g, turns_round_cutter;
  double strip_mm;                      ///< if nothing severs it; 0: not known
  double volume_mm3, neck_room_mm3;     ///< room 0: no neck
  std::vector<std::int32_t> also_lines; ///< the same way again from there
  static constexpr auto kind = FindingKind::strand;
  static constexpr std::array keys{"length_mm",          "slot",     "to_line",    "mass_g",
                                   "turns_round_cutter", "strip_mm", "volume_mm3", "neck_room_mm3",
                                   "also_lines"};
};

/// Neighbouring lines that share a fault.
struct Lines {
  std::int32_t from_line, to_line;
  double length_mm, spent_s;
  static constexpr std::array keys{"from_line", "to_line", "length_mm", "spent_s"};
};
struct FeedOverAxes {
  double programmed_mm_min, allowed_mm_min; ///< where the excess is greatest
  double over_mm;
  std::size_t places;
  double share; ///< of the feed path
  static constexpr auto kind = FindingKind::feed_over_axes;
  static constexpr std::array keys{"programmed_mm_min", "allowed_mm_min", "over_mm", "places", "share"};
};
struct FeedNotReached {
  double share;                          ///< of the feed path, under nine tenths of its feed word
  double real_mm_min, programmed_mm_min; ///< means
  std::vector<Lines> longest;
  static constexpr auto kind = FindingKind::feed_not_reached;
  static constexpr std::array keys{"share", "real_mm_min", "programmed_mm_min", "longest"};
};
struct ThinChips {
  std::string cutter;
  double least_mm; ///< a tooth
  double share;    ///< of the cutter's path in foam
  double thin_s;
  std::vector<Lines> longest;
  static constexpr auto kind = FindingKind::thin_chips;
  static constexpr std::array keys{"cutter", "least_mm", "share", "thin_s", "longest"};
};
struct SpindleRange {
  double rpm, least_rpm, most_rpm;
  static constexpr auto kind = FindingKind::spindle_range;
  static constexpr std::array keys{"rpm", "least_rpm", "most_rpm"};
};
struct SpindleStands {
  double foam_mm3;    ///< that the standing cutter is pushed through
  bool never_started; ///< the program has no M3 or M4 with a speed: the switch may be by hand
  static constexpr auto kind = FindingKind::spindle_stands;
  static constexpr std::array keys{"foam_mm3", "never_started"};
};

struct WallUnknown {
  std::size_t places;
  static constexpr auto kind = FindingKind::wall_unknown;
  static constexpr std::array keys{"places"};
};
struct WallError {
  int web;
  double floor_mm, floor_low_mm, floor_high_mm, top_mm; ///< + the pocket is wider than drawn
  double tolerance_mm;
  static constexpr auto kind = FindingKind::wall_error;
  static constexpr std::array keys{"web",           "floor_mm", "floor_low_mm",
                                   "floor_high_mm", "top_mm",   "tolerance_mm"};
};
struct ThicknessNotRun {
  enum class Why { solid, too_wide, not_cut } why;
  double spread_mm, thickness_mm;
  std::string fault; ///< of the cut, for `not_cut`
  static constexpr auto kind = FindingKind::thickness_not_run;
  static constexpr std::array keys{"why", "spread_mm", "thickness_mm", "fault"};
};
const char* to_text(ThicknessNotRun::Why why);
enum class Sheet { least, nominal, most };
const char* to_text(Sheet sheet);
struct SheetCase {
  Sheet sheet;
  double thickness_mm, least_floor_mm, deepest_mm, through_mm2;
  static constexpr std::array keys{"sheet", "thickness_mm", "least_floor_mm", "deepest_mm", "through_mm2"};
};
struct ThicknessSpread {
  bool zero_on_table;
  std::vector<SheetCase> cases; ///< least, nominal, most
  static constexpr auto kind = FindingKind::thickness_spread;
  static constexpr std::array keys{"zero_on_table", "cases"};
};
struct ThinSheetCutThrough {
  double more_mm2; ///< than in the nominal one
  static constexpr auto kind = FindingKind::thin_sheet_cut_through;
  static constexpr std::array keys{"more_mm2"};
};
enum class AtSeam { floor, step, flute_end };
const char* to_text(AtSeam what);
struct NearSeam {
  AtSeam what;
  double at_z_mm, seam_z_mm, within_mm, area_mm2; ///< area 0: no floor
  static constexpr auto kind = FindingKind::near_seam;
  static constexpr std::array keys{"what", "at_z_mm", "seam_z_mm", "within_mm", "area_mm2"};
};
struct Puller {
  std::string cutter;
  bool in_use; ///< false: from the drawer
  int passes;
  static constexpr std::array keys{"cutter", "in_use", "passes"};
};
struct TopEdgeRank {
  std::vector<Puller> hardest_first;
  static constexpr auto kind = FindingKind::top_edge_rank;
  static constexpr std::array keys{"hardest_first"};
};
struct ZeroContradicts {
  double highest_cut_z_mm;
  static constexpr auto kind = FindingKind::zero_contradicts;
  static constexpr std::array keys{"highest_cut_z_mm"};
};

struct LongDwell {
  double dwell_s;
  std::size_t more; ///< dwells over a minute
  static constexpr auto kind = FindingKind::long_dwell;
  static constexpr std::array keys{"dwell_s", "more"};
};
struct LargeSheet {
  double x_mm, y_mm;
  bool sheet_given, inch; ///< else the program's extents; whether they were read in inch
  static constexpr auto kind = FindingKind::large_sheet;
  static constexpr std::array keys{"x_mm", "y_mm", "sheet_given", "program_in_inch"};
};

} // namespace fact

/// Everything a finding can say.
using Fact =
    std::variant<fact::HolderInFoam, fact::NeckRubs, fact::NutInFoam, fact::RapidInFoam, fact::ShankRubs,
                 fact::CutIntoTable, fact::ThinFoam, fact::ColletUnknown, fact::ColletRefused,
                 fact::ColletCloses, fact::ColletNotGiven, fact::ClampShort, fact::ReachShort,
                 fact::WallAboveFlutes, fact::ShankBesideWall, fact::NeckRub, fact::WhirlRefused,
                 fact::WhirlNear, fact::HoldDownNotGiven, fact::ClampingPressure, fact::SealLost,
                 fact::WeakHold, fact::HoldDown, fact::LoosePiece, fact::PieceOnSkin, fact::FloorCutThrough,
                 fact::SkinLeft, fact::Crumbs, fact::Strand, fact::FeedOverAxes, fact::FeedNotReached,
                 fact::ThinChips, fact::SpindleRange, fact::SpindleStands, fact::WallUnknown, fact::WallError,
                 fact::ThicknessNotRun, fact::ThicknessSpread, fact::ThinSheetCutThrough, fact::NearSeam,
                 fact::TopEdgeRank, fact::ZeroContradicts, fact::LongDwell, fact::LargeSheet>;
static_assert(std::variant_size_v<Fact> == kFindingKinds, "each kind of finding has its values, once");

} // namespace snagmap
