#include "sim/watch/web_walk.hpp"

#include "models/base/finite.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr double kFarthest_h = 6; // beyond six heights an end no longer matters (effective width is 2-4 h)
constexpr double kBuiltIn_w = 2;  // a web twice as thick is eight times as stiff: taken as built in
// Not one half: where passes are equally deep that is just where the floor of the pass before lies.
constexpr double kKeepsHeight = 0.47;
constexpr double kMeetAgain_w = 0.75; // a ring closes when the walk comes back this near to its start

// Of its distance, or of a thickness where it is nearer: S goes with less than the first power of it.
constexpr double kEndTo = 0.003;

constexpr double kClear_mm = 0.5;     // well past a face, well within the narrowest slot a cutter leaves
constexpr double kLeastAdvance = 0.1; // of a step
constexpr double kPost_w = 1.5;       // shorter than this and free at both ends it is a post
constexpr double kNearFace_w = 0.35;  // from the middle: a disc is 0.71 of its width there

struct OneWay {
  double d_mm = 0;
  WebEnd end = WebEnd::free;
  bool ring = false, junction = false;
  std::vector<Vec2> points;
  std::size_t rays = 0;
};

/// Thickness across the web at p and the middle of it.
struct Across {
  double w_mm = 0;
  Vec2 middle;
  Vec2 side1, side2; ///< just beyond both faces
};

Across across(const RemovalRecord& record, Vec2 p, Vec2 along, double z, double cap, Instant t) {
  const Vec2 n = left_of(along);
  const double left = record.look({p.x, p.y, z}, n, cap, t).thickness_mm;
  const double right = record.look({p.x, p.y, z}, -1 * n, cap, t).thickness_mm;
  const double past = kClear_mm;
  return {left + right, p + (0.5 * (left - right)) * n, p + (left + past) * n, p - (right + past) * n};
}

bool keeps_height(const RemovalRecord& record, const Across& a, double z, double h, Instant t) {
  const double floor = std::max(floor_mm(record, a.side1, z, t), floor_mm(record, a.side2, z, t));
  return top_mm(record, a.middle, t) - floor >= kKeepsHeight * h;
}

bool stands_at(const RemovalRecord& record, Vec2 p, double z, Instant t) {
  const std::vector<Slab> foam = record.standing(p, t);
  return std::any_of(foam.begin(), foam.end(),
                     [&](const Slab& slab) { return slab.low_mm <= z && z < slab.high_mm; });
}

/// Does the web go on as a web behind the thick place? Then it was a crossing, not the end of the web.
bool web_again(const RemovalRecord& record, Vec2 p, Vec2 along, const WebPlace& place, Instant t) {
  for (double ahead : {1.5, 2.5}) {
    const Vec2 q = p + (ahead * place.w_mm) * along;
    if (!stands_at(record, q, place.z_mm, t))
      return false;
    if (across(record, q, along, place.z_mm, 2.1 * place.w_mm, t).w_mm <= kBuiltIn_w * place.w_mm)
      return true;
  }
  return false;
}

/// How far from `here`, from which the web goes on and at a step from which it does not, it is built in.
double run_to_built_in(const RemovalRecord& record, const WebPlace& place, Vec2 here, Vec2 along, double step,
                       OneWay& way, Instant t) {
  const double cap = (kBuiltIn_w + 0.1) * place.w_mm;
  double web = 0, thick = step;
  while (thick - web > kEndTo * std::max(way.d_mm + web, place.w_mm)) {
    const double middle = 0.5 * (web + thick);
    const Across a = across(record, here + middle * along, along, place.z_mm, cap, t);
    way.rays += 2;
    const bool goes_on =
        a.w_mm <= kBuiltIn_w * place.w_mm && keeps_height(record, a, place.z_mm, place.h_mm, t);
    (goes_on ? web : thick) = middle;
  }
  return 0.5 * (web + thick);
}

OneWay walk(const RemovalRecord& record, const WebPlace& place, Vec2 along, Instant t) {
  OneWay way;
  const double step = walk_step_mm(place.w_mm, place.h_mm);
  const double farthest = kFarthest_h * place.h_mm;
  const double cap = (kBuiltIn_w + 0.1) * place.w_mm;
  Vec2 here = place.middle;
  while (way.d_mm < farthest) {
    // The free run ahead along the tangent tells a free end to the exact wall, however long the step is.
    const Span ahead = record.look({here.x, here.y, place.z_mm}, along, step + kClear_mm, t);
    ++way.rays;
    const bool air_ahead =
        ahead.through; // a little past the step too: a round post ends at just half its thickness
    const Vec2 next = here + (air_ahead ? 0.5 * ahead.thickness_mm : step) * along;
    const Across a = across(record, next, along, place.z_mm, cap, t);
    way.rays += 2;
    const bool thick = a.w_mm > kBuiltIn_w * place.w_mm;
    if (!air_ahead && (thick || !keeps_height(record, a, place.z_mm, place.h_mm, t))) {
      const double run = run_to_built_in(record, place, here, along, step, way, t);
      way.d_mm += run;
      way.end = WebEnd::built_in;
      way.junction = thick && web_again(record, next, along, place, t);
      way.points.push_back(here + run * along);
      return way;
    }
    if (air_ahead) {
      // The tangent may only have left a bend: the middle beside the last half of the run decides.
      const Vec2 bent = a.middle - here;
      const double along_bend = norm(bent);
      const bool bends = std::abs(cross(bent, along)) > 0.25 * along_bend && along_bend > 0.1 * step;
      if (!bends || along_bend < 0.25 * place.w_mm) {
        way.d_mm += ahead.thickness_mm;
        way.points.push_back(here + ahead.thickness_mm * along);
        return way;
      }
    }
    const Vec2 moved = a.middle - here;
    const double run = norm(moved);
    // The middle beside a step may fall back toward where it started (a lobe, a corner): the web ends as a
    // strip there, and walking on would turn on the spot.
    if (run < kLeastAdvance * step || dot(moved, along) <= 0) {
      way.d_mm += 0.5 * step;
      way.end = air_ahead ? WebEnd::free : WebEnd::built_in;
      way.points.push_back(here + (0.5 * step) * along);
      return way;
    }
    way.d_mm += run;
    along = (1 / run) * moved;
    here = a.middle;
    way.points.push_back(here);
    if (way.points.size() > 3 && norm(here - place.middle) < kMeetAgain_w * std::max(place.w_mm, step)) {
      way.ring = true;
      way.d_mm = farthest;
      return way;
    }
  }
  way.d_mm = farthest;
  return way;
}

