#include "viz/space/bent_web.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {
constexpr double kSeen = 0.30; // a web is drawn leaning by about this share of its thickness at most

} // namespace

BentWeb::BentWeb(const Spot& spot, const Preview&) : spot_(spot) {
  const SnagQuestion& q = spot.question;
  shape_only = !spot.answer.has_lean;
  top_mm_ = q.web.h_mm;
  // The share of the load's neighbours along the web falls off over the model's effective width at the top
  // edge.
  width_mm_ = std::max(q.web.b_p_mm + 1.99 * q.web.h_mm, 1.0);
  const double seen = kSeen * std::min(q.web.w_mm, 12.0);
  if (shape_only) {
    scale_mm_ = seen;
    return;
  }
  const double most = std::abs(spot.answer.u_max_mm);
  scale_mm_ = spot.answer.u_max_mm;
  if (most > 0 && most < seen) {
    // A round factor, so that a reader can divide by it.
    const double wish = seen / most;
    for (const double f : {2.0, 5.0, 10.0, 20.0, 50.0, 100.0})
      if (f <= wish)
        factor = f;
  }
}

double BentWeb::at_height(double z) const {
  const Contact& contact = spot_.question.contact;
  const auto& mode = spot_.answer.mode;
  const double step = (contact.high_mm - contact.low_mm) / kSlices;
  if (step <= 0 || z <= 0)
    return 0;
  const double place = (z - contact.low_mm) / step - 0.5;
  double share = 0;
  if (place < 0) {
    // From the root, where nothing moves, to the first slice.
    const double first = contact.low_mm + 0.5 * step;
    share = mode[0] * std::clamp(z / first, 0.0, 1.0);
  } else {
    // Above the contact the web goes on straight.
    const auto i = static_cast<std::size_t>(std::clamp(place, 0.0, kSlices - 2.0));
    share = mode[i] + (place - static_cast<double>(i)) * (mode[i + 1] - mode[i]);
  }
  return factor * scale_mm_ * share;
}

Vec3 BentWeb::operator()(Vec3 p) const {
  const Vec2 d = xy(p) - xy(spot_.place_mm);
  const double into = -dot(d, spot_.normal), along = cross(spot_.normal, d);
  const double over_root = p.z - spot_.place_mm.z, w = spot_.question.web.w_mm;
  const double clinging = clinging_mm(spot_.question.web);
  if (into < -clinging || into > w + clinging || over_root <= 0 || over_root > top_mm_ + 0.6)
    return {};
  if (along > spot_.question.web.d1_mm + clinging || -along > spot_.question.web.d2_mm + clinging)
    return {};
  double spread = std::exp(-2 * std::abs(along) / width_mm_);
  // A built-in end does not move: let the lean fade out before it.
  const auto fade = [&](double left, WebEnd end) {
    return end == WebEnd::built_in ? std::clamp(left / std::max(w, 1.0), 0.0, 1.0) : 1.0;
  };
  spread *= fade(spot_.question.web.d1_mm - along, spot_.question.web.end1);
  spread *= fade(spot_.question.web.d2_mm + along, spot_.question.web.end2);
  const double u = at_height(over_root) * spread;
  return {u * spot_.normal.x, u * spot_.normal.y, 0};
}

} // namespace snagmap
