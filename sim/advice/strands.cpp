// Levers for strands and for the hold.
#include "sim/advice/tries.hpp"

#include "sim/checks/job_checks.hpp"
#include "sim/path/edit.hpp"

#include <algorithm>

namespace snagmap {
namespace {

constexpr double kSkin_mm =
    0.5; // left on the table: thin enough for a knife, thicker than the touch-off error
constexpr int kTabs = 4;
constexpr double kTab_mm = 6, kTabHeight_mm = 3; // common practice, no source

/// Longest run that is not of high risk, a little kept for the trace's voxel.
double longest_allowed_mm(bool slot) {
  double mm = 1000;
  while (strand_risk(mm, slot) == StrandRisk::high)
    mm *= 0.98;
  return 0.97 * mm;
}

/// Places that part every run of high risk until none of its parts is: at ends of moves where there are some,
/// so that no cut is interrupted in the middle of a wall that would be cut whole.
std::vector<PathCutAt> breaks_of(const Preview& job, std::size_t& runs) {
  std::vector<double> at{0};
  for (const Move& move : job.path.moves)
    at.push_back(at.back() + length_mm(move));
  std::vector<PathCutAt> places;
  for (const StrandRun& run : job.checks->strands.runs) {
    if (run.risk != StrandRisk::high)
      continue;
    ++runs;
    const double most = longest_allowed_mm(run.slot), end = run.start_mm + run.length_mm;
    for (double from = run.start_mm; end - from > most;) {
      const auto after = std::upper_bound(at.begin(), at.end() - 1, from + most);
      const auto move = static_cast<std::size_t>(after - at.begin() - 1); // in which the allowance ends
      if (at[move] > from + 0.3 * most) {
        places.push_back({move, 0});
        from = at[move];
      } else {
        from += most;
        places.push_back({move, (from - at[move]) / (at[move + 1] - at[move])});
      }
    }
  }
  return places;
}

} // namespace

void AdviceTries::run_for_strands(Advice advice, const std::optional<Path>& path, const Untried& none) {
  if (!path)
    return leave_out(none);
  advice.for_webs = false;
  run(std::move(advice), base_.scene, *path);
}

void AdviceTries::break_strands() {
  if (!suffers_strands())
    return;
  std::size_t runs = 0;
  const std::vector<PathCutAt> places = breaks_of(base_, runs);
  if (places.empty())
    return;
  const std::int32_t line = base_.path.moves[places.front().move].line;
  const lever::Lift lift{places.size(), runs, line};
  const lever::Holes holes{places.size(), line};
  run_for_strands(advice_of(lift, Effort::program), with_lifts(base_.path, top_mm_, places),
                  untried::NoSuchPath{lift});
  run_for_strands(advice_of(holes, Effort::program), with_holes(base_.path, top_mm_, places),
                  untried::NoSuchPath{holes});
}

void AdviceTries::clear_otherwise() {
  if (!suffers_strands())
    return;
  std::vector<std::pair<std::size_t, std::size_t>> within;
  for (const StrandRun& run : base_.checks->strands.runs)
    if (run.risk == StrandRisk::high)
      within.push_back({run.from_move, run.to_move});
  std::vector<double> diameters;
  for (const CutterCard& cutter : base_.scene.cutters)
    diameters.push_back(cutter.diameter_mm);
  run_for_strands(advice_of(lever::CrossCuts{}, Effort::program),
                  with_cross_cuts(base_.path, top_mm_, within, diameters, longest_allowed_mm(false),
                                  longest_allowed_mm(true)),
                  untried::NoRunBeside{});
  run_for_strands(advice_of(lever::WallsFirst{}, Effort::program), with_walls_first(base_.path, top_mm_),
                  untried::NoWallAfterLoops{});
}

void AdviceTries::more_hold() {
  if (!list_.before.hold_weak())
    return;
  const HoldDown& now = base_.scene.hold_down;
  Scene taped = base_.scene;
  if (now.kind == HoldDownKind::vacuum) {
    taped.hold_down = HoldDown{};
    taped.hold_down.kind = HoldDownKind::tape;
    taped.hold_down.tension_kPa.guess = taped.hold_down.shear_kPa.guess = taped.hold_down.peel_N_mm.guess =
        true; // design values
    run(advice_of(lever::Tape{true, 0}, Effort::program), taped, base_.path);
  } else if (now.tape_area_share < 1 || now.tape_width_mm) {
    taped.hold_down.tape_area_share = 1;
    taped.hold_down.tape_width_mm.reset();
    run(advice_of(lever::Tape{false, now.tape_area_share}, Effort::program), taped, base_.path);
  } else {
    leave_out(untried::WholeSheetTaped{});
  }
  if (const auto path = with_skin(base_.path, base_.scene.sheet.low.z + kSkin_mm))
    run(advice_of(lever::Skin{kSkin_mm}, Effort::program), base_.scene, *path);
  double widest = 0;
  for (const CutterCard& card : base_.scene.cutters)
    widest = std::max(widest, card.diameter_mm);
  if (const auto path =
          with_tabs(base_.path, top_mm_, base_.scene.sheet.low.z, kTabs, widest + kTab_mm, kTabHeight_mm))
    run(advice_of(lever::Tabs{kTabs, kTab_mm, kTabHeight_mm}, Effort::program), base_.scene, *path);
  Scene straight = base_.scene;
  bool any = false;
  for (CutterCard& card : straight.cutters)
    if (card.helix_deg > 0)
      card.helix_deg = 0, card.name += " with straight flutes", any = true;
  if (any)
    run(advice_of(lever::Helix{}, Effort::purchase), straight, base_.path);
}

} // namespace snagmap
