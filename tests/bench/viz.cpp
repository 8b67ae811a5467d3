// How fast one sees it: skin, pictures and the window's slider on the tool case. Goals are those of a machine
// with two cores and no graphics card.
#include "sim/preview/preview.hpp"
#include "viz/draw/off_screen.hpp"
#include "viz/files/data_files.hpp"
#include "viz/pictures/pictures.hpp"
#include "viz/report/report.hpp"
#include "viz/skin/surfaces.hpp"
#include "viz/window/window.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <filesystem>

#include <unistd.h>

using namespace snagmap;

namespace {

template <class Work> double seconds(const Work& work) {
  const auto start = std::chrono::steady_clock::now();
  work();
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}
double median(std::vector<double> values) {
  std::nth_element(values.begin(), values.begin() + static_cast<long>(values.size() / 2), values.end());
  return values[values.size() / 2];
}
void goal(const char* name, double value, double bound) {
  fmt::print("goal {} {:.3f} {:.3f} {}\n", name, value, bound, value <= bound ? "met" : "short");
}

} // namespace

int main() {
  const Outcome<Scene> scene = read_scene(std::string(SNAGMAP_ROOT) + "/scenes/bicycle-case/scene.toml");
  if (!scene)
    return std::puts(to_text(scene.faults().front()).c_str()), 1;
  if (const auto fault = ensure_off_screen())
    return std::puts(to_text(*fault).c_str()), 1;
  PreviewOptions options;
  options.voxel_mm = 0.25;
  options.verify = SolveChoice::none();
  Outcome<Preview> fine = preview(*scene, options);
  if (!fine)
    return std::puts(to_text(fine.faults().front()).c_str()), 1;
  const double preview_s = [&] {
    double sum = 0;
    for (const StageTime& t : fine->times)
      sum += t.seconds;
    return sum;
  }();
  Mesh mesh;
  SkinOptions plain;
  plain.keep_fine = [](Vec2, Vec2) { return false; };
  const double skin_s = seconds([&] { mesh = Skin(*fine, plain).whole(fine->record->end()); });
  fmt::print(
      "skin at 0.25 mm: {:.2f} s, {} triangles, {:.0f} ns a triangle; the preview behind it {:.2f} s\n",
      skin_s, mesh.triangles.size(), 1e9 * skin_s / static_cast<double>(mesh.triangles.size()), preview_s);

  options.voxel_mm = 0.5;
  Outcome<Preview> found = preview(*scene, options);
  if (!found)
    return std::puts(to_text(found.faults().front()).c_str()), 1;
  const std::string folder =
      (std::filesystem::temp_directory_path() / fmt::format("snagmap-bench-{}", getpid())).string();
  std::filesystem::create_directories(folder);
  std::vector<std::string> names;
  const double set_s = seconds([&] { names = *write_pictures(*found, folder, {}); });
  PictureOptions one;
  one.which = {"sheet"};
  const double sheet_s = seconds([&] { static_cast<void>(write_pictures(*found, folder, one)); });
  const double data_s = seconds([&] { static_cast<void>(write_data_files(*found, folder)); });
  const double report_s = seconds([&] { report_html(*found, folder, names); });
  std::filesystem::remove_all(folder);
  fmt::print(
      "pictures: all {:.2f} s, the sheet alone at 1600x1000 {:.2f} s; data files {:.2f} s; report {:.2f} s\n",
      set_s, sheet_s, data_s, report_s);

  const auto slide = [&](int width, int height, bool dragging) {
    LookWindow window(*found, width, height, true);
    const double total = found->motion.total_s();
    window.go_to(0.5 * total, dragging);
    std::vector<double> steps;
    // Steps of one pixel of an 800 pixel slider, forward through the program's second half.
    for (int k = 1; k <= 40; ++k)
      steps.push_back(seconds([&] { window.go_to(total * (0.5 + k / 800.0), dragging); }));
    return 1000 * median(steps);
  };
  const double drag_ms = slide(800, 500, true), rest_ms = slide(1600, 1000, false);
  fmt::print("slider step: {:.0f} ms dragging at 800x500, {:.0f} ms at rest at 1600x1000 (medians of 40)\n",
             drag_ms, rest_ms);

  goal("skin-over-preview", skin_s / preview_s, 0.5);
  goal("picture-set-s", set_s, 10);
  goal("slider-drag-ms", drag_ms, 100);
  goal("slider-rest-ms", rest_ms, 400);
}
