#include "sim/answer/answer.hpp"

#include "sim/advice/widening.hpp"
#include "sim/path/layers.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <tuple>

namespace snagmap {
namespace {

constexpr double kSame_mm = 0.01;
constexpr double kNoNeck_mm = 1e6; // flutes to the top: there is no neck that could rub
constexpr std::size_t kTriesKept = 6;

/// What each slice of a contact had, for the slices of another.
std::array<double, kSlices> resampled(const std::array<double, kSlices>& from, const Contact& old_contact,
                                      const Contact& contact) {
  std::array<double, kSlices> out{};
  const double old_slice = (old_contact.high_mm - old_contact.low_mm) / kSlices,
               slice = (contact.high_mm - contact.low_mm) / kSlices;
  for (int i = 0; i < kSlices; ++i) {
    const double at = contact.low_mm + (i + 0.5) * slice;
    const int k = old_slice > 0 ? static_cast<int>((at - old_contact.low_mm) / old_slice) : 0;
    out[static_cast<std::size_t>(i)] = from[static_cast<std::size_t>(std::clamp(k, 0, kSlices - 1))];
  }
  return out;
}

/// S of the spot as another cutter of the same diameter would leave it.
double s_with(const Preview& job, const Spot& spot, const CutterCard& cutter) {
  SnagQuestion q = spot.question;
  if (!(q.web.b_p_mm > 0)) // read back from a file, which keeps no length of contact
    return spot.s();
  const double reach = spot.tip_mm.z + cutter.flute_length_mm - spot.place_mm.z;
  const Contact was = q.contact;
  q.contact.high_mm = std::min(q.contact.high_mm, reach);
  if (q.contact.high_mm <= q.contact.low_mm + 1e-6)
    return 0;
  q.gap_mm = resampled(q.gap_mm, was, q.contact), q.bite = resampled(q.bite, was, q.contact);
  q.pass_depth_mm = std::min(q.pass_depth_mm, q.contact.high_mm);
  const double body = cutter.neck_diameter_mm > 0 ? cutter.neck_diameter_mm : cutter.shank_diameter_mm;
  q.neck_relief_mm = q.web.h_mm > q.contact.high_mm + 1e-6 ? 0.5 * (cutter.diameter_mm - body) : kNoNeck_mm;
  const FoamCard& foam = job.scene.foam_between(spot.place_mm.z, spot.place_mm.z + spot.question.web.h_mm);
  return elements_over_formula(spot) * judge(q, foam).s;
}

CutterTry tried(const Preview& job, const CutterCard& card, int index, double deepest_pass_mm,
                double depth_mm) {
  const CutterCard& now = job.scene.cutters[static_cast<std::size_t>(index)];
  CutterTry out;
  out.name = card.name, out.flutes_mm = card.flute_length_mm, out.instead_of_mm = now.flute_length_mm;
  if (card.flute_length_mm < deepest_pass_mm - 1e-3)
    out.pass_mm = card.flute_length_mm;
  const bool relieved = card.neck_diameter_mm > 0 && card.neck_diameter_mm < card.diameter_mm - kSame_mm;
  const double clear = card.flute_length_mm + (relieved ? card.neck_length_mm : 0);
  out.rubs = clear < depth_mm - 1e-3 && card.shank_diameter_mm > card.diameter_mm - kSame_mm;
  std::map<int, std::pair<double, double>> webs; // worst S before and after
  for (const Spot& spot : job.spots) {
    auto& [before, after] = webs[spot.web];
    before = std::max(before, spot.s());
    after = std::max(after, spot.cutter == index ? std::min(spot.s(), s_with(job, spot, card)) : spot.s());
  }
  for (const auto& [web, s] : webs) {
    out.worst_s = std::max(out.worst_s, s.second);
    out.webs_left += s.second >= 1;
    if (s.first >= 1 && s.second < 1)
      out.clears.push_back(web);
  }
  return out;
}

std::vector<CutterTry> cutter_tries(const Preview& job) {
  std::vector<CutterTry> tries;
  const auto worst =
      std::find_if(job.spots.begin(), job.spots.end(), [](const Spot& s) { return s.s() >= 1; });
  if (worst == job.spots.end() || job.scene.cutters.empty())
    return tries;
  const CutterCard& now = job.scene.cutters[static_cast<std::size_t>(worst->cutter)];
  const double top = job.scene.sheet.high.z;
  double deepest_pass = 0, depth = 0;
  for (const PathLayer& layer : path_layers(job.path, top)) {
    deepest_pass = std::max(deepest_pass, layer.above_mm - layer.level_mm);
    depth = std::max(depth, top - layer.level_mm);
  }
  const auto consider = [&](const CutterCard& card, bool drawer) {
    if (std::abs(card.diameter_mm - now.diameter_mm) > kSame_mm || card.tip != now.tip ||
        card.flute_length_mm > now.flute_length_mm - kSame_mm ||
        (card.stick_out_mm > 0 && card.stick_out_mm < depth) ||
        std::any_of(tries.begin(), tries.end(), [&](const CutterTry& t) { return t.name == card.name; }))
      return;
    tries.push_back(tried(job, card, worst->cutter, deepest_pass, depth));
    tries.back().drawer = drawer;
  };
  for (const CutterCard& card : job.scene.drawer)
    consider(card, true);
  for (const CutterCard& card : cutter_cards())
    consider(card, false);
  tries.erase(std::remove_if(tries.begin(), tries.end(), [](const CutterTry& t) { return t.clears.empty(); }),
              tries.end());
  std::stable_sort(tries.begin(), tries.end(), [](const CutterTry& a, const CutterTry& b) {
    return std::make_tuple(a.webs_left, a.rubs, !a.drawer, a.pass_mm > 0) <
           std::make_tuple(b.webs_left, b.rubs, !b.drawer, b.pass_mm > 0);
  });
  if (tries.size() > kTriesKept)
    tries.resize(kTriesKept);
  return tries;
}

/// The name by which a lever stands in a web's row.
std::string short_name(const Lever& lever) {
  if (const auto* cutter = std::get_if<lever::Cutter>(&lever))
    return cutter->name;
  if (const auto* foam = std::get_if<lever::Foam>(&lever))
    return foam->name;
  return to_text(kind_of(lever));
}

} // namespace

const WebRow* JobAnswer::row(int web) const {
  const auto at = std::find_if(rows.begin(), rows.end(), [&](const WebRow& r) { return r.web == web; });
  return at == rows.end() ? nullptr : &*at;
}

JobAnswer answer_of(const Preview& preview) {
  JobAnswer answer;
  std::map<int, std::size_t> index;
  Places places(preview);
  for (std::size_t i = 0; i < preview.spots.size(); ++i) { // worst first
    const Spot& spot = preview.spots[i];
    const auto [at, fresh] = index.emplace(spot.web, answer.rows.size());
    if (fresh) {
      WebRow row;
      row.web = spot.web, row.spot = i, row.level = spot.level();
      row.place = places.of(spot);
      answer.rows.push_back(std::move(row));
    }
    WebRow& row = answer.rows[at->second];
    ++row.spots;
    row.snags = row.snags || spot.s() >= 1;
    row.may_snag = row.may_snag || spot.answer.s_high >= 1;
  }
  const std::map<int, Widening> widths = widenings(preview);
  for (WebRow& row : answer.rows) {
    row.may_snag = row.may_snag && !row.snags;
    answer.snag += row.snags, answer.may_snag += row.may_snag;
    if (const auto width = widths.find(row.web); width != widths.end() && !width->second.hopeless)
      row.least_w_mm = width->second.w_mm, row.least_w_high_mm = width->second.whole_band_mm;
  }
  if (!preview.spots.empty() && !preview.scene.cutters.empty())
    answer.cutter = preview.scene.cutters[static_cast<std::size_t>(preview.spots.front().cutter)].name;
  answer.tries = cutter_tries(preview);
  const auto cleared = [&](int web, const std::string& by) {
    const auto at = index.find(web);
    if (at == index.end())
      return;
    std::vector<std::string>& names = answer.rows[at->second].cleared_by;
    if (std::find(names.begin(), names.end(), by) == names.end())
      names.push_back(by);
  };
  if (preview.advice) // tried out whole: what it says stands before the estimate
    for (const auto* list : {&preview.advice->ranked, &preview.advice->trades})
      for (const Advice& one : *list)
        if (one.for_webs && kind_of(one.lever) != LeverKind::wider_web)
          for (const SnaggingWeb& web : one.webs.gone)
            cleared(web.id, short_name(one.lever));
  const bool cutters_tried = preview.advice && !preview.advice->clean;
  for (const CutterTry& one : answer.tries)
    if (!(cutters_tried && one.drawer))
      for (const int web : one.clears)
        cleared(web, one.name);
  return answer;
}

std::shared_ptr<const JobAnswer> job_answer(const Preview& preview) {
  return preview.answer ? preview.answer : std::make_shared<const JobAnswer>(answer_of(preview));
}

} // namespace snagmap
