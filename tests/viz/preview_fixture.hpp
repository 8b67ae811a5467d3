// A small preview made by hand: two rectangular pockets with a web between them, one spot of each level.
// Hand-made so that a view can be checked against numbers nobody computed.
#pragma once

#include "sim/preview/preview.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

namespace snagmap {

constexpr double kFixtureWeb_mm = 8; ///< the web stands at -4 <= x <= 4
constexpr double kFixtureDepth_mm = 24;

/// Clears a rectangular pocket in passes, zigzag 3 mm apart.
inline void clear_pocket(std::vector<Move>& moves, Vec2 low, Vec2 high, double radius, double depth_mm,
                         double pass_mm, std::int32_t& line) {
  const auto go = [&](Vec3 to, MoveKind kind, float feed) {
    Move move;
    move.from = moves.empty() ? Vec3{0, 0, 20} : moves.back().to;
    move.to = to;
    move.kind = kind;
    move.feed_mm_min = feed;
    move.spindle_rpm = 18000;
    move.line = ++line;
    moves.push_back(move);
  };
  const Vec2 a{low.x + radius, low.y + radius}, b{high.x - radius, high.y - radius};
  go({a.x, a.y, 5}, MoveKind::rapid, 0);
  for (double z = -pass_mm; z > -depth_mm - pass_mm + 1e-9; z -= pass_mm) {
    const double tip = std::max(z, -depth_mm);
    go({a.x, a.y, tip}, MoveKind::line, 800);
    bool up = true;
    for (double x = a.x; x < b.x + 3 - 1e-9; x += 3) {
      const double at = std::min(x, b.x);
      go({at, up ? a.y : b.y, tip}, MoveKind::line, 3000);
      go({at, up ? b.y : a.y, tip}, MoveKind::line, 3000);
      up = !up;
    }
    for (const Vec2 corner : {a, Vec2{b.x, a.y}, b, Vec2{a.x, b.y}, a})
      go({corner.x, corner.y, tip}, MoveKind::line, 3000);
  }
  go({a.x, a.y, 5}, MoveKind::rapid, 0);
}

inline CutterCard fixture_cutter(double flutes_mm) {
  CutterCard cutter;
  cutter.name = flutes_mm > 10 ? "long" : "stub";
  cutter.title = flutes_mm > 10 ? "6.35 mm, long flutes" : "6.35 mm, stub flutes, relieved neck";
  cutter.diameter_mm = 6.35;
  cutter.flute_length_mm = flutes_mm;
  cutter.neck_diameter_mm = flutes_mm > 10 ? 0 : 4.35;
  cutter.neck_length_mm = flutes_mm > 10 ? 0 : 24;
  cutter.shank_diameter_mm = 6.35;
  cutter.stick_out_mm = 45;
  cutter.nut_diameter_mm = 19;
  cutter.nut_length_mm = 11;
  return cutter;
}

inline FoamCard fixture_foam() {
  FoamCard foam;
  foam.name = "pu-22";
  foam.title = "open-cell polyurethane, 22 kg/m3";
  foam.density_kg_m3 = 22;
  foam.E_kPa = {50, 25, 100, "fixture", true};
  foam.nu = {0.3, 0, 0.45, "fixture", true};
  foam.Gc_N_mm = {0.6, 0.3, 1.9, "fixture", true};
  foam.tensile_kPa = {100, 55, 200, "fixture", true};
  foam.bite_depth_mm = {1, 0.3, 2, "fixture", true};
  foam.lambda = {0.305, 0.22, 0.42, "common practice, no source", true};
  return foam;
}

inline Preview fixture_preview(double voxel_mm = 0.5) {
  Preview p;
  p.scene.title = "two pockets";
  p.scene.file = "two-pockets.toml";
  p.scene.text = "[sheet]\nfoam = \"pu-22\"\n# <none> & \"quoted\"\n";
  p.scene.sheet = {{-45, -30, -40}, {45, 30, 0}};
  p.scene.layers = {{fixture_foam(), 40}};
  p.scene.cutters = {fixture_cutter(22)};
  p.scene.voxel_mm = voxel_mm;
  p.scene.machine.name = p.scene.machine.title = "light gantry";
  p.scene.assumed = {{"", "[sheet]", "thickness", "", {{40, Dimension::length}}, why::Source{"not given"}}};
  std::int32_t line = 10;
  const double half = kFixtureWeb_mm / 2, r = 3.175;
  clear_pocket(p.path.moves, {-36, -20}, {-half, 20}, r, kFixtureDepth_mm, 6, line);
  clear_pocket(p.path.moves, {half, -20}, {36, 20}, r, kFixtureDepth_mm, 6, line);
  double clock = 0;
  for (const Move& move : p.path.moves) {
    const double speed = move.kind == MoveKind::rapid ? 100 : move.feed_mm_min / 60.0;
    p.motion.start_s.push_back(clock);
    for (auto* list : {&p.motion.speed_in_mm_s, &p.motion.speed_peak_mm_s, &p.motion.speed_out_mm_s})
      list->push_back(static_cast<float>(speed));
    p.motion.acceleration_mm_s2.push_back(500);
    clock += length_mm(move) / speed;
  }
  p.motion.start_s.push_back(clock);
  CutOptions options;
  options.voxel_mm = voxel_mm;
  Outcome<RemovalRecord> record = RemovalRecord::cut({p.scene.sheet}, p.scene.cutters, p.path, options);
  if (!record)
    ADD_FAILURE() << to_text(record.faults().front());
  else
    p.record = std::make_shared<const RemovalRecord>(std::move(*record));
  WebFound web;
  web.midline_mm = {{0, -20}, {0, 20}};
  web.w_mm = kFixtureWeb_mm;
  web.h_mm = kFixtureDepth_mm;
  web.length_mm = 40;
  web.d1_mm = web.d2_mm = 20;
  web.root_z_mm = -kFixtureDepth_mm;
  web.end1 = web.end2 = WebEnd::built_in;
  p.webs = {web};
  // Samples along the second pocket's wall beside the web: S grows with depth; four passes.
  for (std::uint32_t m = 0; m < p.path.moves.size(); ++m) {
    const Move& move = p.path.moves[m];
    if (move.kind != MoveKind::line)
      continue;
    const int n = std::max(1, static_cast<int>(length_mm(move) / 1.6));
    for (int k = 0; k < n; ++k) {
      PathSample s;
      s.move = m;
      s.share = (static_cast<float>(k) + 0.5f) / static_cast<float>(n);
      const Vec3 tip = point_at(move, s.share);
      s.time_s =
          static_cast<float>(p.motion.start_s[m] + s.share * (p.motion.start_s[m + 1] - p.motion.start_s[m]));
      s.x_mm = static_cast<float>(tip.x);
      s.y_mm = static_cast<float>(tip.y);
      s.z_mm = static_cast<float>(tip.z);
      s.feed_mm_min = move.feed_mm_min;
      s.chip_mm = move.feed_mm_min / (2 * 18000);
      if (std::abs(tip.x - half - r) < 0.01 && tip.z < 0) {
        s.web = 0;
        s.w_mm = static_cast<float>(kFixtureWeb_mm);
        s.s = static_cast<float>(1.6 * (-tip.z / kFixtureDepth_mm) * (1 - 0.5 * std::abs(tip.y) / 17));
        s.lean_mm = s.s < 1 ? 0.4f * s.s : 0;
        s.wall_x_mm = static_cast<float>(half);
        s.wall_y_mm = s.y_mm;
        s.root_z_mm = s.z_mm;
        s.top_z_mm = 0;
      }
      p.samples.push_back(s);
    }
  }
  p.sample_count = p.samples.size();
  // One spot for each pass: its worst sample.
  for (int pass = 1; pass <= 4; ++pass) {
    const PathSample* worst = nullptr;
    for (const PathSample& s : p.samples)
      if (s.web == 0 && std::abs(s.z_mm + 6 * pass) < 0.01 && (!worst || s.s > worst->s))
        worst = &s;
    if (!worst)
      continue;
    Spot spot;
    spot.id = 4 - pass;
    spot.pass = pass - 1;
    spot.place_mm = {half, worst->y_mm, worst->root_z_mm};
    spot.tip_mm = {worst->x_mm, worst->y_mm, worst->z_mm};
    spot.normal = {1, 0};
    spot.move = worst->move;
    spot.move_share = worst->share;
    spot.time_s = worst->time_s;
    spot.program_line = p.path.moves[worst->move].line;
    spot.question.web.w_mm = kFixtureWeb_mm;
    spot.question.web.h_mm = 6.0 * pass;
    spot.question.web.d1_mm = spot.question.web.d2_mm = 20;
    spot.question.web.end1 = spot.question.web.end2 = WebEnd::built_in;
    spot.question.web.b_p_mm = 4.6;
    spot.question.contact = {0, std::min(22.0, 6.0 * pass)};
    spot.question.pass_depth_mm = 6;
    spot.question.tolerance_mm = 0.25;
    spot.question.gap_mm.fill(0);
    for (std::size_t i = 6; i < kSlices; ++i)
      spot.question.gap_mm[i] = 0.3;
    spot.a_mm = spot.question.contact.high_mm;
    spot.answer.gamma = worst->s / 0.305;
    spot.answer.s = worst->s;
    spot.answer.s_low = 0.72 * worst->s;
    spot.answer.s_high = 1.38 * worst->s;
    spot.answer.s_touch = 0.6 * worst->s;
    spot.answer.has_lean = worst->s < 1;
    spot.answer.lean_mm = spot.answer.has_lean ? 0.4 * worst->s : 0;
    spot.answer.lean_low_mm = 0.5 * spot.answer.lean_mm;
    spot.answer.lean_high_mm = 1.6 * spot.answer.lean_mm;
    spot.answer.u_max_mm = 2 * spot.answer.lean_mm;
    spot.answer.open = spot.answer.s_low < 1 && spot.answer.s_high > 1;
    spot.answer.level = worst->s >= 1 ? Level::tears : worst->s >= 0.5 ? Level::leans : Level::firm;
    spot.answer.root_load_ratio = 0.7;
    for (std::size_t i = 0; i < kSlices; ++i)
      spot.answer.mode[i] =
          std::pow((static_cast<double>(i) + 0.5) / kSlices, 1.5) / std::pow(11.5 / 12, 1.5);
    spot.feed_mm_min = 3000;
    spot.chip_mm = 3000.0 / 36000;
    spot.samples = 20;
    spot.reasons = {reason::FlutesPastPass{22, 16, 0.6}, reason::FreeEndNear{8}};
    p.spots.push_back(spot);
  }
  std::sort(p.spots.begin(), p.spots.end(),
            [](const Spot& a, const Spot& b) { return a.answer.s > b.answer.s; });
  p.findings.push_back(at_moment(fact::RapidInFoam{Zone::flutes, 1, 12, 12}, 12, 1.5, {0, 0, -1}, true));
  p.notes = {note::Remark{RemarkKind::start_assumed, 0, {}, Vec3{0, 0, 20}, {}}};
  p.assumptions = {{"", "[collet]", "", "none", {}, why::Source{"not given"}}};
  return p;
}

} // namespace snagmap
