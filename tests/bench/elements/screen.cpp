#include "tests/bench/elements/screen.hpp"

#include "tests/bench/measure.hpp"
#include "tests/sim/screened.hpp"

using namespace snagmap;

void measure_screen(int shapes) {
  std::vector<std::vector<snagmap::testing::Screened>> all(static_cast<std::size_t>(shapes));
  parallel_each(all.size(), [&](std::size_t n) { all[n] = snagmap::testing::screened(n, 1); });
  int asked = 0, passed_over = 0;
  double most = 0;
  for (std::size_t seed = 0; seed < all.size(); ++seed)
    for (const snagmap::testing::Screened& one : all[seed]) {
      ++asked, passed_over += one.most_s_high >= 0.5;
      if (one.over_formula > most || one.most_s_high >= 0.5)
        std::printf("  seed %zu, %s, spot %zu: elements %.2f times the formula\n", seed, one.name.c_str(),
                    one.spot, one.over_formula);
      most = std::max(most, one.over_formula);
    }
  std::printf("%d webs of %d random shapes: elements at most %.2f times the formula\n", asked, shapes, most);
  bench::goal("screen_passes_over", passed_over, 0, true);
}
