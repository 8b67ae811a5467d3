// `snagmap sweep`: many cases of one plan, in shards, merged into one table with charts.
#include "viz/cli/command_line.hpp"

#include "models/base/plain_text.hpp"
#include "sim/study/sweep_run.hpp"
#include "sim/study/sweep_table.hpp"
#include "viz/cli/finish.hpp"
#include "viz/files/mesh_file.hpp"
#include "viz/pictures/pictures.hpp"
#include "viz/pictures/sweep_charts.hpp"
#include "viz/terminal/progress.hpp"
#include "viz/terminal/stop.hpp"

#include <CLI/CLI.hpp>
#include <cstdio>
#include <filesystem>
#include <fmt/format.h>
#include <memory>

namespace snagmap {
namespace {

namespace fs = std::filesystem;

struct Words {
  std::string plan, out, shard = "1/1";
  bool merge = false, no_pictures = false, plain = false;
  int threads = 0;
};

/// Table and charts; whatever else is in the folder stays.
int merge(const SweepPlan& plan, const std::string& place, bool pictures, bool plain) {
  const Outcome<std::string> table = merge_shards(plan, place);
  if (!table)
    return refuse(table.faults());
  const std::string name = (fs::path(place) / "table.csv").string();
  const auto walls = narrowest_walls(*table, name);
  Outcome<OutputFolder> folder = OutputFolder::begin(place, {"sweep", {}, OutputKind::Old::add});
  if (!folder)
    return refuse(folder.faults());
  if (const auto fault = folder->write("table.csv", *table)) {
    print_faults({*fault});
    return kProgramFailed;
  }
  if (!walls)
    print_faults(walls.faults()); // the table stands
  const auto draw = [&]() -> std::optional<Fault> {
    std::optional<Fault> fault =
        write_drawing(narrowest_chart(*walls, plan.title), (folder->path() / "narrowest.png").string());
    if (plain) {
      PictureOptions paper;
      paper.plain = true, paper.width = 1000, paper.height = 760;
      for (const auto& [stem, chart] :
           {std::pair("narrowest-plain", narrowest_chart(*walls, plan.title, paper)),
            std::pair("ranking-plain", ranking_chart(cutter_rankings(*walls), plan.title, paper))})
        if (auto own = write_for_paper(chart, (folder->path() / stem).string()))
          return own;
    }
    // Where no PNG can be drawn, both are still there as SVG.
    auto other = write_drawing(ranking_chart(cutter_rankings(*walls), plan.title),
                               (folder->path() / "ranking.png").string());
    return fault ? fault : other;
  };
  if (const int status = pictures && walls && !walls->empty() ? draw_or_say(draw) : kNothingFound)
    return status;
  if (const int status = put_in_place(*folder))
    return status;
  fmt::print("{}\n", plain_text(name));
  return kNothingFound;
}

int run_sweep(const Words& words) {
  const Outcome<SweepPlan> plan = read_sweep_plan(words.plan, stock_readers());
  if (!plan)
    return refuse(plan.faults());
  const Outcome<Shard> shard = parse_shard(words.shard);
  if (!shard)
    return refuse(shard.faults());
  const std::string folder =
      words.out.empty() ? (fs::path("out") / fs::path(words.plan).stem()).string() : words.out;
  if (words.merge)
    return merge(*plan, folder, !words.no_pictures, words.plain);
  const auto threads = limit_threads(words.threads);
  stays_when_stopped("what is done stays, the same command goes on from there");
  ProgressBar bar(false);
  const std::size_t all = (case_count(*plan) + shard->count - shard->index) / shard->count;
  const auto run = run_shard(*plan, *shard, folder, [&](std::size_t done) {
    return bar("cases", static_cast<double>(done) / static_cast<double>(std::max<std::size_t>(all, 1)));
  });
  bar.clear();
  if (!run)
    return refuse(run.faults());
  fmt::print(stderr, "{} cases, {} there before, {} run in {:.1f} s\n", run->cases, run->done_before,
             run->ran, run->seconds);
  if (run->stopped || stop_asked())
    return end_stopped();
  if (shard->count == 1)
    return merge(*plan, folder, !words.no_pictures, words.plain);
  fmt::print("{}\n", plain_text(run->file));
  return kNothingFound;
}

} // namespace

void add_sweep_command(CLI::App& app, Command& chosen) {
  CLI::App* command = add_command(
      app, "sweep", "A campaign: many foams, cutters, walls and programs into one table.",
      "  snagmap sweep plan.toml                         one machine, all cores\n"
      "  snagmap sweep plan.toml --shard 2/8 --out DIR   one of eight, for a scheduler\n"
      "  snagmap sweep plan.toml --merge --out DIR       join them: nothing missing, nothing double\n"
      "A run that was stopped goes on where it was with the same command.\n");
  auto words = std::make_shared<Words>();
  command->add_option("PLAN", words->plan, "Plan (.toml)")->required();
  command->add_option("--out", words->out, "Folder of the shards and the table (default out/NAME)");
  command->add_option("--shard", words->shard, "Which part of the cases, such as 2/8 (default 1/1)");
  command->add_flag("--merge", words->merge, "Join the finished shards into table.csv and draw the charts");
  command
      ->add_option("--threads", words->threads,
                   "Threads (default: all cores); the table is the same on any number")
      ->check(CLI::Range(1, 1024));
  command->add_flag("--no-pictures", words->no_pictures, "No charts");
  command->add_flag("--plain", words->plain,
                    "The charts for a paper too: no title, frame or notes, 85 mm wide, as SVG and PDF");
  command->callback([words, &chosen] { chosen = [words] { return run_sweep(*words); }; });
}

} // namespace snagmap
