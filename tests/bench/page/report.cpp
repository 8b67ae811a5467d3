// How soon one sees the sheet turn: the report of the tool case, its size and its first draw in a headless
// Chromium that draws by software. Goals are those of a machine with two cores and no graphics card.
#include "tests/bench/page/parts.hpp"

#include "sim/answer/answer.hpp"
#include "sim/text/whole_file.hpp"
#include "tests/browser.hpp"
#include "viz/draw/off_screen.hpp"
#include "viz/pictures/pictures.hpp"
#include "viz/report/report.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <filesystem>

namespace snagmap::bench {
namespace {

namespace fs = std::filesystem;

void goal(const char* name, double value, double bound) {
  fmt::print("goal {} {:.3f} {:.3f} {}\n", name, value, bound, value <= bound ? "met" : "short");
}

/// From the request for the page to the first frame that is finished, the median of five visits.
double first_draw_s(const fs::path& folder) {
  Browser browser(folder / "profile");
  browser.resize(1400, 900);
  std::vector<double> seconds;
  for (int visit = 0; visit < 5; ++visit) {
    browser.open("about:blank");
    browser.open("file://" + (folder / "report.html").string());
    if (!browser.wait_for("window.snagmapSpace"))
      return 1e9;
    seconds.push_back(browser.value("snagmapSpace.first_draw_ms").get<double>() / 1000);
    fmt::print("visit {}: first draw after {:.2f} s\n", visit + 1, seconds.back());
  }
  std::sort(seconds.begin(), seconds.end());
  return seconds[seconds.size() / 2];
}

std::string report_of(const Preview& found, const fs::path& folder) {
  const auto names = write_pictures(found, folder.string(), {});
  const auto start = std::chrono::steady_clock::now();
  const SpaceScene scene = space_scene(found, *found.answer);
  std::size_t bytes = scene.skin.bytes.size();
  for (const SpaceWeb& web : scene.webs)
    bytes += web.foam.bytes.size() + web.cutter.bytes.size();
  fmt::print("the sheet in space: {:.2f} s; {} triangles, {} webs close up, {} left out, {:.0f} kB\n",
             std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count(),
             scene.skin.triangles, scene.webs.size(), scene.left_out, 1e-3 * static_cast<double>(bytes));
  return report_html(found, folder.string(), names ? *names : std::vector<std::string>{}, "", &scene);
}

} // namespace

void report_goals() {
  const Outcome<Scene> scene = read_scene(std::string(SNAGMAP_ROOT) + "/scenes/bicycle-case/scene.toml");
  if (!scene) {
    std::puts(to_text(scene.faults().front()).c_str());
    return;
  }
  if (const auto fault = ensure_off_screen()) {
    std::puts(to_text(*fault).c_str());
    return;
  }
  Outcome<Preview> found = preview(*scene, {}); // with finite elements: they decide how many webs are shown
  if (!found) {
    std::puts(to_text(found.faults().front()).c_str());
    return;
  }
  found->answer = std::make_shared<const JobAnswer>(answer_of(*found));
  const fs::path folder = fs::temp_directory_path() / fmt::format("snagmap-page-{}", getpid());
  fs::create_directories(folder);
  const std::string report = report_of(*found, folder);
  if (write_whole_file((folder / "report.html").string(), report))
    return;
  goal("report_mb", 1e-6 * static_cast<double>(report.size()), 6);
  if (Browser::installed())
    goal("first_draw_s", first_draw_s(folder), 2);
  clear_away(folder);
}

} // namespace snagmap::bench
