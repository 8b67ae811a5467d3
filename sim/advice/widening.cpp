#include "sim/advice/widening.hpp"

#include "models/base/crossing.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>

namespace snagmap {

double elements_over_formula(const Spot& spot) {
  return spot.solved() && spot.screened.s > 0 ? spot.answer.s / spot.screened.s : 1;
}

namespace {

/// The question with the web so thick; a post grows alike in both directions.
SnagQuestion so_thick(SnagQuestion question, double w_mm, bool post) {
  if (post)
    question.web.d1_mm *= w_mm / question.web.w_mm, question.web.d2_mm *= w_mm / question.web.w_mm;
  question.web.w_mm = w_mm;
  return question;
}

/// Where S is 1, between an eighth and kMostWiden times the thickness: the eighth where S is under 1 there,
/// infinite where it still is more at the other end.
double post_width_mm(const SnagQuestion& question, double lambda) {
  const auto s = [&](double w_mm) {
    const SnagQuestion q = so_thick(question, w_mm, true);
    return lambda * gamma(q.web, q.contact).value;
  };
  const double now = question.web.w_mm;
  const double low = now / 8, high = kMostWiden * now;
  const Crossing at = crossing(
      low, high, [&](double w_mm) { return s(w_mm) >= 1; }, 1e-9 * now);
  if (at.found)
    return at.high;
  return s(low) < 1 ? low : std::numeric_limits<double>::infinity();
}

} // namespace

std::map<int, Widening> widenings(const JudgedJob& job) {
  std::set<int> posts;
  for (const WebFound& web : job.webs)
    if (web.island)
      posts.insert(web.id);
  std::map<int, Widening> webs;
  if (job.scene.layers.empty()) // read back from a file: there is no foam to ask
    return webs;
  for (const Spot& spot : job.spots) { // worst first
    const auto [at, first] = webs.try_emplace(spot.web);
    Widening& web = at->second;
    if (!first && spot.level() < Level::snags)
      continue;
    if (!(spot.question.web.b_p_mm > 0)) // read back from a file, which keeps no length of contact
      continue;
    const FoamCard& foam = job.scene.foam_between(spot.place_mm.z, spot.place_mm.z + spot.question.web.h_mm);
    const double scale = elements_over_formula(spot);
    const bool post = posts.count(spot.web) > 0;
    const auto width_mm = [&](double lambda) {
      return post ? post_width_mm(spot.question, scale * lambda)
                  : narrowest_width(spot.question, scale * lambda).w_mm;
    };
    const double exact = width_mm(foam.lambda.nominal);
    if (!(exact <= kMostWiden * spot.question.web.w_mm)) {
      web.hopeless = true;
      web.s_after = std::max(web.s_after, spot.s());
      continue;
    }
    const SnagQuestion wider = so_thick(spot.question, std::ceil(10 * exact + 0.01) / 10, post);
    const double s = scale * judge(wider, foam).s; // the answer, not the bisection, is what is told
    web.s_after = std::max(web.s_after, s);
    web.hopeless = web.hopeless || s >= 1;
    if (wider.web.w_mm <= web.w_mm)
      continue;
    const double band = width_mm(foam.lambda.high);
    web.now_mm = spot.question.web.w_mm, web.w_mm = wider.web.w_mm;
    web.whole_band_mm = std::isfinite(band) ? band : 0;
    web.place_mm = spot.place_mm;
  }
  return webs;
}

} // namespace snagmap
