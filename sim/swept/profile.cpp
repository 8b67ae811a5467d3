#include "sim/swept/profile.hpp"

#include "models/base/crossing.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

/// Hollow arcs (fillets) become chords this near: 0.0002 voxel of 0.5 mm.
constexpr double kFillet_mm = 1e-4;

/// A piece along which radius and height both go one way.
struct Monotone {
  double r0, z0, r1, z1;
  bool arc = false;
  double cr = 0, cz = 0;
  Zone zone = Zone::flutes;
};

Fault fault(const CutterCard& card, std::string what, std::string way_out) {
  return Fault(fmt::format("cutter '{}': {}", card.name, what), std::move(way_out));
}

/// Splits arcs where they stand upright, so that no piece bulges past its own ends.
Outcome<std::vector<Monotone>> monotone_pieces(const CutterCard& card) {
  std::vector<Monotone> out;
  for (const ProfilePiece& p : card.profile()) {
    if (!(p.r0_mm >= 0 && p.r1_mm >= 0) || !(p.z1_mm >= p.z0_mm) ||
        !std::isfinite(p.r0_mm + p.r1_mm + p.z0_mm + p.z1_mm))
      return fault(card, "the profile does not rise from the tip",
                   "give it from the tip up, radii not below 0");
    const Monotone whole{p.r0_mm, p.z0_mm, p.r1_mm, p.z1_mm, p.arc, p.centre_r_mm, p.centre_z_mm, p.zone};
    if (!p.arc) {
      out.push_back(whole);
      continue;
    }
    const double rho = std::hypot(p.r0_mm - p.centre_r_mm, p.z0_mm - p.centre_z_mm);
    const double end = std::hypot(p.r1_mm - p.centre_r_mm, p.z1_mm - p.centre_z_mm);
    if (!(std::abs(rho - end) <= 1e-3 + 1e-6 * rho))
      return fault(card, fmt::format("an arc's ends are {} and {} mm from its centre", rho, end),
                   "move its centre");
    // The shorter way round. It must not pass its own top or bottom, for there the profile would fall.
    const double side = 0.5 * (p.r0_mm + p.r1_mm) - p.centre_r_mm;
    if ((p.r0_mm - p.centre_r_mm) * (p.r1_mm - p.centre_r_mm) < -1e-9)
      return fault(card, "an arc of the profile rises and falls", "end it where it turns back");
    if (p.z0_mm < p.centre_z_mm && p.z1_mm > p.centre_z_mm) {
      const double r = p.centre_r_mm + std::copysign(rho, side);
      Monotone below = whole, above = whole;
      below.r1 = above.r0 = r;
      below.z1 = above.z0 = p.centre_z_mm;
      out.push_back(below);
      out.push_back(above);
    } else {
      out.push_back(whole);
    }
  }
  return out;
}

/// Adds a rising piece to an underside; `flip` is -1 for the upper side turned upside down.
bool add_piece(ProfileCurve& curve, const Monotone& piece, double flip) {
  const bool up = flip > 0;
  const double r0 = up ? piece.r0 : piece.r1, z0 = up ? piece.z0 : -piece.z1;
  const double r1 = up ? piece.r1 : piece.r0, z1 = up ? piece.z1 : -piece.z0;
  if (r1 <= r0)
    return true;
  if (!piece.arc) {
    curve.line_to(r1, z1);
    return true;
  }
  const double cz = flip * piece.cz, rho = std::hypot(piece.r0 - piece.cr, piece.z0 - piece.cz);
  if (0.5 * (z0 + z1) < cz) {
    curve.bulge_to(r1, z1, piece.cr, cz);
    return true;
  }
  // Hollow: chords, each off by rho (1 - cos(step / 2)) at most.
  const double a0 = std::atan2(z0 - cz, r0 - piece.cr), a1 = std::atan2(z1 - cz, r1 - piece.cr);
  const double step = 2 * std::acos(std::max(0.0, 1 - kFillet_mm / rho));
  const int count = std::max(static_cast<int>(std::ceil(std::abs(a1 - a0) / step)), 1);
  for (int n = 1; n < count; ++n) {
    const double a = a0 + (a1 - a0) * n / count;
    curve.line_to(piece.cr + rho * std::cos(a), cz + rho * std::sin(a));
  }
  curve.line_to(r1, z1);
  return false;
}

bool is_ball(const BodyPart& part) {
  const double r = part.radius;
  const auto on_ball = [&](double d) {
    return std::abs(part.under.at(d) - (part.low + r - std::sqrt(r * r - d * d))) < 1e-9;
  };
  return !part.flat && part.over.flat() && part.high - part.low >= 2 * r - 1e-9 && on_ball(0) &&
         on_ball(0.5 * r) && on_ball(0.8 * r) && on_ball(r);
}

