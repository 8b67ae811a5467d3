#include "sim/watch/look_out.hpp"

#include "sim/watch/web_lines.hpp"
#include "sim/watch/web_walk.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr double kSlant = 0.83;                      // tangent of the same 40 degrees
constexpr double kBeside_rad = 0.1;                  // looks beside: 0.6 mm of wall at R 6
constexpr double kSquare_cos = 0.9995;               // under 2 degrees: thickness to 0.1 %
constexpr double kMeasure_at[] = {0.08, 0.25, 0.42}; // of h: the lowest half, which governs bending
constexpr double kLeastHeight_mm = 1;                // a lower step bends less than a cell
constexpr double kClear_mm = 0.5;     // well past a face, well within the narrowest slot a cutter leaves
constexpr double kInside_mm = 0.375;  // behind a face, clear of what the next look meets at an angle
constexpr double kUnderTop_mm = 0.02; // looks just under an edge, clear of its rounding
constexpr int kHalvings = 14;         // of the height of a wall, to a hundredth of a millimetre

/// One look-out: the stock of a moment seen from the cutter's axis at one sample.
class LookOut {
public:
  LookOut(const RemovalRecord& record, const CutterCard& cutter, const Sample& sample,
          const WatchOptions& options)
      : record_(record), sample_(sample), options_(options), radius_(0.5 * cutter.diameter_mm),
        flute_top_(sample.tip_mm.z + cutter.flute_length_mm), now_(sample.move, sample.share) {}

  std::size_t rays() const { return rays_; }

  std::optional<WallSeen> wall_at(Vec2 direction) {
    const double tip = sample_.tip_mm.z;
    const double low = tip + 0.5 * std::min(sample_.pass_step_mm, flute_top_ - tip);
    const Span near = look(direction, low, options_.reach_mm + kClear_mm);
    if (!near.hit || near.gap_mm > options_.reach_mm)
      return {};

    std::optional<Vec2> normal = square_to_near(direction, low);
    std::optional<Through> through = normal ? look_through(*normal, low) : std::nullopt;
    if (through && in_own_round(*normal, low)) {
      normal = square_to_far(*normal, through->z_mm);
      through = normal ? look_through(*normal, low) : std::nullopt;
    }
    if (!through)
      return {};
    WallSeen wall;
    wall.normal = *normal;
    const Span& span = through->span;
    const double high = through->z_mm;

    const double near_face = radius_ + span.gap_mm;
    wall.face_mm = at(wall.normal, near_face);
    wall.middle_mm = at(wall.normal, near_face + 0.5 * span.thickness_mm);
    const Vec2 beyond = at(wall.normal, near_face + span.thickness_mm + kClear_mm);
    const double floor_here = floor_mm(record_, xy(sample_.tip_mm), tip + kUnderTop_mm, now_);
    const double floor_beyond = floor_mm(record_, beyond, high, now_);
    wall.root_z_mm = std::max(floor_here, floor_beyond);
    wall.top_z_mm = top_mm(record_, wall.middle_mm, now_);
    wall.h_mm = wall.top_z_mm - wall.root_z_mm;
    if (wall.h_mm < kLeastHeight_mm)
      return {};
    wall.contact = {std::max(0.0, tip - wall.root_z_mm),
                    std::min(wall.h_mm, top_in_reach(wall, high) - wall.root_z_mm)};
    if (wall.contact.high_mm - wall.contact.low_mm < 0.05)
      return {};

    if (!measure_thickness(wall))
      return {};
    if (wall.w_mm <= options_.thin_mm)
      return wall;
    if (!worth_walking(wall))
      return {};
    if (far_side_slants(wall, high, near_face + span.thickness_mm))
      return {};
    measure_gaps(wall);
    rays_ += walk_to_ends(wall, record_, now_);
    find_in_sheet(wall);
    return wall;
  }

private:
  Vec2 at(Vec2 direction, double distance) const { return xy(sample_.tip_mm) + distance * direction; }

  Span look(Vec2 direction, double z, double cap) { return look(direction, z, cap, now_); }
  Span look(Vec2 direction, double z, double cap, Instant stock) {
    ++rays_;
    const Vec2 from = at(direction, radius_);
    return record_.look({from.x, from.y, z}, direction, cap, stock);
  }

