// Jobs of webs written in many ways that are one motion: whole or in pieces, arcs or chords, turned,
// mirrored, shifted, in inches, pockets in another order.
#pragma once

#include "sim/judge/spots.hpp"
#include "sim/path/layers.hpp"
#include "sim/path/moves.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <random>
#include <string>
#include <vector>

namespace snagmap::same_motion {

/// Groups of pockets too far apart to bear on each other, each beginning and ending above the sheet.
struct Job {
  Scene scene;
  std::vector<std::vector<Move>> groups;
};

class Builder {
public:
  explicit Builder(Vec3 at) : at_(at) {}
  void rapid(Vec3 to) { add(MoveKind::rapid, to); }
  void feed(Vec3 to) { add(MoveKind::line, to); }
  void arc(Vec3 to, Vec2 centre, double turn_rad) {
    Move move = begun(MoveKind::arc, to);
    move.centre = centre;
    move.turn_rad = static_cast<float>(turn_rad);
    moves.push_back(move);
    at_ = to;
  }
  /// Comes over (x, y) at the height of rapids.
  void over(Vec2 p) {
    rapid({at_.x, at_.y, 5});
    rapid({p.x, p.y, 5});
  }
  std::vector<Move> moves;

private:
  Move begun(MoveKind kind, Vec3 to) const {
    Move move;
    move.kind = kind;
    move.from = at_, move.to = to;
    move.feed_mm_min = kind == MoveKind::rapid ? 0 : 2000;
    move.spindle_rpm = 18000;
    move.line = 1;
    return move;
  }
  void add(MoveKind kind, Vec3 to) {
    if (to.x == at_.x && to.y == at_.y && to.z == at_.z)
      return;
    moves.push_back(begun(kind, to));
    at_ = to;
  }
  Vec3 at_;
};

inline Scene scene_of(double size_mm, double diameter_mm, double flutes_mm) {
  Scene scene;
  scene.sheet = {{-size_mm, -size_mm, -40}, {size_mm, size_mm, 0}}; // no web reaches its edge, however turned
  scene.sheet_given = scene.thickness_given = true;
  scene.layers = {{*find_foam("pu-22"), 40}};
  CutterCard cutter;
  cutter.diameter_mm = cutter.shank_diameter_mm = diameter_mm;
  cutter.flute_length_mm = flutes_mm;
  cutter.stick_out_mm = 45;
  cutter.flutes = 2;
  scene.cutters = {cutter};
  scene.machine = machine_cards().front();
  scene.program_file = "made.nc";
  return scene;
}

/// Two or three pockets with webs between them: straight slots side by side, with a plunge, a ring round a
/// post or a helix beside them.
inline std::vector<Move> random_group(std::mt19937_64& random, double diameter, Vec2 middle) {
  const auto pick = [&](double low, double high) {
    return low + (high - low) * std::uniform_real_distribution<double>(0, 1)(random);
  };
  const double r = 0.5 * diameter, depth = pick(8, 25), length = pick(30, 60);
  const int passes = 1 + static_cast<int>(pick(0, 3));
  const double slope = pick(-0.2, 0.2);
  const auto skew = [&](double x, double y) { return middle + Vec2{x, y + slope * x}; };
  Builder way({0, 0, 5});
  double y = -25;
  const auto slot = [&](bool ramps) {
    for (int n = 1; n <= passes; ++n) {
      const double z = -depth * n / passes;
      const Vec2 a = skew(-0.5 * length, y), b = skew(0.5 * length, y);
      way.over(a);
      way.feed({a.x, a.y, ramps ? -depth * (n - 1) / passes : z});
      way.feed({b.x, b.y, z});
      if (ramps)
        way.feed({a.x, a.y, z});
      way.rapid({ramps ? a.x : b.x, ramps ? a.y : b.y, 5});
    }
  };
  slot(false);
  y += diameter + pick(4, 14);
  slot(true);
  const double kind = pick(0, 4);
  if (kind < 1) {
    y += diameter + pick(4, 10);
    const Vec2 p = skew(pick(-10, 10), y);
    way.over(p);
    way.feed({p.x, p.y, -depth});
    way.rapid({p.x, p.y, 5});
  } else if (kind < 2) { // a ring, which leaves a round post
    y += diameter + pick(5, 12) + 14;
    const Vec2 c = skew(pick(-8, 8), y);
    const double ring = r + pick(4, 9);
    for (int n = 1; n <= passes; ++n) {
      const double z = -depth * n / passes;
      way.over({c.x + ring, c.y});
      way.feed({c.x + ring, c.y, z});
      way.arc({c.x - ring, c.y, z}, c, std::acos(-1.0));
      way.arc({c.x + ring, c.y, z}, c, std::acos(-1.0));
      way.rapid({c.x + ring, c.y, 5});
    }
  } else if (kind < 3) { // a helix into a round pocket
    const double ring = pick(1.5, 4);
    y += diameter + ring + pick(4, 10);
    const Vec2 c = skew(pick(-10, 10), y);
    way.over({c.x + ring, c.y});
    way.feed({c.x + ring, c.y, 0});
    const int turns = 2 * static_cast<int>(2 + depth / 4);
    for (int n = 1; n <= turns; ++n)
      way.arc({c.x + (n % 2 ? -ring : ring), c.y, -depth * n / turns}, c, std::acos(-1.0));
    way.arc({c.x - ring, c.y, -depth}, c, std::acos(-1.0));
    way.arc({c.x + ring, c.y, -depth}, c, std::acos(-1.0));
    way.rapid({c.x + ring, c.y, 5});
  } else {
    y += diameter + pick(5, 12);
    slot(false);
  }
  way.over({0, 0});
  return way.moves;
}

inline Job random_job(std::uint64_t seed) {
  std::mt19937_64 random(seed);
  const auto pick = [&](double low, double high) {
    return low + (high - low) * std::uniform_real_distribution<double>(0, 1)(random);
  };
  const double diameter = pick(4, 8);
  Job job;
  job.scene = scene_of(300, diameter, pick(10, 25));
  job.scene.voxel_mm = 1;
  for (const double x : {-90.0, 90.0})
    job.groups.push_back(random_group(random, diameter, {x, 0}));
  return job;
}

/// One way to write a motion.
struct Writing {
  std::string name;
  int pieces = 1;      ///< of each move
  double chord_mm = 0; ///< arcs as chords this near to them; 0: as arcs
  double turn_deg = 0;
  bool mirrored = false; ///< x to -x
  Vec3 shift_mm;
  bool other_order = false; ///< groups from the last to the first
};

inline Path written(const Job& job, const Writing& how) {
  std::vector<std::vector<Move>> groups = job.groups;
  if (how.other_order)
    std::reverse(groups.begin(), groups.end());
  Path path;
  const double c = std::cos(how.turn_deg * std::acos(-1.0) / 180),
               s = std::sin(how.turn_deg * std::acos(-1.0) / 180);
  const auto placed2 = [&](Vec2 p) {
    if (how.mirrored)
      p.x = -p.x;
    return Vec2{c * p.x - s * p.y + how.shift_mm.x, s * p.x + c * p.y + how.shift_mm.y};
  };
  const auto placed = [&](Vec3 p) {
    const Vec2 q = placed2({p.x, p.y});
    return Vec3{q.x, q.y, p.z + how.shift_mm.z};
  };
  for (const std::vector<Move>& group : groups)
    for (const Move& whole : group) {
      int pieces = how.pieces;
      if (whole.kind == MoveKind::arc && how.chord_mm > 0) {
        const double radius = norm(xy(whole.from) - whole.centre);
        pieces = static_cast<int>(
            std::ceil(std::abs(arc_turn_rad(whole)) / (2 * std::acos(1 - how.chord_mm / radius))));
      }
      Vec3 from = whole.from;
      for (int k = 0; k < pieces; ++k) {
        Move piece = part_of(whole, static_cast<double>(k) / pieces, (k + 1.0) / pieces);
        piece.from = from; // joints meet to the bit
        if (k + 1 == pieces)
          piece.to = whole.to;
        from = piece.to;
        if (whole.kind == MoveKind::arc && how.chord_mm > 0) {
          piece.kind = MoveKind::line;
          piece.turn_rad = 0;
        }
        piece.from = placed(piece.from);
        piece.to = placed(piece.to);
        piece.centre = placed2(piece.centre);
        if (how.mirrored)
          piece.turn_rad = -piece.turn_rad, piece.spindle_rpm = -piece.spindle_rpm;
        path.moves.push_back(piece);
      }
    }
  path.start_mm = path.moves.front().from;
  return path;
}

/// A scene for it; the sheet is wide enough that its edge bears on nothing.
inline Scene scene_for(const Job& job, const Writing& how) {
  Scene scene = job.scene;
  scene.sheet.low = scene.sheet.low + how.shift_mm;
  scene.sheet.high = scene.sheet.high + how.shift_mm;
  return scene;
}

/// Spots of the job by the formula: cut, watched, judged and merged as a preview does, without its other
/// checks.
inline Merged spots_of(const Job& job, const Writing& how) {
  const Scene scene = scene_for(job, how);
  const Path path = written(job, how);
  CutOptions options_of_cut;
  options_of_cut.voxel_mm = scene.voxel_mm;
  const Outcome<RemovalRecord> record =
      RemovalRecord::cut(stock_of(scene), scene.cutters, path, options_of_cut);
  if (!record)
    return {};
  const FoamCard& foam = scene.layers.front().foam;
  WatchOptions options;
  options.reach_mm = foam.bite_depth_mm.nominal;
  options.thin_mm = 1.1 * options.reach_mm;
  options.b_p_mm = contact_length_mm(0.5 * scene.cutters.front().diameter_mm, options.reach_mm);
  options.nu = foam.nu.nominal;
  options.least_gamma = 0.25 / foam.lambda.high;
  const double spacing_mm = 0.25 * scene.cutters.front().diameter_mm;
  std::vector<Sample> samples = sample_path(path, spacing_mm, scene.sheet.high.z);
  Watched watched = watch(*record, path, scene.cutters, samples, options);
  Judged judged = judge_walls(watched.walls, samples, path, scene);
  return merge_spots(watched.walls, judged, samples, *record, path, plan_motion(path, scene.machine), scene,
                     options, spacing_mm);
}

/// Worst S of each web that could reach one half at the upper end of the band, greatest first: weaker ones
/// the watch may pass over.
inline std::vector<double> webs_of(const Job& job, const Writing& how) {
  const Merged found = spots_of(job, how);
  std::vector<double> s;
  for (const WebFound& web : found.webs) {
    double worst = 0, high = 0;
    for (const Spot& spot : found.spots)
      if (spot.web == web.id)
        worst = std::max(worst, spot.s()), high = std::max(high, spot.answer.s_high);
    if (high > 0.5)
      s.push_back(worst);
  }
  std::sort(s.begin(), s.end(), std::greater<>());
  return s;
}

inline std::vector<Writing> ways() {
  std::vector<Writing> ways;
  for (const int pieces : {2, 10, 50}) {
    Writing one;
    one.name = std::to_string(pieces) + " pieces", one.pieces = pieces;
    ways.push_back(one);
  }
  Writing one;
  one.name = "chords", one.chord_mm = 0.01;
  ways.push_back(one);
  for (const double turn : {30.0, 90.0, 137.3}) {
    one = {};
    one.name = "turned " + std::to_string(static_cast<int>(turn)), one.turn_deg = turn;
    ways.push_back(one);
  }
  one = {};
  one.name = "mirrored", one.mirrored = true;
  ways.push_back(one);
  one = {};
  one.name = "shifted", one.shift_mm = {12.34, -7.89, 3.21};
  ways.push_back(one);
  one = {};
  one.name = "other order", one.other_order = true;
  ways.push_back(one);
  return ways;
}

} // namespace snagmap::same_motion