/// Pieces first..last of one zone, rising then falling in radius.
BodyPart part_of(const Monotone* first, const Monotone* last) {
  BodyPart part;
  part.zone = first->zone;
  part.low = first->z0;
  part.high = (last - 1)->z1;
  for (const Monotone* p = first; p != last; ++p)
    part.radius = std::max({part.radius, p->r0, p->r1});
  part.under = ProfileCurve(first->r0, first->z0);
  double r = first->r0;
  const Monotone* p = first;
  for (; p != last && p->r1 >= p->r0; ++p) {
    if (p->r0 > r)
      part.under.line_to(p->r0, p->z0); // a step outward
    if (p->r0 < r)
      break; // a step inward ends the rise
    part.convex &= add_piece(part.under, *p, 1);
    r = p->r1;
  }
  const Monotone* const peak = p;
  const Monotone* top = last - 1;
  part.over = ProfileCurve(top->r1, -top->z1);
  double above = top->r1;
  for (; top >= peak; --top) {
    if (top->r1 > above)
      part.over.line_to(top->r1, -top->z1);
    part.convex &= add_piece(part.over, *top, -1);
    above = top->r0;
  }
  if (above < part.radius)
    part.over.line_to(part.radius, -(peak == last ? (last - 1)->z1 : peak->z0));
  part.flat = part.under.flat() && part.over.flat();
  part.ball = is_ball(part);
  return part;
}

} // namespace

void ProfileCurve::line_to(double r, double z) {
  const double r0 = radius_, z0 = pieces_.empty() ? base_z_ : pieces_.back().z1;
  if (r <= r0)
    return;
  pieces_.push_back({r0, z0, r, z, false, 0, 0, 0});
  radius_ = r;
}

void ProfileCurve::bulge_to(double r, double z, double centre_r, double centre_z) {
  const double r0 = radius_, z0 = pieces_.empty() ? base_z_ : pieces_.back().z1;
  if (r <= r0)
    return;
  pieces_.push_back({r0, z0, r, z, true, centre_r, centre_z, std::hypot(r - centre_r, z - centre_z)});
  radius_ = r;
}

double ProfileCurve::on(const Piece& piece, double d) {
  if (piece.arc) {
    const double off = d - piece.cr;
    return piece.cz - std::sqrt(std::max(0.0, piece.rho * piece.rho - off * off));
  }
  return piece.z0 + (d - piece.r0) / (piece.r1 - piece.r0) * (piece.z1 - piece.z0);
}

double ProfileCurve::at(double d) const {
  if (d <= base_r_)
    return base_z_;
  for (const Piece& piece : pieces_)
    if (d <= piece.r1)
      return on(piece, d);
  return pieces_.empty() ? base_z_ : pieces_.back().z1;
}

double ProfileCurve::radius_at(double z) const {
  if (z < base_z_)
    return -1;
  double r = base_r_;
  for (const Piece& piece : pieces_) {
    if (z >= piece.z1) {
      r = piece.r1;
      continue;
    }
    if (piece.arc) {
      const double below = piece.cz - z;
      return std::clamp(piece.cr + std::sqrt(std::max(0.0, piece.rho * piece.rho - below * below)), piece.r0,
                        piece.r1);
    }
    return piece.z1 > piece.z0 ? piece.r0 + (z - piece.z0) / (piece.z1 - piece.z0) * (piece.r1 - piece.r0)
                               : r;
  }
  return r;
}

double ProfileCurve::Piece::as_steep_as(double k, double h, double near, double far) const {
  // Its sign is that of d/dx [at(d(x)) - k x], which rises with x on a bulging arc.
  const auto past = [&](double x) {
    const double d = std::sqrt(h * h + x * x), off = d - cr;
    return off * x - k * d * std::sqrt(std::max(0.0, rho * rho - off * off));
  };
  // The value is flat there, so its error goes with the square of the place's.
  const Crossing at = smooth_crossing(near, far, past, 1e-7 * (1 + far));
  return at.found ? at.middle() : past(near) > 0 ? near : far;
}