  /// The look that decides whether this is a web: as high as flutes or foam reach.
  struct Through {
    Span span;
    double z_mm;
  };
  std::optional<Through> look_through(Vec2 normal, double low) {
    const Span squarely = look(normal, low, options_.cap_mm);
    if (!squarely.hit || squarely.gap_mm > options_.reach_mm)
      return {};
    const double inside = std::min(kInside_mm, 0.5 * squarely.thickness_mm);
    const double top = top_mm(record_, at(normal, radius_ + squarely.gap_mm + inside), now_);
    const double high = std::min(flute_top_, top) - kUnderTop_mm;
    if (high <= sample_.tip_mm.z)
      return {};
    const Span span = look(normal, high, options_.cap_mm);
    if (!span.hit || !span.through || span.gap_mm > options_.reach_mm)
      return {};
    return Through{span, high};
  }

  /// The direction that meets a face squarely, from two looks beside it: the line through the two places
  /// stands square to the normal. Repeated, since on a round post the first guess sees a chord. None: it
  /// belongs to another sector, or nothing is met.
  template <class Meets> std::optional<Vec2> square_to(Vec2 sector, const Meets& meets) {
    Vec2 direction = sector;
    const double c = std::cos(kBeside_rad), s = std::sin(kBeside_rad);
    for (int turn = 0; turn < 4; ++turn) {
      const Vec2 side = left_of(direction);
      const std::optional<Vec2> a = meets(c * direction + s * side), b = meets(c * direction - s * side);
      if (!a || !b)
        return {};
      const Vec2 along = *a - *b;
      const double run = norm(along);
      if (run < 1e-6)
        return {};
      Vec2 normal = (-1 / run) * left_of(along);
      if (dot(normal, direction) < 0)
        normal = -1 * normal;
      if (dot(normal, sector) < kSameWall_cos)
        return {};
      const bool square = dot(normal, direction) > kSquare_cos;
      direction = normal;
      if (square)
        return direction;
    }
    return {};
  }

  /// The near face is that of the finished sheet, at most a cutter's width behind what is still to be taken
  /// off it: ahead of the cutter every direction is square to its own round.
  std::optional<Vec2> square_to_near(Vec2 sector, double z) {
    const double cap = options_.reach_mm + 2 * radius_ + kClear_mm;
    return square_to(sector, [&](Vec2 direction) -> std::optional<Vec2> {
      const Span span = look(direction, z, cap, record_.end());
      return span.hit ? std::optional(at(direction, radius_ + span.gap_mm)) : std::nullopt;
    });
  }

  /// Is the finished face on both sides the round of the cutter where it stands: at a plunge, a slot's end?
  bool in_own_round(Vec2 normal, double z) {
    // A level face is as far from the round beside a look square to it; a twentieth of that tells them apart.
    const double apart = 0.05 * radius_ * (1 / std::cos(kBeside_rad) - 1);
    const Vec2 c = std::cos(kBeside_rad) * normal, s = std::sin(kBeside_rad) * left_of(normal);
    const auto touches = [&](Vec2 direction) {
      const Span span = look(direction, z, apart, record_.end());
      return span.hit && span.gap_mm < apart;
    };
    return touches(c + s) && touches(c - s);
  }

  /// There the far face says which way the web is thin; the look stays where that has no square one.
  std::optional<Vec2> square_to_far(Vec2 near, double z) {
    bool none = false;
    const std::optional<Vec2> far = square_to(near, [&](Vec2 direction) -> std::optional<Vec2> {
      const Span span = look(direction, z, options_.cap_mm);
      none = none || !span.through;
      return span.through ? std::optional(at(direction, radius_ + span.gap_mm + span.thickness_mm))
                          : std::nullopt;
    });
    return none ? std::optional(near) : far;
  }

