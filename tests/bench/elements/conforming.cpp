#include "tests/bench/elements/conforming.hpp"

#include "sim/verify/verify.hpp"
#include "tests/bench/measure.hpp"
#include "tests/sim/conforming_shapes.hpp"

using namespace snagmap;

void measure_shapes() {
  int all = 0, within = 0;
  double seconds = 0;
  std::puts("S of the shapes of scripts/conforming_shapes.txt over that of the outside elements");
  for (const snagmap::testing::ConformingShape& shape : snagmap::testing::conforming_shapes()) {
    const snagmap::testing::WebCase web = snagmap::testing::built(shape);
    const SolidCheck check = verify_spot(web.record, web.scene, web.spot);
    const double off = check.verified ? 100 * (check.answer.s / shape.s - 1) : 0;
    ++all, within += check.verified && std::abs(off) <= 5;
    seconds += check.seconds;
    std::printf("  %-22s S %8.4f (meshes %4.1f %% apart): elements %+6.1f %%, formula %+6.1f %%  %7d "
                "unknowns %.2f s%s%s\n",
                shape.name.c_str(), shape.s, shape.apart_percent, off,
                100 * (web.spot.answer.s / shape.s - 1), check.unknowns, check.seconds,
                check.verified ? "" : " NOT SOLVED: ", check.why_not ? kind_text(*check.why_not) : "");
  }
  std::printf("%d of %d shapes within 5 %%, %.1f s\n", within, all, seconds);
  bench::goal("within_5_percent_of_conforming", all ? 100.0 * within / all : 0, 95, false);
}
