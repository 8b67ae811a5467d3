// One motion written in many ways: how far apart are the webs and their S. The demo with every web by
// elements. `shapes`: shapes of many kinds against outside elements; `screen [COUNT]`: random shapes at the
// formula's screen.
#include "tests/bench/elements/conforming.hpp"
#include "tests/bench/elements/screen.hpp"
#include "tests/bench/elements/webs.hpp"
#include "tests/bench/measure.hpp"
#include "tests/sim/moment_jobs.hpp"

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
  const int jobs = argc > 1 ? std::max(1, std::atoi(argv[1])) : 12;
  const bool tell = argc > 2;
  std::setvbuf(stdout, nullptr, _IOLBF, 0);
  double worst = 0;
  int other_webs = 0, compared = 0;
  for (int seed = 1; seed <= jobs; ++seed) {
    const same_motion::Job job = same_motion::random_job(static_cast<std::uint64_t>(seed));
    const std::vector<double> as_it_is = same_motion::webs_of(job, {});
    if (tell) {
      std::printf("job %d:", seed);
      for (const double s : as_it_is)
        std::printf(" %.4f", s);
      std::printf("\n");
    }
    if (tell) {
      const Merged found = same_motion::spots_of(job, {});
      for (const Spot& spot : found.spots)
        std::printf(
            "  web %d pass %d S %.4f w %.3f h %.2f d %.2f %.2f at %.2f %.2f %.2f n %.3f %.3f move %u %.3f\n",
            spot.web, spot.pass, spot.s(), spot.question.web.w_mm, spot.question.web.h_mm,
            spot.question.web.d1_mm, spot.question.web.d2_mm, spot.place_mm.x, spot.place_mm.y,
            spot.place_mm.z, spot.normal.x, spot.normal.y, spot.move, spot.move_share);
    }
    for (const same_motion::Writing& how : same_motion::ways()) {
      const std::vector<double> again = same_motion::webs_of(job, how);
      ++compared;
      double most = 0;
      if (again.size() != as_it_is.size())
        ++other_webs;
      for (std::size_t n = 0; n < std::min(again.size(), as_it_is.size()); ++n)
        most = std::max(most, 100 * std::abs(again[n] / as_it_is[n] - 1));
      worst = std::max(worst, most);
      if (most > 1 || again.size() != as_it_is.size()) {
        std::printf("job %d, %s: %zu webs for %zu, S up to %.3g %% apart", seed, how.name.c_str(),
                    again.size(), as_it_is.size(), most);
        if (tell)
          for (const double s : again)
            std::printf(" %.4f", s);
        std::printf("\n");
        if (tell)
          for (const Spot& spot : same_motion::spots_of(job, how).spots)
            std::printf("  : web %d pass %d S %.4f w %.3f h %.2f d %.2f %.2f at %.2f %.2f %.2f n %.3f %.3f "
                        "move %u %.3f\n",
                        spot.web, spot.pass, spot.s(), spot.question.web.w_mm, spot.question.web.h_mm,
                        spot.question.web.d1_mm, spot.question.web.d2_mm, spot.place_mm.x, spot.place_mm.y,
                        spot.place_mm.z, spot.normal.x, spot.normal.y, spot.move, spot.move_share);
      }
    }
  }
  std::printf("%d writings of %d jobs\n", compared, jobs);
  bench::goal("split_rotate_other_webs", other_webs, 0, true);
  bench::goal("split_rotate_spread_percent", worst, 1, true);
  measure_shapes();
  measure_webs();
}
