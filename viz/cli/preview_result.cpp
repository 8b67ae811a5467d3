#include "viz/cli/preview_result.hpp"

#include "sim/advice/advice.hpp"
#include "sim/answer/answer.hpp"
#include "sim/preview/stops_program.hpp"
#include "sim/probe/vdb.hpp"
#include "sim/record/file.hpp"
#include "sim/results/results.hpp"
#include "viz/cli/command_line.hpp"
#include "viz/draw/apart.hpp"
#include "viz/files/data_files.hpp"
#include "viz/files/mesh_file.hpp"
#include "viz/pictures/pictures.hpp"
#include "viz/report/report.hpp"
#include "viz/terminal/page.hpp"
#include "viz/terminal/progress.hpp"
#include "viz/terminal/stop.hpp"
#include "viz/words/note_words.hpp"
#include "viz/words/sentences.hpp"
#include "viz/words/stop_words.hpp"

#include <cctype>
#include <cstdio>
#include <filesystem>
#include <fmt/format.h>

namespace snagmap {
namespace {

namespace fs = std::filesystem;

/// Why pictures are missing, for the report; empty: all are there.
struct DrawnPictures {
  std::vector<std::string> files;
  std::string missing;
  std::optional<Fault> unwritten; ///< a file that could not be written: no matter of drawing
};

DrawnPictures draw_pictures(Preview& found, const std::string& folder, const ResultWanted& wanted,
                            ProgressBar& bar) {
  if (wanted.quick || wanted.no_pictures)
    return {
        {}, wanted.quick ? "A preview with --quick draws none" : "None were asked for (--no-pictures)", {}};
  const DrawnApart drawn = timed(found, bar, "pictures", [&] {
    return draw_apart(
        [&](const DrawnFile& finished) -> std::optional<Fault> {
          const auto files = write_pictures(found, folder, wanted.drawn_as, finished);
          return files ? std::nullopt : std::optional(files.faults().front());
        },
        [&bar] { return bar("pictures", 0); });
  });
  DrawnPictures pictures{drawn.files, "", {}};
  if (!drawn.fault)
    return pictures;
  if (!drawn.fault->file.empty()) {
    pictures.unwritten = drawn.fault;
    return pictures;
  }
  bar.clear();
  print_faults({*drawn.fault});
  constexpr std::string_view kKnown = "no pictures: "; // the report has said that
  pictures.missing = drawn.fault->what;
  if (pictures.missing.rfind(kKnown, 0) == 0)
    pictures.missing.erase(0, kKnown.size());
  if (!pictures.missing.empty())
    pictures.missing[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(pictures.missing[0])));
  return pictures;
}

bool with_volume(const ResultWanted& wanted, const Preview& found) {
  if (wanted.quick || wanted.volume || found.path.moves.size() <= kMostForVolume)
    return !wanted.quick;
  fmt::print(stderr,
             "record.vdb takes minutes for a program of {} moves and is left out; --volume writes it\n",
             found.path.moves.size());
  return false;
}

/// Of a file in the hidden folder; the user knows the folder by its place.
std::optional<Fault> at_its_place(std::optional<Fault> fault, const OutputFolder& folder) {
  const std::string path = folder.path().string();
  if (fault && fault->file.rfind(path, 0) == 0)
    fault->file = folder.place().string() + fault->file.substr(path.size());
  return fault;
}

std::optional<Fault> write_numbers(const Preview& found, const OutputFolder& folder) {
  const ShownSentences say(Shown{found.scene.show_inch});
  if (auto fault = folder.write("result.json", result_json(found, &say)))
    return fault;
  if (auto fault = folder.write("spots.csv", spots_csv(found, &say)))
    return fault;
  if (auto fault = folder.write("webs.csv", webs_csv(found, &say)))
    return fault;
  const std::string& scene = found.scene.file;
  if (scene.empty())
    return {};
  return folder.write(kSceneFileName, fs::absolute(scene).lexically_normal().string() + "\n");
}

/// The program with its stops, and as each advice changes it.
std::optional<Fault> write_programs(const Preview& found, const OutputFolder& folder, bool stops) {
  if (stops) {
    const Outcome<WrittenProgram> program =
        program_with_stops(found, stops_program_head(found), say_remarks(Shown{found.scene.show_inch}));
    if (!program)
      return program.faults().front();
    if (auto fault = folder.write(kStopsProgramFile, program->text))
      return fault;
  }
  if (!found.advice)
    return {};
  for (const auto* list : {&found.advice->ranked, &found.advice->trades})
    for (const Advice& advice : *list)
      if (!advice.program_file.empty())
        if (auto fault = folder.write(advice.program_file, advised_program(advice)))
          return fault;
  return {};
}

/// Surfaces, the volume and the record: what other programs, and `look`, read.
std::optional<Fault> write_bodies(Preview& found, const OutputFolder& folder, const ResultWanted& wanted,
                                  ProgressBar& bar) {
  const std::string path = folder.path().string();
  const auto written = [&](const char* stage, const auto& write) -> std::optional<Fault> {
    if (stop_asked())
      return {};
    const auto outcome = timed(found, bar, stage, write);
    return outcome ? std::nullopt : at_its_place(outcome.faults().front(), folder);
  };
  if (!wanted.quick)
    if (auto fault = written("surfaces", [&] { return write_data_files(found, path); }))
      return fault;
  if (with_volume(wanted, found))
    if (auto fault = written("volume", [&] { return write_record_vdb(*found.record, path + "/record.vdb"); }))
      return fault;
  if (!wanted.record)
    return {};
  return written("record", [&] { return save_record(*found.record, path + "/" + kRecordFileName); });
}

std::optional<Fault> write_report(Preview& found, const OutputFolder& folder, const ResultWanted& wanted,
                                  ProgressBar& bar) {
  const std::string picture_folder = (folder.path() / "pictures").string();
  const DrawnPictures pictures = draw_pictures(found, picture_folder, wanted, bar);
  if (stop_asked())
    return {};
  if (pictures.unwritten)
    return at_its_place(pictures.unwritten, folder);
  const auto answer = job_answer(found); // the scene's webs are its rows
  std::optional<SpaceScene> space;
  if (!wanted.quick && !wanted.no_pictures)
    space = timed(found, bar, "space", [&] { return space_scene(found, *answer); });
  if (stop_asked())
    return {};
  const std::string report = timed(found, bar, "report", [&] {
    return report_html(found, picture_folder, pictures.files, pictures.missing, space ? &*space : nullptr);
  });
  bar.clear();
  if (auto fault = folder.write("report.html", report))
    return fault;
  return folder.write("timing.json", timing_json(found));
}

} // namespace

std::optional<Fault> write_result(Preview& found, const OutputFolder& folder, const ResultWanted& wanted,
                                  ProgressBar& bar) {
  if (auto fault = write_numbers(found, folder))
    return fault;
  if (auto fault = write_programs(found, folder, wanted.stops))
    return fault;
  if (auto fault = write_bodies(found, folder, wanted, bar))
    return fault;
  if (stop_asked())
    return {};
  return write_report(found, folder, wanted, bar);
}

} // namespace snagmap
