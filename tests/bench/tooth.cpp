// `scripts/bench tooth`: the tooth numbers of the demo's webs, and the published chart.
#include "models/base/constants.hpp"
#include "models/tooth/toothed_web.hpp"
#include "sim/preview/preview.hpp"
#include "sim/tooth/web_tooth.hpp"
#include "tests/bench/measure.hpp"

#include <cmath>
#include <cstdio>

using namespace snagmap;
using namespace snagmap::bench;

namespace {

/// Largest difference to the critical multipliers by which methods for milling stability are compared (one
/// mode, full slot, 5,000/min; from memory), with the intervals that the program chooses.
double published_error_percent() {
  const double depth_mm[4] = {0.2, 0.5, 0.7, 1.0}, mu[4] = {0.8192, 1.0732, 1.2210, 1.4073};
  double worst = 0;
  for (int n = 0; n < 4; ++n) {
    ToothedWeb web;
    web.modes = {{2 * kPi * 922, {1 / std::sqrt(3.993e-5)}}};
    ToothSlice slice;
    slice.dz_mm = depth_mm[n];
    slice.cut.radius_mm = 5, slice.cut.feed_mm = 0.1, slice.cut.flutes = 2;
    slice.cut.severing_MPa = 600, slice.cut.thrust = 1.0 / 3, slice.cut.arc = {-kPi / 2, kPi / 2};
    web.slices = {slice};
    web.loss_factor = 0.022, web.tooth_time_s = 60.0 / 5000 / 2, web.widens = false;
    const double own = multiplier(web).magnitude;
    std::printf("depth %.1f mm: multiplier %.4f, published %.4f\n", depth_mm[n], own, mu[n]);
    worst = std::max(worst, 100 * std::abs(own / mu[n] - 1));
  }
  return worst;
}

} // namespace

int main() {
  const double error = published_error_percent();
  const auto scene = read_scene(SNAGMAP_ROOT "/scenes/bicycle-case/scene.toml");
  if (!scene) {
    std::printf("%s\n", to_text(scene.faults()[0]).c_str());
    return 1;
  }
  const auto found = preview(*scene, {});
  if (!found)
    return 1;
  const auto spots = tooth_spots(*found);
  std::vector<WebTooth> answers;
  const double seconds = timed([&] { answers = tooth_answers(*found, spots); });
  std::vector<ToothQuestion> questions;
  const double asked_s = timed([&] {
    for (std::size_t n = 0; n < spots.size(); n += 8)
      if (auto question = tooth_question(*found, found->spots[spots[n]]))
        questions.push_back(std::move(*question));
  });
  const double edges_s = timed([&] {
    for (const ToothQuestion& question : questions)
      tooth_number(question);
  });
  if (!questions.empty())
    std::printf("a web: modes and arc %.3f s (%d unknowns), one tooth number %.3f s; four a web\n",
                asked_s / double(questions.size()), questions[0].unknowns,
                edges_s / double(questions.size()));
  int answered = 0, disagree = 0, turned = 0;
  double pushed = 0;
  for (const WebTooth& a : answers)
    if (a.answered) {
      ++answered;
      disagree += (a.t >= 1) != (found->spots[a.spot].answer.s >= 1);
      turned += (a.t >= 1) != (a.t_turned >= 1);
      pushed += a.push == ToothPush::pushed_off;
    }
  std::printf(
      "demo: %zu webs and sides, %d answered, %d on which S and T disagree, %d that the other side would "
      "change, %.0f pushed off\n",
      spots.size(), answered, disagree, turned, pushed);
  goal("demo_T_all_webs_s", seconds, 10, true);
  goal("published_chart_error_percent", error, 2, true);
}
