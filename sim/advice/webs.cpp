// Levers for webs: what is changed. The running and judging is the same for all (advice.cpp).
#include "sim/advice/tries.hpp"

#include "sim/advice/widening.hpp"
#include "sim/path/edit.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <set>

namespace snagmap {
namespace {

constexpr std::size_t kWebsTold = 4;  // of those to be wider
constexpr double kReachPast_mm = 0.5; // flutes this far over the pass's top make S blind to the pass depth

/// Worst spot of each web that snags, worst web first.
std::vector<const Spot*> snagging_webs(const Preview& job) {
  std::vector<const Spot*> worst;
  std::set<int> seen;
  for (const Spot& spot : job.spots) // worst first
    if (spot.level() >= Level::snags && seen.insert(spot.web).second)
      worst.push_back(&spot);
  return worst;
}

bool same_shape(const CutterCard& a, const CutterCard& b) {
  return a.name == b.name ||
         (a.flute_length_mm == b.flute_length_mm && a.neck_diameter_mm == b.neck_diameter_mm &&
          a.helix_deg == b.helix_deg && a.tip == b.tip && a.flutes == b.flutes);
}

/// In what another cutter of the same diameter differs.
lever::Cutter cutter_lever(const CutterCard& card, const CutterCard& now) {
  using By = lever::Differs;
  if (card.flute_length_mm != now.flute_length_mm)
    return {card.name, By::flute_length, card.flute_length_mm, now.flute_length_mm};
  if (card.helix_deg != now.helix_deg)
    return {card.name, By::helix, card.helix_deg, now.helix_deg};
  if (card.flutes != now.flutes)
    return {card.name, By::flutes, static_cast<double>(card.flutes), static_cast<double>(now.flutes)};
  if (card.neck_diameter_mm != now.neck_diameter_mm)
    return {card.name, By::neck, card.neck_diameter_mm, now.neck_diameter_mm};
  return {card.name, By::tip, 0, 0};
}

} // namespace

void AdviceTries::all() {
  using Step = void (AdviceTries::*)();
  for (const Step one : {&AdviceTries::another_cutter, &AdviceTries::smaller_passes,
                         &AdviceTries::another_order, &AdviceTries::finish_last, &AdviceTries::other_side,
                         &AdviceTries::wider_webs, &AdviceTries::firmer_foam, &AdviceTries::other_feeds,
                         &AdviceTries::break_strands, &AdviceTries::clear_otherwise, &AdviceTries::more_hold})
    if (!list_.stopped)
      (this->*one)();
}

void AdviceTries::another_cutter() {
  if (!suffers_webs() && !suffers_rest() && !list_.before.hold_weak())
    return;
  const std::vector<const Spot*> webs = snagging_webs(base_);
  const auto index = static_cast<std::size_t>(webs.empty() ? 0 : webs.front()->cutter);
  const CutterCard& now = base_.scene.cutters[index];
  if (base_.scene.drawer.empty())
    leave_out(untried::DrawerEmpty{});
  for (const CutterCard& card : base_.scene.drawer) {
    if (same_shape(card, now))
      continue;
    if (std::abs(card.diameter_mm - now.diameter_mm) > 0.01) {
      leave_out(untried::OtherDiameter{card.name, card.diameter_mm, now.diameter_mm});
      continue;
    }
    Scene scene = base_.scene;
    scene.cutters[index] = card;
    run(advice_of(cutter_lever(card, now), Effort::program), scene, base_.path);
  }
}

void AdviceTries::smaller_passes() {
  if (!suffers_webs() && !suffers_rest() && !list_.before.hold_weak())
    return;
  double deepest = 0, flutes = std::numeric_limits<double>::infinity();
  for (const PathLayer& layer : path_layers(base_.path, top_mm_))
    deepest = std::max(deepest, layer.above_mm - layer.level_mm);
  for (const CutterCard& card : base_.scene.cutters)
    flutes = std::min(flutes, card.flute_length_mm);
  const double pass = flutes < deepest - 1e-3 ? flutes : 0.5 * deepest;
  const std::optional<Path> path = with_pass_depth(base_.path, top_mm_, pass);
  if (!path)
    return;
  const std::vector<const Spot*> webs = snagging_webs(base_);
  const bool blind = std::any_of(webs.begin(), webs.end(), [](const Spot* spot) {
    return spot->question.contact.high_mm > spot->question.pass_depth_mm + kReachPast_mm;
  });
  run(advice_of(lever::PassDepth{pass, deepest}, Effort::program, !blind), base_.scene, *path);
}

void AdviceTries::another_order() {
  const std::vector<PathLayer> layers = path_layers(base_.path, top_mm_);
  const auto layer_of = [&](std::uint32_t move) {
    const auto at = std::find_if(layers.begin(), layers.end(),
                                 [&](const PathLayer& l) { return l.first <= move && move < l.last; });
    return static_cast<std::size_t>(at - layers.begin());
  };
  std::set<std::pair<std::size_t, std::size_t>> tried;
  std::size_t webs = 0;
  for (const Spot* spot : snagging_webs(base_)) {
    if (webs++ >= options_.webs)
      break;
    const Web& web = spot->question.web;
    // What opened the far side: the earliest cut of the air behind the web.
    std::uint32_t opened = kNever;
    const Vec2 behind = xy(spot->place_mm) - (web.w_mm + 1) * spot->normal;
    for (const double share : {0.05, 0.3, 0.6, 0.95})
      opened = std::min(opened,
                        base_.record->removed_by({behind.x, behind.y, spot->place_mm.z + share * web.h_mm}));
    const std::size_t mine = layer_of(spot->move),
                      other = opened == kNever ? layers.size() : layer_of(opened);
    if (mine >= layers.size() || other >= mine || !tried.insert({mine, other}).second)
      continue;
    std::vector<std::size_t> moved;
    const PathLayer& wall = layers[mine];
    for (std::size_t k = other + 1; k <= mine; ++k)
      if (layers[k].low_mm.x < wall.high_mm.x && wall.low_mm.x < layers[k].high_mm.x &&
          layers[k].low_mm.y < wall.high_mm.y && wall.low_mm.y < layers[k].high_mm.y)
        moved.push_back(k);
    run(advice_of(lever::Order{spot->web, spot->program_line, base_.path.moves[layers[other].first].line},
                  Effort::program),
        base_.scene, with_order(base_.path, top_mm_, moved, other));
  }
}

void AdviceTries::finish_last() {
  if (!suffers_webs())
    return;
  if (const auto path = with_finish_last(base_.path, top_mm_))
    run(advice_of(lever::LightFinish{}, Effort::program), base_.scene, *path);
  else
    leave_out(untried::NoSecondLoop{});
}

void AdviceTries::other_side() {
  if (!suffers_webs())
    return;
  const std::vector<const Spot*> webs = snagging_webs(base_);
  const bool climb = webs.front()->question.climb;
  if (const auto path = with_loops_reversed(base_.path, top_mm_))
    run(advice_of(
            lever::Climb{climb,
                         wall_sides(base_.scene.cutters[static_cast<std::size_t>(webs.front()->cutter)])},
            Effort::program, false),
        base_.scene, *path);
  else
    leave_out(untried::NoClosedLoop{});
}

WiderWebsFound wider_webs_of(const JudgedJob& job) {
  WiderWebsFound found{{{}, 0}, {}, 0};
  for (const Spot& spot : job.spots)
    if (spot.level() < Level::snags)
      found.worst_s = std::max(found.worst_s, spot.answer.s);
  for (const auto& [web, need] : widenings(job)) {
    const bool snags = std::any_of(job.spots.begin(), job.spots.end(), [id = web](const Spot& spot) {
      return spot.web == id && spot.level() >= Level::snags;
    });
    if (!snags)
      continue;
    found.worst_s = std::max(found.worst_s, need.s_after);
    if (need.hopeless)
      found.hopeless.insert(web);
    else if (found.lever.webs.size() == kWebsTold)
      ++found.lever.more;
    else
      found.lever.webs.push_back({web, need.place_mm, need.w_mm, need.now_mm, need.whole_band_mm});
  }
  return found;
}

void AdviceTries::wider_webs() {
  if (!suffers_webs())
    return;
  WiderWebsFound found = wider_webs_of(base_);
  if (found.lever.webs.empty())
    return leave_out(untried::NoWidthHolds{kMostWiden});
  Advice advice = advice_of(std::move(found.lever), Effort::design);
  advice.after = list_.before;
  advice.after.webs_snagging = static_cast<int>(found.hopeless.size());
  advice.after.worst_s = found.worst_s;
  advice.worse.push_back(change::ProgramMadeAnew{});
  for (const SnaggingWeb& web : webs_)
    if (!found.hopeless.count(web.id))
      advice.webs.gone.push_back(web);
  advice.webs.before = webs_.size(), advice.webs.after = found.hopeless.size();
  file(std::move(advice), stopping_);
}

void AdviceTries::firmer_foam() {
  if (!suffers_webs())
    return;
  std::vector<const FoamCard*> firmer;
  for (const FoamCard& card : foam_cards())
    if (card.kind != FoamKind::polystyrene && card.lambda.nominal < base_.scene.main_foam().lambda.nominal)
      firmer.push_back(&card);
  if (firmer.empty())
    return leave_out(untried::NoFirmerFoam{});
  std::stable_sort(firmer.begin(), firmer.end(), [](const FoamCard* a, const FoamCard* b) {
    return a->lambda.nominal > b->lambda.nominal;
  });
  // The first that clears the spots on their own questions is run whole; without any, the firmest.
  const auto clears = [&](const FoamCard* card) {
    return std::all_of(base_.spots.begin(), base_.spots.end(), [&](const Spot& spot) {
      return spot.level() < Level::snags || card->lambda.nominal * spot.answer.gamma < 1;
    });
  };
  const auto first = std::find_if(firmer.begin(), firmer.end(), clears);
  const FoamCard& card = first == firmer.end() ? *firmer.back() : **first;
  Scene scene = base_.scene;
  for (Layer& layer : scene.layers)
    layer.foam = card;
  run(advice_of(lever::Foam{card.name, card.title}, Effort::purchase), scene, base_.path);
}

void AdviceTries::other_feeds() {
  if (!suffers_webs())
    return;
  for (const double factor : {0.5, 1.5})
    run(advice_of(lever::Feed{factor}, Effort::program, false), base_.scene,
        with_feed(base_.path, top_mm_, factor));
  const Spot& worst = *snagging_webs(base_).front();
  leave_out(untried::StopChangesNothing{worst.program_line});
}

} // namespace snagmap
