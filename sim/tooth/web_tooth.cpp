#include "sim/tooth/web_tooth.hpp"

#include "models/base/constants.hpp"
#include "models/mechanics/wall_side.hpp"
#include "sim/swept/profile.hpp"
#include "sim/threads/parallel.hpp"
#include "sim/tooth/engaged.hpp"
#include "sim/tooth/tooth_wall.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>

namespace snagmap {
namespace {

constexpr double kLeast = 1e-2, kMost = 1e2, kStep = 1.5; // factors on the forces

ToothedWeb with_friction(ToothedWeb web, double rake_deg, double friction) {
  for (ToothSlice& slice : web.slices)
    slice.cut.thrust = thrust_ratio(rake_deg, friction);
  return web;
}

ToothedWeb turned(ToothedWeb web) {
  for (ToothSlice& slice : web.slices)
    slice.cut.climb = !slice.cut.climb;
  return web;
}

double pull_N(const ToothedWeb& web) {
  double pull = 0;
  for (const ToothSlice& slice : web.slices)
    if (slice.gap_mm <= 0)
      pull += slice.dz_mm * mean_wall_force(slice.cut).q_N_mm;
  return pull;
}

/// Tooth number and growth at one friction.
struct Standing {
  double t = 0, t_static = 0;
  ToothGrowth growth = ToothGrowth::none;
};

Standing standing(const ToothedWeb& web, double dynamic) {
  // What stands still leans by the static modulus, what swings by the dynamic one.
  const double fixed = std::max(dynamic * static_gain(web), 0.0);
  const ToothEdge edge = tooth_edge(web, kLeast, kMost, kStep);
  const double moving = edge.found ? 1 / edge.factor : 0;
  Standing out{std::max(fixed, moving), fixed, ToothGrowth::none};
  if (out.t > 0)
    out.growth = fixed >= moving || edge.there.angle_rad < 1e-3 ? ToothGrowth::drawn_in : ToothGrowth::swings;
  return out;
}

/// Which way the wall is pushed at every friction of the band.
ToothPush push_of(const ToothQuestion& question, bool turn) {
  const Banded friction = edge_friction();
  int pulled = 0, pushed = 0, still = 0;
  for (const double mu : {friction.low, friction.nominal, friction.high}) {
    const ToothedWeb web = with_friction(question.web, question.rake_deg, mu);
    const double pull = pull_N(turn ? turned(web) : web);
    pulled += pull > 0, pushed += pull < 0, still += pull == 0;
  }
  return pulled == 3   ? ToothPush::pulled_in
         : pushed == 3 ? ToothPush::pushed_off
         : still == 3  ? ToothPush::none
                       : ToothPush::either;
}

} // namespace

const char* to_text(ToothPush push) {
  switch (push) {
  case ToothPush::pulled_in:
    return "pulled in";
  case ToothPush::pushed_off:
    return "pushed off";
  case ToothPush::either:
    return "either way";
  case ToothPush::none:
    return "not cut there";
  }
  return "";
}

namespace {

std::optional<Unsolved> cannot_ask(const JudgedJob& job, const Spot& spot) {
  if (std::abs(double(job.path.moves[spot.move].spindle_rpm)) > 0 && spot.chip_mm > 0)
    return std::nullopt;
  return unsolved::SpindleStands{};
}

ToothQuestion question_of(const JudgedJob& job, const Spot& spot, const BoxModes& modes) {
  const CutterCard& cutter = job.scene.cutters[std::size_t(spot.cutter)];
  const double rpm = std::abs(double(job.path.moves[spot.move].spindle_rpm));
  const FoamCard& foam = job.scene.foam_between(spot.place_mm.z, spot.place_mm.z + spot.question.web.h_mm);
  ToothQuestion question;
  question.rake_deg = cutter.rake_deg;
  question.unknowns = modes.unknowns;
  question.severing_low = foam.severing_MJ_m3.low / foam.severing_MJ_m3.nominal;
  question.severing_high = foam.severing_MJ_m3.high / foam.severing_MJ_m3.nominal;
  question.dynamic = dynamic_ratio().nominal;
  ToothedWeb& web = question.web;
  web.modes = scaled(modes.modes, spot, foam.E_kPa.nominal / 1000);
  for (WebMode& mode : web.modes)
    mode.omega_rad_s *= std::sqrt(question.dynamic);
  web.loss_factor = foam.loss_factor.nominal;
  web.helix_rad = cutter.helix_deg * kRadPerDeg;
  web.tooth_time_s = 60 / (rpm * cutter.flutes);
  const std::vector<double> engaged = engaged_at(job, spot);
  const Outcome<Body> body = body_of(cutter);
  for (int s = 0; s < kSlices; ++s) {
    const double z = slice_z_mm(spot, s);
    const FoamCard& here = job.scene.foam_at(z);
    ToothSlice slice;
    slice.height_mm = z - spot.tip_mm.z, slice.dz_mm = slice_mm(spot.question);
    slice.cut =
        tooth_cut(cutter, here.severing_MJ_m3.nominal, here.cut_force_N_mm.nominal, edge_friction().nominal);
    if (body) {
      double radius = 0;
      for (const BodyPart& part : body->flutes)
        radius = std::max(radius, part.radius_at(slice.height_mm));
      if (radius > 0)
        slice.cut.radius_mm = radius;
    }
    slice.cut.feed_mm = spot.chip_mm;
    slice.cut.climb = spot.question.climb;
    slice.cut.arc = {0, engaged[std::size_t(s)]};
    slice.gap_mm = engaged[std::size_t(s)] > 0 ? 0 : std::max(spot.question.gap_mm[std::size_t(s)], 0.0);
    web.slices.push_back(slice);
  }
  return question;
}

} // namespace

OrUnsolved<ToothQuestion> tooth_question(const JudgedJob& job, const Spot& spot) {
  if (const auto why = cannot_ask(job, spot))
    return *why;
  const OrUnsolved<ToothWall> wall = wall_at(job, spot);
  if (!wall)
    return wall.why_not();
  const OrUnsolved<BoxModes> modes = modes_of(*wall);
  if (!modes)
    return modes.why_not();
  return question_of(job, spot, *modes);
}

WebTooth answer_tooth(const ToothQuestion& question, WebTooth from) {
  WebTooth out = std::move(from);
  out.answered = true, out.why_not.reset();
  out.tooth_Hz = 1 / question.web.tooth_time_s;
  out.f1_Hz = question.web.modes[0].omega_rad_s / (2 * kPi);
  const Banded dynamic = dynamic_ratio(), friction = edge_friction();
  out.f1_low_Hz = out.f1_Hz * std::sqrt(dynamic.low / question.dynamic);
  out.f1_high_Hz = out.f1_Hz * std::sqrt(dynamic.high / question.dynamic);
  out.rate_over_f1 = out.tooth_Hz / out.f1_Hz;
  const ToothedWeb nominal = with_friction(question.web, question.rake_deg, friction.nominal);
  const Standing here = standing(nominal, question.dynamic);
  out.t = here.t, out.t_static = here.t_static, out.growth = here.growth;
  out.pull_N = out.pull_low_N = out.pull_high_N = pull_N(nominal);
  double low = here.t, high = here.t;
  for (const double mu : {friction.nominal, friction.low, friction.high}) {
    const ToothedWeb web = with_friction(question.web, question.rake_deg, mu);
    for (const double severing : {question.severing_low, question.severing_high}) {
      out.pull_low_N = std::min(out.pull_low_N, severing * pull_N(web));
      out.pull_high_N = std::max(out.pull_high_N, severing * pull_N(web));
    }
    if (mu != friction.nominal) {
      const double t = standing(web, question.dynamic).t;
      low = std::min(low, t), high = std::max(high, t);
    }
  }
  out.t_low = low * question.severing_low, out.t_high = high * question.severing_high;
  out.push = push_of(question, false), out.push_turned = push_of(question, true);
  out.t_turned = standing(turned(nominal), question.dynamic).t;
  return out;
}

double tooth_number(const ToothQuestion& question) {
  return standing(with_friction(question.web, question.rake_deg, edge_friction().nominal), question.dynamic)
      .t;
}

std::vector<std::size_t> tooth_spots(const JudgedJob& job, std::optional<int> web) {
  std::vector<std::uint8_t> cuts(job.spots.size(), 0);
  parallel_each(job.spots.size(), [&](std::size_t n) {
    const Spot& spot = job.spots[n];
    if ((!web || spot.web == *web) && spot.chip_mm > 0)
      for (const double engaged : engaged_at(job, spot))
        cuts[n] = cuts[n] || engaged > 0;
  });
  std::map<std::pair<int, bool>, std::size_t> of_side;
  for (std::size_t n = 0; n < job.spots.size(); ++n) { // worst first
    const Spot& spot = job.spots[n];
    if (web && spot.web != *web)
      continue;
    const auto [at, fresh] = of_side.try_emplace({spot.web, spot.question.climb}, n);
    if (!fresh && !cuts[at->second] && cuts[n])
      at->second = n;
  }
  std::vector<std::size_t> chosen;
  for (const auto& [side, spot] : of_side)
    chosen.push_back(spot);
  std::sort(chosen.begin(), chosen.end());
  return chosen;
}

std::vector<WebTooth> tooth_answers(const JudgedJob& job, const std::vector<std::size_t>& spots,
                                    const std::function<bool(double)>& progress) {
  std::vector<WebTooth> answers(spots.size());
  std::map<std::string, std::unique_ptr<OrUnsolved<BoxModes>>> shapes; // by their walls' keys
  constexpr std::size_t kAtOnce = 16;                                  // a number of no machine's
  for (std::size_t first = 0; first < spots.size(); first += kAtOnce) {
    if (progress && !progress(double(first) / double(spots.size())))
      break;
    const std::size_t here = std::min(kAtOnce, spots.size() - first);
    std::vector<std::unique_ptr<OrUnsolved<ToothWall>>> walls(here);
    parallel_each(here, [&](std::size_t k) {
      const Spot& spot = job.spots[spots[first + k]];
      const auto why = cannot_ask(job, spot);
      walls[k] =
          std::make_unique<OrUnsolved<ToothWall>>(why ? OrUnsolved<ToothWall>(*why) : wall_at(job, spot));
    });
    std::vector<std::size_t> anew;
    for (std::size_t k = 0; k < here; ++k)
      if (*walls[k] && shapes.try_emplace((*walls[k])->key).second)
        anew.push_back(k);
    parallel_each(anew.size(), [&](std::size_t n) {
      const ToothWall& wall = **walls[anew[n]];
      shapes.find(wall.key)->second = std::make_unique<OrUnsolved<BoxModes>>(modes_of(wall));
    });
    parallel_each(here, [&](std::size_t k) {
      const Spot& spot = job.spots[spots[first + k]];
      WebTooth& out = answers[first + k];
      out.web = spot.web, out.spot = spots[first + k], out.climb = spot.question.climb;
      out.feed_mm = spot.chip_mm;
      out.spindle_rpm = std::abs(double(job.path.moves[spot.move].spindle_rpm));
      if (!*walls[k]) {
        out.why_not = walls[k]->why_not();
        return;
      }
      const OrUnsolved<BoxModes>& modes = *shapes.find((*walls[k])->key)->second;
      if (!modes) {
        out.why_not = modes.why_not();
        return;
      }
      const ToothQuestion question = question_of(job, spot, *modes);
      for (const ToothSlice& slice : question.web.slices)
        if (slice.cut.arc.to_rad > out.engaged_rad) {
          out.engaged_rad = slice.cut.arc.to_rad;
          out.width_mm = slice.cut.radius_mm * (1 - std::cos(out.engaged_rad));
        }
      out = answer_tooth(question, std::move(out));
    });
  }
  return answers;
}

} // namespace snagmap
