// One motion written in many ways: how far apart are the webs and their S. The demo with every web by
// elements. `spread [JOBS [FIRST]]`: the first alone, with what disagrees; `shapes`: shapes of many kinds
// against outside elements; `screen [COUNT]`: random shapes at the formula's screen.
#include "tests/bench/elements/conforming.hpp"
#include "tests/bench/elements/screen.hpp"
#include "tests/bench/elements/spread.hpp"
#include "tests/bench/elements/webs.hpp"
#include "tests/bench/measure.hpp"

#include <cstdlib>
#include <string>

using namespace snagmap;

int main(int argc, char** argv) {
  if (argc > 1 && std::string(argv[1]) == "shapes") {
    measure_shapes();
    return 0;
  }
  if (argc > 1 && std::string(argv[1]) == "screen") {
    measure_screen(argc > 2 ? std::atoi(argv[2]) : 2000);
    return 0;
  }
  if (argc > 1 && std::string(argv[1]) == "spread") {
    const auto number = [&](int n, int otherwise) {
      return argc > n ? std::max(1, std::atoi(argv[n])) : otherwise;
    };
    measure_spread(number(3, 1), number(2, 39), true);
    return 0;
  }
  measure_spread(1, argc > 1 ? std::max(1, std::atoi(argv[1])) : 12, false);
  measure_shapes();
  measure_webs();
}
