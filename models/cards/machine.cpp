#include "models/cards/machine.hpp"

namespace snagmap {
namespace {

std::vector<MachineCard> make_catalogue() {
  const char* source = "common practice, no source";
  MachineCard belt;
  belt.name = "belt-gantry", belt.title = "light belt-driven gantry router", belt.source = source;
  belt.feed_mm_min = {8000, 8000, 2500}, belt.rapid_mm_min = {10000, 10000, 3000};
  belt.acceleration_mm_s2 = {500, 500, 200};
  belt.spindle_min_rpm = 8000, belt.spindle_max_rpm = 24000;
  belt.spindle_run_up_s = 3, belt.tool_change_s = 120;

  MachineCard screw = belt;
  screw.name = "screw-gantry", screw.title = "screw-driven gantry router";
  screw.feed_mm_min = {6000, 6000, 3000}, screw.rapid_mm_min = {8000, 8000, 4000};
  screw.acceleration_mm_s2 = {400, 400, 250};

  MachineCard rack = belt;
  rack.name = "rack-gantry", rack.title = "sheet-size gantry router on racks";
  rack.feed_mm_min = {20000, 20000, 8000}, rack.rapid_mm_min = {30000, 30000, 10000};
  rack.acceleration_mm_s2 = {1500, 1500, 1000};
  rack.spindle_run_up_s = 5, rack.tool_change_s = 15;

  MachineCard mill = belt;
  mill.name = "vertical-mill", mill.title = "small vertical mill";
  mill.feed_mm_min = {8000, 8000, 8000}, mill.rapid_mm_min = {15000, 15000, 12000};
  mill.acceleration_mm_s2 = {2000, 2000, 2000};
  mill.spindle_min_rpm = 100, mill.spindle_max_rpm = 10000;
  mill.spindle_run_up_s = 2, mill.tool_change_s = 8;
  return {belt, screw, rack, mill};
}

} // namespace

const std::vector<MachineCard>& machine_cards() {
  static const std::vector<MachineCard> cards = make_catalogue();
  return cards;
}

} // namespace snagmap
