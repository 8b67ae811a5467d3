// How fast one sees it: skin, pictures and the window's slider on the tool case. Goals are those of a machine
// with two cores and no graphics card.
#include "sim/preview/preview.hpp"
#include "sim/text/whole_file.hpp"
#include "viz/draw/off_screen.hpp"
#include "viz/files/data_files.hpp"
#include "viz/pictures/pictures.hpp"
#include "viz/pictures/set.hpp"
#include "viz/report/report.hpp"
#include "viz/skin/surfaces.hpp"
#include "viz/terminal/page.hpp"
#include "viz/window/window.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <optional>

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

namespace {

/// Texts of a picture that reach past its frame, or from the legend column into the foot.
int clipped_labels(const Picture& picture) {
  const Drawing& d = picture.drawing;
  const double u = std::min(d.width / 1600.0, d.height / 1000.0);
  int clipped = 0;
  for (const Shape& shape : d.shapes) {
    const Text* text = std::get_if<Text>(&shape);
    if (!text)
      continue;
    const double long_px = text_width(text->words, text->size, text->bold),
                 before = text->anchor == Anchor::start    ? 0
                          : text->anchor == Anchor::middle ? 0.5 * long_px
                                                           : long_px,
                 rise = 0.75 * text->size, drop = 0.25 * text->size;
    const bool in_legend = text->at.x > d.width - 370 * u && text->anchor == Anchor::start;
    const bool out = text->upright ? text->at.y + before > d.height || text->at.y + before - long_px < 0 ||
                                         text->at.x - rise < 0 || text->at.x + drop > d.width
                                   : text->at.x - before < 0 || text->at.x - before + long_px > d.width ||
                                         text->at.y - rise < 0 || text->at.y + drop > d.height ||
                                         (in_legend && text->at.y > d.height - 40 * u);
    clipped += out;
    if (out)
      fmt::print("clipped in {} {}x{}: {}\n", picture.name, d.width, d.height, text->words);
  }
  return clipped;
}

int clipped_labels(const Preview& found) {
  int clipped = 0;
  for (const auto& [width, height] : {std::pair{1600, 1000}, std::pair{1600, 1200}, std::pair{1000, 1000}}) {
    PictureOptions options;
    options.width = width, options.height = height;
    PictureSource source(found, options);
    std::vector<Picture> all;
    all.push_back(sheet_picture(source));
    all.push_back(spot_picture(source, found.spots.front()));
    for (const MapKind kind : {MapKind::snag, MapKind::thickness, MapKind::feed, MapKind::chip})
      all.push_back(map_picture(source, kind));
    all.push_back(strands_picture(source));
    all.push_back(walls_picture(source));
    all.push_back(tool_picture(source));
    all.push_back(hold_down_picture(source));
    all.push_back(timeline_picture(source));
    all.push_back(feed_picture(source));
    all.push_back(narrowest_picture(source));
    for (const Picture& picture : all)
      clipped += clipped_labels(picture);
  }
  return clipped;
}

int lines_of(const std::string& text) {
  return static_cast<int>(std::count(text.begin(), text.end(), '\n'));
}

std::string output_of(const std::string& command) {
  std::string out;
  std::FILE* const pipe = popen(command.c_str(), "r");
  char bytes[4096];
  for (std::size_t n = 0; (n = std::fread(bytes, 1, sizeof bytes, pipe)) > 0;)
    out.append(bytes, n);
  pclose(pipe);
  return out;
}

/// How long the report is: pages of A4, and screens of 1400 x 900.
struct ReportSize {
  int pages = 0;
  double screens = 0;
};
std::optional<ReportSize> size_of(std::string report, const std::string& folder) {
  if (std::system("command -v chromium >/dev/null") != 0)
    return {};
  const std::string probe = "<script>addEventListener('load',function(){document.title='TALL'+document."
                            "documentElement.scrollHeight+'END';});</script>";
  report.insert(report.rfind("</body>"), probe);
  if (write_whole_file(folder + "/report.html", report))
    return {};
  const std::string chromium = "chromium --headless --no-sandbox --disable-gpu --no-first-run "
                               "--disable-background-networking --disable-component-update --disable-sync "
                               "--user-data-dir=" +
                               folder + "/profile --window-size=1400,900 --virtual-time-budget=4000 ",
                    page = " file://" + folder + "/report.html 2>/dev/null";
  ReportSize size;
  const std::string dom = output_of(chromium + "--dump-dom" + page);
  if (const std::size_t at = dom.find("TALL"); at != std::string::npos)
    size.screens = std::atof(dom.c_str() + at + 4) / 900;
  output_of(chromium + "--no-pdf-header-footer --print-to-pdf=" + folder + "/report.pdf" + page);
  std::ifstream pdf(folder + "/report.pdf", std::ios::binary);
  const std::string bytes{std::istreambuf_iterator<char>(pdf), std::istreambuf_iterator<char>()};
  const std::string mark = "/Type /Page"; // and not /Pages: ISO 32000-1, 7.7.3
  for (std::size_t at = bytes.find(mark); at != std::string::npos; at = bytes.find(mark, at + 1))
    size.pages += bytes[at + mark.size()] != 's';
  return size;
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
  std::string report;
  const double report_s = seconds([&] { report = report_html(*found, folder, names); });
  const std::optional<ReportSize> report_size = size_of(report, folder);
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
  const JobAnswer answer = answer_of(*found);
  const double answer_s = seconds([&] { answer_of(*found); });
  fmt::print("rows of webs, places and first advice: {:.2f} s\n", answer_s);
  goal("first_advice_s", answer_s, 2);
  goal("terminal_lines", // one more says where the result lies
       lines_of(terminal_page(*found, answer, {}, {}) + last_lines(*found, answer, {}, {})) + 1, 25);
  if (report_size) {
    goal("report_pages", report_size->pages, 6);
    goal("report_screens", report_size->screens, 8);
  }
  goal("labels_clipped", clipped_labels(*found), 0);
}