/// Section of a post over the rectangle of thickness w between its ends; the thickness is read at the middles
/// of equal steps.
double fill_of_post(const RemovalRecord& record, const WebPlace& place, Vec2 end1, Vec2 end2, Instant t,
                    std::size_t& rays) {
  constexpr int kSteps = 8;
  const double length = norm(end2 - end1), cap = kPost_w * place.w_mm;
  if (!(length > 0)) // bent back upon itself: it has no line to be measured along
    return 1;
  const Vec2 along = (1 / length) * (end2 - end1);
  double sum = 0;
  for (int k = 0; k < kSteps; ++k)
    sum += std::min(
        across(record, end1 + ((k + 0.5) / kSteps * length) * along, along, place.z_mm, cap, t).w_mm, cap);
  rays += 2 * kSteps;
  return std::clamp(sum / (kSteps * place.w_mm), 0.3, 1.0);
}

/// Foam between four holes also has air left and right of its middle, but widens toward the faces: no post.
bool widens(const RemovalRecord& record, const WebPlace& place, double length, Instant t, std::size_t& rays) {
  const Vec2 normal = left_of(place.along);
  rays += 4;
  for (const double away : {-kNearFace_w, kNearFace_w}) {
    const Vec2 p = place.middle + (away * place.w_mm) * normal;
    if (across(record, p, normal, place.z_mm, 1.1 * kPost_w * length, t).w_mm > kPost_w * length)
      return true;
  }
  return false;
}

} // namespace

double walk_step_mm(double w_mm, double h_mm) {
  return std::max(0.5 * w_mm, h_mm / 6);
}

bool stands_ahead(double step_mm, double h_mm) {
  return step_mm > std::min(kWalkAt, 1 - kKeepsHeight) * h_mm;
}

double top_mm(const RemovalRecord& record, Vec2 p, Instant t) {
  const std::vector<Slab> foam = record.standing(p, t);
  return foam.empty() ? record.box().low.z : foam.back().high_mm;
}

double floor_mm(const RemovalRecord& record, Vec2 p, double z_mm, Instant t) {
  require_finite("the height under which a floor is looked for", z_mm);
  double floor = record.box().low.z;
  for (const Slab& slab : record.standing(p, t)) {
    if (slab.low_mm > z_mm)
      break;
    floor = std::min(slab.high_mm, z_mm);
  }
  return floor;
}

Walked walk_web(const RemovalRecord& record, const WebPlace& place, Instant t) {
  require_finite("the web to be walked", place.middle.x, place.middle.y, place.along.x, place.along.y,
                 place.z_mm, place.w_mm, place.h_mm);
  if (!(place.w_mm > 0 && place.h_mm > 0))
    throw std::invalid_argument("the web to be walked must have a thickness and a height");
  const OneWay back = walk(record, place, -1 * place.along, t);
  Walked walked;
  walked.rays = back.rays;
  walked.line.assign(back.points.rbegin(), back.points.rend());
  walked.line.push_back(place.middle);
  walked.d1_mm = back.d_mm;
  walked.end1 = back.end;
  if (back.ring) { // both ends are far; the other way round meets the same points
    walked.ring = true;
    walked.d2_mm = back.d_mm;
    return walked;
  }
  const OneWay forth = walk(record, place, place.along, t);
  walked.line.insert(walked.line.end(), forth.points.begin(), forth.points.end());
  walked.d2_mm = forth.d_mm;
  walked.end2 = forth.end;
  walked.junction = back.junction || forth.junction;
  walked.rays += forth.rays;
  const double length = walked.d1_mm + walked.d2_mm;
  walked.post = walked.end1 == WebEnd::free && walked.end2 == WebEnd::free && !forth.ring &&
                length < kPost_w * place.w_mm && !widens(record, place, length, t, walked.rays);
  if (walked.post)
    walked.fill = fill_of_post(record, place, walked.line.front(), walked.line.back(), t, walked.rays);
  return walked;
}

} // namespace snagmap
