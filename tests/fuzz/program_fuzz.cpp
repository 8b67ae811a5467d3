// Any bytes as an NC program: no crash, no hang; a path of finite moves in a finite time, or faults that say something.
#include "models/machine.hpp"
#include "sim/motion.hpp"
#include "sim/program.hpp"

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <string>

namespace {

void demand(bool fact) {
  if (!fact)
    __builtin_trap();
}

bool finite(snagmap::Vec3 p) { return std::isfinite(p.x) && std::isfinite(p.y) && std::isfinite(p.z); }

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  const auto path = snagmap::parse_program(text, "fuzz.nc", {});
  if (!path) {
    demand(!path.faults().empty());
    for (const snagmap::Fault& fault : path.faults())
      demand(!fault.what.empty() && !snagmap::to_text(fault).empty());
    return 0;
  }
  for (const snagmap::Move& move : path->moves) {
    demand(finite(move.from) && finite(move.to) && finite(snagmap::point_at(move, 0.5)));
    demand(std::isfinite(snagmap::length_mm(move)) && snagmap::length_mm(move) >= 0);
  }
  const snagmap::Motion motion = snagmap::plan_motion(*path, snagmap::machine_cards().front());
  demand(path->moves.empty() || std::isfinite(motion.total_s()));
  return 0;
}
