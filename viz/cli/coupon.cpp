// `snagmap coupon` and `snagmap bench`: what to cut and measure before trusting a prediction.
#include "viz/cli/command_line.hpp"

#include "models/base/plain_text.hpp"
#include "models/base/quantity.hpp"
#include "sim/scene/card_text.hpp"
#include "sim/trust/coupon.hpp"
#include "viz/cli/finish.hpp"
#include "viz/files/mesh_file.hpp"
#include "viz/files/output_folder.hpp"
#include "viz/pictures/pictures.hpp"
#include "viz/report/coupon_sheet.hpp"
#include "viz/terminal/progress.hpp"
#include "viz/terminal/stop.hpp"
#include "viz/terminal/style.hpp"
#include "viz/words/clock.hpp"
#include "viz/words/note_words.hpp"
#include "viz/words/shown.hpp"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <fmt/format.h>
#include <memory>
#include <unistd.h>

namespace snagmap {
namespace {

namespace fs = std::filesystem;

struct Words {
  std::string scene, out;
};

/// A folder for files that people fill in: one that holds anything is left alone.
Outcome<OutputFolder> new_folder(const std::string& place, const char* command) {
  return OutputFolder::begin(place, {command, {}, OutputKind::Old::never});
}

using Files = std::vector<std::pair<std::string, std::string>>;

int write_all(OutputFolder& folder, const Files& files) {
  for (const auto& [name, text] : files)
    if (const auto fault = folder.write(name, text)) {
      print_faults({*fault});
      return kProgramFailed;
    }
  return put_in_place(folder, "Written");
}

std::string wall_table(const Coupon& c) {
  std::vector<std::vector<std::string>> rows{{"wall", "cutter", "thickness", "S", "low", "high", "by"}};
  for (const CouponWall& w : c.walls)
    rows.push_back({fmt::format("{}{}", w.piece.number, w.jobs_own ? "*" : ""),
                    c.scene.cutters[static_cast<std::size_t>(w.piece.cutter)].name,
                    show(w.piece.w_mm, Dimension::length, c.scene.show_inch), snag_text(w.s),
                    snag_text(w.s_low), snag_text(w.s_high), w.solid ? "finite elements" : "formula"});
  return aligned(rows, {true, false, true, true, true, true, false});
}

int run_coupon(const Words& words) {
  const Outcome<Scene> scene = read_scene(words.scene, stock_readers());
  if (!scene)
    return refuse(scene.faults());
  const fs::path file(words.scene);
  const fs::path own = file.stem() == "scene" ? fs::absolute(file).parent_path().filename() : file.stem();
  Outcome<OutputFolder> folder =
      new_folder(words.out.empty() ? own.string() + "-coupon" : words.out, "coupon");
  if (!folder)
    return refuse(folder.faults());
  ProgressBar bar(false);
  PreviewOptions options;
  options.progress = [&bar](const std::string& stage, double share) {
    return bar("the job: " + stage, share);
  };
  const Outcome<Preview> job = preview(*scene, options);
  if (!job)
    return refuse(job.faults());
  const Outcome<Coupon> coupon = plan_coupon(*job, [&bar](const std::string& stage, double share) {
    return bar("the test piece: " + stage, share);
  });
  bar.clear();
  if (!coupon)
    return refuse(coupon.faults());
  if (stop_asked())
    return end_stopped();

  const Drawing drawing = coupon_drawing(*coupon);
  Files files{{"coupon.nc", coupon->scene.program_text},         {"scene.toml", coupon_scene(*coupon)},
              {"foam.toml", foam_card_text(coupon->piece.foam)}, {"walls.toml", piece_text(coupon->piece)},
              {"readings.csv", coupon_readings(*coupon)},        {"sheet.html", coupon_sheet_html(*coupon)}};
  const Shown shown{coupon->scene.show_inch};
  fmt::print("The job's worst web, {}\n{}", plain_text(words_of(coupon->worst, shown)), wall_table(*coupon));
  if (std::any_of(coupon->walls.begin(), coupon->walls.end(), [](const CouponWall& w) { return w.jobs_own; }))
    fmt::print("* as thick as the job's worst web\n");
  fmt::print(
      "Cutting takes about {} (min:s). Expected: the band of Lambda shrinks to {:.0f} % of its width.\n",
      clock_text(coupon->time_s), 100 * coupon->narrowing);
  for (const CouponNote& note : coupon->notes)
    fmt::print(stderr, "note: {}\n", plain_text(words_of(note, shown)));
  std::fflush(stdout);
  const std::string picture = (folder->path() / "drawing.png").string();
  if (const int failed = draw_or_say([&] { return write_drawing(drawing, picture); }))
    return failed;
  const int status = write_all(*folder, files);
  fmt::print("\nWalls of this piece are meant to tear. {}",
             cautions({false, terminal_columns(STDOUT_FILENO)}));
  return status;
}

int run_bench(const std::string& out) {
  Outcome<OutputFolder> folder = new_folder(out, "bench");
  if (!folder)
    return refuse(folder.faults());
  return write_all(*folder, bench_sheets());
}

} // namespace

void add_coupon_command(CLI::App& app, Command& chosen) {
  CLI::App* command = add_command(
      app, "coupon", "A test piece of the job's worst features: program, drawing, sheet to fill in.",
      "  snagmap coupon scene.toml                 into NAME-coupon/\n"
      "  snagmap coupon scene.toml --out piece\n"
      "  snagmap fit piece/readings.csv            once it is cut and measured\n");
  auto words = std::make_shared<Words>();
  command->add_option("SCENE", words->scene, "Scene of the job (.toml)")->required();
  command->add_option("--out", words->out, "Folder to write; one that holds anything is never overwritten");
  command->callback([words, &chosen] { chosen = [words] { return run_coupon(*words); }; });
}

void add_bench_command(CLI::App& app, Command& chosen) {
  CLI::App* command =
      add_command(app, "bench", "Sheets for tests of foam and tape without a router.",
                  "  snagmap bench --out bench                 sheets to print, readings.toml to fill in\n"
                  "  snagmap fit bench/readings.toml\n");
  auto out = std::make_shared<std::string>("bench");
  command->add_option("--out", *out,
                      "Folder to write (default bench); one that holds anything is never overwritten");
  command->callback([out, &chosen] { chosen = [out] { return run_bench(*out); }; });
}

} // namespace snagmap