  /// The far side runs at more than 40 degrees to this look on both sides, or on one and ends on the other:
  /// the thin place is where another look meets it squarely. (Falling away to both sides, it is an end.)
  bool far_side_slants(const WallSeen& wall, double z, double far_mm) {
    const double c = std::cos(kBeside_rad), s = std::sin(kBeside_rad);
    const Vec2 side = left_of(wall.normal), middle = at(wall.normal, far_mm);
    double least = 0, most = 0;
    bool met = false;
    for (const double turn : {s, -s}) {
      const Vec2 direction = c * wall.normal + turn * side;
      const Span span = look(direction, z, options_.cap_mm);
      if (!span.hit)
        return false;
      if (!span.through)
        continue;
      const Vec2 run = at(direction, radius_ + span.gap_mm + span.thickness_mm) - middle;
      const double along = dot(run, side);
      if (std::abs(along) < 1e-6)
        return false;
      const double slope = dot(run, wall.normal) / along;
      least = met ? std::min(least, slope) : slope, most = met ? std::max(most, slope) : slope;
      met = true;
    }
    return met && (least > kSlant || most < -kSlant);
  }

  /// How high the flutes reach the face, which is beside them at `low`: a ledge's upper wall stands back.
  double top_in_reach(const WallSeen& wall, double low) {
    const auto in_reach = [&](double z) {
      const Span span = look(wall.normal, z, options_.reach_mm + kClear_mm);
      return span.hit && span.gap_mm <= options_.reach_mm;
    };
    double high = std::min(flute_top_, wall.top_z_mm);
    if (high - kUnderTop_mm <= low || in_reach(high - kUnderTop_mm))
      return high;
    for (int n = 0; n < kHalvings; ++n) {
      const double middle = 0.5 * (low + high);
      (in_reach(middle) ? low : high) = middle;
    }
    return low + kUnderTop_mm;
  }

  bool measure_thickness(WallSeen& wall) {
    double sum = 0;
    int seen = 0;
    for (double share : kMeasure_at) {
      const Span span = look(wall.normal, wall.root_z_mm + share * wall.h_mm, options_.cap_mm);
      if (!span.hit || !span.through)
        continue;
      sum += span.thickness_mm;
      ++seen;
    }
    if (seen == 0)
      return false;
    wall.w_mm = sum / seen;
    return true;
  }

  bool worth_walking(const WallSeen& wall) const {
    Web web;
    web.w_mm = wall.w_mm;
    web.h_mm = wall.h_mm;
    web.d1_mm = 0.5 * options_.b_p_mm; // the end rules at their worst: the bound must not depend on the walk
    web.d2_mm = 6 * wall.h_mm;
    web.b_p_mm = options_.b_p_mm;
    web.nu = options_.nu;
    web.rigid_floor = options_.rigid_floor;
    return gamma_bound(web, wall.contact) >= options_.least_gamma;
  }

  void measure_gaps(WallSeen& wall) {
    const double slice = (wall.contact.high_mm - wall.contact.low_mm) / kSlices;
    for (int i = 0; i < kSlices; ++i) {
      const double z = wall.root_z_mm + wall.contact.low_mm + (i + 0.5) * slice;
      wall.gap_mm[i] = look(wall.normal, z, options_.reach_mm + kClear_mm).gap_mm;
    }
  }

  /// What of the wall is in the finished sheet, its nearest part.
  void find_in_sheet(WallSeen& wall) {
    const double z = wall.root_z_mm + kWalkAt * wall.h_mm;
    const Span here = look(wall.normal, z, options_.cap_mm);
    if (!here.hit)
      return;
    const double near_face = radius_ + here.gap_mm;
    const Vec2 from = at(wall.normal, near_face);
    ++rays_;
    const Span left = record_.look({from.x, from.y, z}, wall.normal, here.thickness_mm, record_.end());
    if (!left.hit)
      return;
    wall.stays = true;
    wall.home_w_mm = left.thickness_mm;
    wall.home_mm = at(wall.normal, near_face + left.gap_mm + 0.5 * left.thickness_mm);
  }

  const RemovalRecord& record_;
  const Sample& sample_;
  const WatchOptions& options_;
  const double radius_, flute_top_;
  const Instant now_; // of the move under way only what is behind the cutter is gone
  std::size_t rays_ = 0;
};

} // namespace

std::optional<WallSeen> wall_toward(const RemovalRecord& record, const CutterCard& cutter,
                                    const Sample& sample, Vec2 direction, const WatchOptions& options,
                                    std::size_t& rays) {
  LookOut look_out(record, cutter, sample, options);
  std::optional<WallSeen> wall = look_out.wall_at(direction);
  rays += look_out.rays();
  return wall;
}

} // namespace snagmap
