// A straight slot in a small sheet as a test job: its scene, and the whole preview of a program in it.
#pragma once

#include "sim/checks/job_checks.hpp"
#include "sim/preview/preview.hpp"

#include <gtest/gtest.h>

#include <string>

namespace snagmap::slot {

/// 140 x 60 x 20 mm, zero on top; a flat cutter of 6 mm with 12 mm of flutes on a machine of equal axes.
inline Scene scene() {
  Scene scene;
  scene.sheet = {{-20, -30, -20}, {120, 30, 0}};
  scene.sheet_given = scene.thickness_given = true;
  scene.layers = {{*find_foam("pu-22"), 20}};
  CutterCard cutter;
  cutter.name = "own";
  cutter.diameter_mm = cutter.shank_diameter_mm = 6;
  cutter.flute_length_mm = 12;
  cutter.stick_out_mm = 40;
  cutter.nut_diameter_mm = 28, cutter.nut_length_mm = 17;
  cutter.holder_diameter_mm = 65, cutter.holder_length_mm = 100;
  scene.cutters = {cutter};
  scene.machine.feed_mm_min = scene.machine.rapid_mm_min = {8000, 5000, 3000};
  scene.machine.acceleration_mm_s2 = {500, 500, 500};
  scene.machine.spindle_min_rpm = 8000, scene.machine.spindle_max_rpm = 24000;
  scene.machine.spindle_run_up_s = 3, scene.machine.tool_change_s = 90;
  return scene;
}

/// Line 1 of `lines` is line 3 of the program; the tip waits at X0 Y0 Z5 with the spindle on. Every
/// move ends at rest.
inline Preview run(Scene scene, const std::string& lines) {
  scene.program_file = "slot.nc";
  scene.program_text = "G21 G90 G61.1 T1 M6\nS18000 M3 G0 X0 Y0 Z5\n" + lines + "\nM30\n";
  PreviewOptions options;
  options.verify = SolveChoice::none();
  Outcome<Preview> found = preview(scene, options);
  if (!found) {
    ADD_FAILURE() << to_text(found.faults().front());
    return {};
  }
  return std::move(*found);
}

/// The first finding of a kind, or none.
inline const Finding* finding(const Preview& preview, FindingKind kind) {
  for (const Finding& one : preview.findings)
    if (one.kind() == kind)
      return &one;
  return nullptr;
}

/// What the first finding of a kind says, or nothing.
template <class What> const What* fact_of(const Preview& preview) {
  const Finding* found = finding(preview, What::kind);
  return found ? &std::get<What>(found->what) : nullptr;
}

} // namespace snagmap::slot
