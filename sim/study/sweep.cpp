#include "sim/study/sweep.hpp"

#include "sim/preview/preview.hpp"
#include "sim/study/straight_wall.hpp"
#include "sim/study/wall_spots.hpp"
#include "sim/text/csv.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <filesystem>
#include <fmt/format.h>

namespace snagmap {
namespace {

constexpr double kClear_mm = 62; // foam beyond the slots: thicker than any web the watch looks for
constexpr double kFinish_mm = 1; // left on each wall of a slot for the pass round it
constexpr double kFeed = 3000, kPlunge = 1500, kFloor_mm = 25;

double slot_mm(const CutterCard& cutter) {
  return cutter.diameter_mm + 2 * kFinish_mm;
}

/// Round a rectangular slot, layer by layer: along its middle, then round its walls.
void slot(std::string& nc, const SweepCase& which, Vec2 low, Vec2 high, double r) {
  const double x0 = low.x + r, x1 = high.x - r, y0 = low.y + r, y1 = high.y - r;
  nc += fmt::format("G0 X{:.4f} Y{:.4f}\n", x0, y0);
  double z = 0;
  while (z < which.height_mm - 1e-6) {
    z = std::min(z + which.pass_mm, which.height_mm);
    nc += fmt::format("G1 Z{:.4f} F{:g}\nG1 Y{:.4f} F{:g}\nG1 X{:.4f}\nG1 Y{:.4f}\nG1 X{:.4f}\n", -z, kPlunge,
                      y1, kFeed, x1, y0, x0);
  }
  nc += "G0 Z5\n";
}

/// Slots that cut both ends free come first, then the pocket on each side: the second frees the wall.
std::string wall_program(const SweepCase& which, const CutterCard& cutter, double length_mm) {
  const double s = slot_mm(cutter), r = 0.5 * cutter.diameter_mm, x = kClear_mm, y = kClear_mm + s,
               across = 2 * s + which.width_mm;
  std::string nc = "G21 G90 G17\nS18000 M3\nG0 Z5\n";
  for (const double end : {y - s, y + length_mm})
    slot(nc, which, {x, end}, {x + across, end + s}, r);
  for (const double side : {x, x + s + which.width_mm})
    slot(nc, which, {side, y - s}, {side + s, y + length_mm + s}, r);
  return nc + "M5\nM30\n";
}

/// S of the wall by the formula where the watch found no web, which looks for none so thick.
double formula_s(const SweepPlan& plan, const SweepCase& which, const CutterCard& cutter,
                 const FoamCard& foam) {
  StraightWall wall;
  wall.web.w_mm = which.width_mm, wall.web.h_mm = which.height_mm, wall.web.nu = foam.nu.nominal;
  wall.web.b_p_mm = contact_length_mm(0.5 * cutter.diameter_mm, foam.bite_depth_mm.nominal);
  wall.length_mm = plan.length_mm, wall.cutter_radius_mm = 0.5 * cutter.diameter_mm;
  wall.flute_length_mm = cutter.flute_length_mm;
  wall.pass_mm = std::min(which.pass_mm, cutter.flute_length_mm);
  return foam.lambda.nominal * worst_gamma(wall).value;
}

std::string number(double value) {
  return fmt::format("{:.6g}", value);
}

} // namespace

std::size_t case_count(const SweepPlan& plan) {
  const std::size_t walls = plan.passes_mm.size() * plan.widths_mm.size() * plan.heights_mm.size();
  return plan.foams.size() * plan.cutters.size() * (walls + plan.programs.size());
}

SweepCase case_at(const SweepPlan& plan, std::size_t at) {
  const std::size_t w = plan.widths_mm.size(), h = plan.heights_mm.size(),
                    walls = plan.passes_mm.size() * w * h;
  const std::size_t each = walls + plan.programs.size();
  SweepCase which;
  which.number = at;
  which.foam = at / each / plan.cutters.size(), which.cutter = at / each % plan.cutters.size();
  const std::size_t inner = at % each;
  if (inner >= walls) {
    which.program = inner - walls;
    return which;
  }
  which.pass_mm = plan.passes_mm[inner / (w * h)];
  which.height_mm = plan.heights_mm[inner / w % h];
  which.width_mm = plan.widths_mm[inner % w];
  return which;
}

Scene scene_of_case(const SweepPlan& plan, const SweepCase& which) {
  const CutterCard& cutter = plan.cutters[which.cutter];
  const FoamCard& foam = plan.foams[which.foam];
  Scene scene;
  if (which.program) {
    scene = plan.programs[*which.program];
    for (Layer& layer : scene.layers)
      layer.foam = foam;
  } else {
    const double across = 2 * slot_mm(cutter) + which.width_mm + 2 * kClear_mm,
                 along = plan.length_mm + 2 * slot_mm(cutter) + 2 * kClear_mm;
    scene.sheet = {{0, 0, -which.height_mm - kFloor_mm}, {across, along, 0}};
    scene.sheet_given = scene.thickness_given = true;
    scene.layers = {{foam, which.height_mm + kFloor_mm}};
    scene.machine = machine_cards().front();
    scene.program_file = "wall.nc";
    scene.program_text = wall_program(which, cutter, plan.length_mm);
  }
  scene.cutters = {cutter};
  scene.voxel_mm = plan.voxel_mm;
  return scene;
}

const char* sweep_columns() {
  return "case,program,foam,cutter,diameter_mm,flute_length_mm,pass_mm,width_mm,height_mm,length_mm,s,s_low,"
         "s_high,s_by,lean_mm,"
         "worst_s,worst_level,worst_line,spots_snagging,findings_that_stop,time_s,fault";
}

std::string run_case(const SweepPlan& plan, const SweepCase& which, double* pipeline_s) {
  const CutterCard& cutter = plan.cutters[which.cutter];
  const FoamCard& foam = plan.foams[which.foam];
  const bool wall = !which.program;
  const Scene scene = scene_of_case(plan, which);
  // Cells up to the walls' length, then up to lean_mm, up to worst_line, and the rest.
  std::vector<std::string> cells{std::to_string(which.number),
                                 wall ? "wall"
                                      : std::filesystem::path(scene.program_file).filename().string(),
                                 foam.name,
                                 cutter.name,
                                 number(cutter.diameter_mm),
                                 number(cutter.flute_length_mm)};
  const auto add = [&cells](std::initializer_list<std::string> more) {
    cells.insert(cells.end(), more.begin(), more.end());
  };
  if (wall)
    add({number(which.pass_mm), number(which.width_mm), number(which.height_mm), number(plan.length_mm)});
  else
    add({"", "", "", ""});
  PreviewOptions options;
  options.verify = SolveChoice::worst(static_cast<std::size_t>(plan.verify));
  const auto start = std::chrono::steady_clock::now();
  const Outcome<Preview> found = preview(scene, options);
  if (pipeline_s)
    *pipeline_s += std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  if (!found) {
    add({"", "", "", "", "", "", "", "", "", "", "", found.faults().front().what});
    return csv_row(cells);
  }

  const auto add_spot = [&](const Spot& spot) {
    add({number(spot.s()), number(spot.answer.s_low), number(spot.answer.s_high), "watch",
         wall && spot.answer.has_lean ? number(spot.answer.lean_mm) : ""});
  };
  if (wall) {
    const double s = slot_mm(cutter);
    const Vec2 corner{kClear_mm + s, kClear_mm + s};
    if (const Spot* worst =
            worst_of_wall(found->spots, corner, corner + Vec2{which.width_mm, plan.length_mm})) {
      add_spot(*worst);
    } else {
      const double by_formula = formula_s(plan, which, cutter, foam);
      add({number(by_formula), number(by_formula * foam.lambda.low / foam.lambda.nominal),
           number(by_formula * foam.lambda.high / foam.lambda.nominal), "formula", ""});
    }
  } else if (found->spots.empty()) {
    add({"", "", "", "", ""});
  } else {
    add_spot(found->spots.front());
  }
  const auto stops = std::count_if(found->findings.begin(), found->findings.end(),
                                   [](const Finding& f) { return f.stops_job; });
  const auto snagging =
      std::count_if(found->spots.begin(), found->spots.end(), [](const Spot& s) { return s.s() >= 1; });
  if (found->spots.empty())
    add({"", "", ""});
  else
    add({number(found->spots.front().s()), to_text(found->spots.front().level()),
         std::to_string(found->spots.front().program_line)});
  add({std::to_string(snagging), std::to_string(stops), number(found->motion.total_s()), ""});
  return csv_row(cells);
}

} // namespace snagmap
