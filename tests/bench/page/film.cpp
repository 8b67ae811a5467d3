#include "tests/bench/page/parts.hpp"

#include "sim/preview/preview.hpp"
#include "tests/bench/measure.hpp"
#include "viz/draw/off_screen.hpp"
#include "viz/film/film.hpp"

#include <cstdlib>
#include <filesystem>

namespace snagmap::bench {

void film_goals() {
  const Outcome<Scene> scene = read_scene(SNAGMAP_ROOT "/scenes/bicycle-case/scene.toml");
  PreviewOptions options;
  options.verify = SolveChoice::none();
  const Outcome<Preview> found = preview(*scene, options);
  const Outcome<FilmPlan> plan = plan_film(*found, {});
  if (ensure_off_screen() || !find_ffmpeg())
    return;
  std::string folder = (std::filesystem::temp_directory_path() / "snagmap-film-XXXXXX").string();
  Outcome<Encoder> encoder = Encoder::start(mkdtemp(folder.data()), plan->width, plan->height, kFilmRate);
  double drawn_s = 0;
  bool right = true;
  const double took_s = timed([&] {
    drawn_s = timed([&] {
      right = !draw_film(
          *found, *plan, [&](const Pixels& frame) { return encoder->add(frame); }, [](int) { return true; });
    });
    right = right && !encoder->finish();
  });
  std::printf("film of the tool case: %d frames of %d x %d in %.1f s, the last drawn after %.1f s\n",
              plan->frames(), plan->width, plan->height, took_s, drawn_s);
  goal("film_20s_s", right ? took_s : 1e9, 60, true);
  std::filesystem::remove_all(folder);
}

} // namespace snagmap::bench
