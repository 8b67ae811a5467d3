// Scene in, spots out: snagmap as a library.
#include <sim/preview/preview.hpp>
#include <sim/results/results.hpp>

#include <cstdio>

int main(int argc, char** argv) {
  if (argc != 2)
    return 2;
  const auto scene = snagmap::read_scene(argv[1]);
  if (!scene) {
    for (const snagmap::Fault& fault : scene.faults())
      std::fprintf(stderr, "%s\n", snagmap::to_text(fault).c_str());
    return 2;
  }
  snagmap::PreviewOptions options;
  options.verify = snagmap::SolveChoice::none(); // the formula alone
  const auto found = snagmap::preview(*scene, options);
  if (!found) {
    std::fprintf(stderr, "%s\n", snagmap::to_text(found.faults().front()).c_str());
    return 2;
  }
  for (const snagmap::Spot& spot : found->spots)
    std::printf("web %d at X%.1f Y%.1f, line %d: S %.2f, %s\n", spot.web, spot.place_mm.x, spot.place_mm.y,
                spot.program_line, spot.s(), snagmap::to_text(spot.level()));
}
