// Random features of every kind that a program leaves standing, cut, watched and judged: what the formula
// screens.
#pragma once

#include "sim/judge/spots.hpp"
#include "sim/motion/motion.hpp"
#include "tests/sim/conforming_shapes.hpp"

#include <memory>
#include <random>

namespace snagmap::testing {

struct ScreenedJob {
  std::string name;
  std::shared_ptr<RemovalRecord> record;
  Scene scene;
  std::vector<Spot> spots; ///< by the formula
};

class RandomShape {
public:
  explicit RandomShape(std::uint64_t seed) : random_(seed * 7919 + 1) {
    const double kind = pick(0, 16);
    h_ = pick(8, 22), w_ = pick(3, 10);
    if (pick(0, 1) < 0.15)
      under_ = 0;
    const double run = pick(15, 30); // half of the pockets along the wall
    switch (int(kind)) {
    case 0:
      named("straight"), near(run), far(run);
      break;
    case 1:
      named("two floors"), near(run), far(run, w_, under_ > 0 ? -pick(2, 8) : 0);
      break;
    case 2:
      named("round post"), ring(0.5 * pick(5, 14));
      break;
    case 3:
      named("post of corners"), polygon(3 + int(pick(0, 6)), 0.5 * pick(5, 12), pick(0, 90));
      break;
    case 4: {
      named("ring wall");
      const double inner = pick(7, 18);
      cut("disc", {0, inner, inner, 0}), cut("ring", {0, inner, inner + w_, inner + w_ + 16, 0});
      break;
    }
    case 5: {
      named("arc wall");
      const double inner = pick(14, 30), half = pick(5, 12);
      cut("disc", {0, inner, inner, 0}), cut("ring", {0, inner, inner + w_, inner + w_ + 14, 0});
      cut("rect", {half, -w_ - 10, half + 12, inner, 0, 2});
      cut("rect", {-half - 12, -w_ - 10, -half, inner, 0, 2});
      break;
    }
    case 6: {
      named("neck");
      const double a = pick(4, 14), b = pick(4, 14);
      cut("disc", {0, a, a, 0}), cut("disc", {pick(-3, 3), -w_ - b, b, 0});
      break;
    }
    case 7: {
      named("wedge"), near(run);
      const double slope = pick(0.05, 0.5), r = 8;
      const double off = w_ + r * std::sqrt(1 + slope * slope);
      cut("slot", {-run, -off + slope * run, run, -off - slope * run, r, 0});
      break;
    }
    case 8:
      named("step behind"), near(run), far(run);
      thinner(run, pick(0.2, 0.8) * h_, pick(0.25, 0.8) * w_);
      break;
    case 9:
      named("taper in steps"), near(run), far(run);
      for (int n = 1; n < 4; ++n)
        thinner(run, 0.25 * n * h_, (1 - 0.2 * n * pick(0.3, 1)) * w_);
      break;
    case 10: {
      named("notch"), near(run), far(run);
      const double at = pick(-6, 6), wide = pick(4.5, 10);
      cut("rect", {at, -w_ - 10, at + wide, 12, pick(0.1, 0.8) * h_, 2});
      break;
    }
    case 11: {
      named("holes"), near(run), far(run);
      for (int n = 0; n < 2; ++n)
        cut("disc", {pick(-8, 8), -0.5 * w_, pick(0.2, 0.4) * w_, 0});
      break;
    }
    case 12: {
      named("junction"), near(run);
      const double rib = pick(2, 6), at = pick(-8, 8);
      cut("rect", {-run, -w_ - 14, at - 0.5 * rib, -w_, 0, 2});
      cut("rect", {at + 0.5 * rib, -w_ - 14, run, -w_, 0, 2});
      break;
    }
    case 13: {
      named("undercut"), near(run), far(run);
      const double deep = pick(0.1, 0.35) * w_, high = pick(0.1, 0.4) * h_;
      cut("under", {-run + 4, run - 4, -w_ - 3 + deep, 3, 0, high});
      if (pick(0, 1) < 0.5)
        cut("under", {-run + 4, run - 4, 3 - deep, 3, 0, high});
      break;
    }
    case 14:
      named("sheet's edge"), edge_ = -w_, near(run);
      break;
    default: {
      named("end"), near(run), far(run);
      const double at = pick(0.5, 8);
      if (pick(0, 1) < 0.7)
        cut("rect", {at, -w_ - 14, at + 12, 14, 0, 2});
      break;
    }
    }
    std::shuffle(shape_.cuts.begin(), shape_.cuts.end(), random_);
    std::stable_partition(shape_.cuts.begin(), shape_.cuts.end(), // what undercuts needs room
                          [](const ConformingShape::Cut& c) { return c.kind != "under"; });
  }