double ProfileCurve::lowest(double slope, double h, double x0, double x1) const {
  const auto value = [&](double x) { return slope * x + at(std::sqrt(h * h + x * x)); };
  double least = std::min(value(x0), value(x1));
  const auto try_at = [&](double x) {
    if (x > x0 && x < x1)
      least = std::min(least, value(x));
  };
  // The least value lies where the way goes down and the surface rises: on that side of the foot point.
  const double side = slope > 0 ? -1 : 1, k = std::abs(slope);
  const double window_low = std::min(side * x0, side * x1), window_high = std::max(side * x0, side * x1);
  const auto x_of = [&](double d) { return side * std::sqrt(std::max(0.0, d * d - h * h)); };
  if (base_r_ >= h)
    try_at(x_of(base_r_));
  else
    try_at(0);
  for (const Piece& piece : pieces_) {
    if (piece.r1 < h)
      continue;
    const double near = std::abs(x_of(std::max(piece.r0, h))), far = std::abs(x_of(piece.r1));
    double x = -1;
    if (!piece.arc) {
      const double rise = (piece.z1 - piece.z0) / (piece.r1 - piece.r0);
      if (rise > k)
        x = k * h / std::sqrt(rise * rise - k * k);
    } else if (piece.cr == 0) {
      x = k * std::sqrt(std::max(0.0, piece.rho * piece.rho - h * h) / (1 + k * k));
    } else {
      const double first = std::max(near, window_low), last = std::min(far, window_high);
      if (first < last)
        x = piece.as_steep_as(k, h, first, last);
    }
    if (x > near && x < far)
      try_at(side * x);
    try_at(side * far);
    try_at(side * near);
  }
  return least;
}

double ProfileCurve::distance(double r, double z) const {
  const auto to_segment = [&](double r0, double z0, double r1, double z1) {
    const double er = r1 - r0, ez = z1 - z0, l2 = er * er + ez * ez;
    const double s = l2 > 0 ? std::clamp(((r - r0) * er + (z - z0) * ez) / l2, 0.0, 1.0) : 0;
    return std::hypot(r - r0 - s * er, z - z0 - s * ez);
  };
  double least = to_segment(0, base_z_, base_r_, base_z_);
  for (const Piece& p : pieces_) {
    if (!p.arc) {
      least = std::min(least, to_segment(p.r0, p.z0, p.r1, p.z1));
      continue;
    }
    // The nearest place of a circle lies on the ray from its centre, where the arc reaches that far round.
    const double off_r = r - p.cr, off_z = z - p.cz, off = std::hypot(off_r, off_z);
    const double at_r = off > 0 ? p.cr + p.rho * off_r / off : p.r1;
    if (off_z <= 0 && at_r >= p.r0 && at_r <= p.r1)
      least = std::min(least, std::abs(off - p.rho));
    least = std::min({least, std::hypot(r - p.r0, z - p.z0), std::hypot(r - p.r1, z - p.z1)});
  }
  return least;
}

double BodyPart::distance(double r, double z) const {
  if (flat) {
    const double dh = r - radius, dv = std::max(low - z, z - high);
    return dh > 0 && dv > 0 ? std::hypot(dh, dv) : std::max(dh, dv);
  }
  const double rim_low = under.at(radius), rim_high = -over.at(radius);
  const double rim = std::hypot(r - radius, z - std::clamp(z, rim_low, rim_high));
  const double off = std::min({under.distance(r, z), over.distance(r, -z), rim});
  return r < radius && z > under.at(r) && z < -over.at(r) ? -off : off;
}

double BodyPart::radius_at(double z) const {
  if (z < low || z >= high)
    return -1;
  return flat ? radius : std::min(under.radius_at(z), over.radius_at(-z));
}

Outcome<Body> body_of(const CutterCard& card) {
  auto pieces = monotone_pieces(card);
  if (!pieces)
    return pieces.faults();
  Body body;
  const std::vector<Monotone>& all = *pieces;
  for (std::size_t first = 0; first < all.size();) {
    std::size_t last = first;
    bool falling = false;
    double r = all[first].r0;
    for (; last < all.size() && all[last].zone == all[first].zone; ++last) {
      const Monotone& p = all[last];
      if (falling && (p.r0 > r || p.r1 > p.r0))
        break; // widens again: the next part
      falling |= p.r0 < r || p.r1 < p.r0;
      r = p.r1;
    }
    BodyPart part = part_of(all.data() + first, all.data() + last);
    if (part.radius > 0 && part.high > part.low)
      (part.zone == Zone::flutes ? body.flutes : body.others).push_back(std::move(part));
    first = last;
  }
  if (body.flutes.empty())
    return fault(card, "no flutes: nothing of it cuts", "give a diameter and a flute length above 0");
  body.flute_low = 1e300;
  body.flute_high = -1e300;
  for (const BodyPart& part : body.flutes) {
    body.flute_radius = std::max(body.flute_radius, part.radius);
    body.flute_low = std::min(body.flute_low, part.low);
    body.flute_high = std::max(body.flute_high, part.high);
    body.flat &= part.flat;
  }
  return body;
}

} // namespace snagmap