  /// The whole of it cut, watched and judged as a preview does.
  ScreenedJob job() const {
    const double size = 50;
    ScreenedJob job;
    job.name = shape_.name;
    const Box3 sheet{{-size, edge_, -under_}, {size, size, h_}};
    ShapeProgram program(h_);
    for (const ConformingShape::Cut& c : shape_.cuts)
      program.add(c);
    const Path path = path_of(linked(program.moves));
    job.scene = scene_for(sheet);
    job.scene.cutters = program.cutters, job.scene.machine = machine_cards().front();
    job.scene.rigid_floor = true;
    job.record = std::make_shared<RemovalRecord>(cut(sheet, program.cutters, path, 0.5));
    WatchOptions options;
    options.rigid_floor = true;
    constexpr double kSpacing_mm = 2;
    std::vector<Sample> samples = sample_path(path, kSpacing_mm, h_);
    Watched watched = watch(*job.record, path, program.cutters, samples, options);
    Judged judged = judge_walls(watched.walls, samples, path, job.scene);
    job.spots = merge_spots(watched.walls, judged, samples, *job.record, path,
                            plan_motion(path, job.scene.machine), job.scene, options, kSpacing_mm)
                    .spots;
    return job;
  }

private:
  double pick(double low, double high) { return low + (high - low) * double(random_() >> 11) * 0x1p-53; }
  void named(const char* name) { shape_.name = name; }
  void cut_by(const ConformingShape::Cut& c) { shape_.cuts.push_back(c); }
  void cut(const char* kind, std::vector<double> value) { cut_by({kind, std::move(value)}); }
  static RemovalRecord cut(const Box3& sheet, const std::vector<CutterCard>& cutters, const Path& path,
                           double voxel_mm) {
    return snagmap::testing::cut(sheet, cutters, path, voxel_mm);
  }
  void near(double run) { cut("rect", {-run, 0, run, 14, 0, 2}); }
  void far(double run, double w, double floor) { cut("rect", {-run, -w - 14, run, -w, floor, 2}); }
  void far(double run) { far(run, w_, 0); }
  void thinner(double run, double from_z, double w) { cut("rect", {-run, -w_ - 14, run, -w, from_z, 2}); }
  void ring(double r) { cut("ring", {0, -r, r, r + 16, 0}); }
  void polygon(int corners, double r, double turn) {
    cut("poly", {0, -r, double(corners), r, turn, r / std::cos(kPi / corners) + 14, 0});
  }
  /// Lifted over the sheet from cut to cut, and down again where there is room: an undercut from beside.
  std::vector<Move> linked(const std::vector<Move>& moves) const {
    std::vector<Move> all;
    Vec3 at{0, 0, h_ + 10};
    const auto to = [&](Vec3 p, MoveKind kind, std::int16_t tool) {
      if (norm(p - at) < 1e-9)
        return;
      Move move = line(at, p, kind);
      move.tool = tool;
      all.push_back(move);
      at = p;
    };
    const double over = h_ + 10;
    for (const Move& move : moves) {
      const bool under = move.kind == MoveKind::line && move.from.y == move.to.y &&
                         std::any_of(shape_.cuts.begin(), shape_.cuts.end(), [&](const auto& c) {
                           return c.kind == "under" && c.value[2] == move.from.y && c.value[0] == move.from.x;
                         });
      const Vec3 aside{0, move.from.y > -0.5 * w_ ? 5.0 : -5.0, 0};
      const Vec3 first = under ? move.from + aside : move.from;
      if (norm(at - move.from) > 1e-9) {
        to({at.x, at.y, over}, MoveKind::rapid, move.tool);
        to({first.x, first.y, over}, MoveKind::rapid, move.tool);
        to(first, MoveKind::line, move.tool);
        to(move.from, MoveKind::line, move.tool);
      }
      all.push_back(move);
      at = move.to;
      if (under)
        to(move.to + aside, MoveKind::line, move.tool);
    }
    to({at.x, at.y, over}, MoveKind::rapid, all.back().tool);
    for (Move& move : all)
      move.spindle_rpm = 18000, move.feed_mm_min = move.kind == MoveKind::rapid ? 0 : 2000;
    return all;
  }

  std::mt19937_64 random_;
  ConformingShape shape_;
  double h_ = 12, w_ = 5, under_ = 14, edge_ = -50;
};

} // namespace snagmap::testing
