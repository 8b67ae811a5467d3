#include "viz/pictures/pictures.hpp"

#include "sim/text/whole_file.hpp"
#include "viz/draw/off_screen.hpp"
#include "viz/draw/pdf.hpp"
#include "viz/draw/raster.hpp"
#include "viz/pictures/set.hpp"
#include "viz/words/spot_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <filesystem>

namespace snagmap {

namespace {
constexpr double kReadable = 4.5; // WCAG 2.1, success criterion 1.4.3
}

const std::vector<std::string>& picture_names() {
  static const std::vector<std::string> names{
      "sheet",     "spots", "map-snag",  "map-thickness", "map-feed", "map-chip", "map-strands",
      "map-walls", "tool",  "hold-down", "timeline",      "feed",     "narrowest"};
  return names;
}

Outcome<PictureOptions> picture_options(const std::string& size, const std::string& background) {
  PictureOptions options;
  if (!size.empty()) {
    char end = 0;
    if (size.size() > 11 ||
        std::sscanf(size.c_str(), "%5dx%5d%c", &options.width, &options.height, &end) != 2)
      return Fault(fmt::format("\"{}\" is no picture size", size),
                   "write width x height in pixels, such as 1600x1000");
  }
  if (!background.empty()) {
    options.background = colour_from_hex(background, kInk);
    if (options.background == kInk && background != to_hex(kInk))
      return Fault(fmt::format("\"{}\" is no colour", background), "write it as #rrggbb, such as #ffffff");
  }
  if (auto fault = check(options))
    return *fault;
  return options;
}

std::optional<Fault> check(const PictureOptions& options) {
  if (options.width < 320 || options.height < 320 || options.width > 8000 || options.height > 8000)
    return Fault(fmt::format("a picture of {}x{} pixels", options.width, options.height),
                 "each side takes 320 to 8000 pixels");
  if (contrast(options.background, kPale) < kReadable)
    return Fault(
        fmt::format("dark words would be hard to read on the background {}", to_hex(options.background)),
        "choose a lighter one");
  for (const std::string& name : options.which)
    if (std::find(picture_names().begin(), picture_names().end(), name) == picture_names().end()) {
      std::string all;
      for (const std::string& n : picture_names())
        all += (all.empty() ? "" : ", ") + n;
      return Fault("no picture is called '" + name + "'", "choose from " + all);
    }
  return std::nullopt;
}

std::optional<Fault> write_width_chart(const WidthChart& chart, const std::string& file,
                                       const PictureOptions& options) {
  if (auto fault = check(options))
    return fault;
  const Picture picture = width_picture(chart, options);
  return write_drawing(picture.drawing, file);
}

std::optional<Fault> write_drawing(const Drawing& drawing, const std::string& file) {
  if (auto fault = write_whole_file(std::filesystem::path(file).replace_extension(".svg").string(),
                                    to_svg(drawing), Existing::replaced, Disk::later))
    return fault;
  if (auto fault = ensure_off_screen())
    return fault;
  return write_whole_file(file, png_of(rasterised(drawing)), Existing::replaced, Disk::later);
}

std::optional<Fault> write_for_paper(const Drawing& drawing, const std::string& file) {
  const std::filesystem::path name(file);
  auto fault = write_whole_file(std::filesystem::path(name).replace_extension(".svg").string(),
                                to_svg(drawing), Existing::replaced, Disk::later);
  if (fault)
    return fault;
  const auto pdf = to_pdf(drawing);
  if (!pdf)
    return pdf.faults().front();
  return write_whole_file(std::filesystem::path(name).replace_extension(".pdf").string(), *pdf,
                          Existing::replaced, Disk::later);
}

namespace {

/// The webs that snag, worst first; without any the three nearest.
std::vector<const WebRow*> close_up_webs(const JobAnswer& answer, std::size_t most) {
  constexpr std::size_t kNearest = 3;
  std::vector<const WebRow*> webs;
  for (const WebRow& row : answer.rows)
    if (webs.size() < most && (row.snags || webs.size() < std::min(kNearest, most)))
      webs.push_back(&row);
  return webs;
}

std::optional<Fault> save(const Picture& picture, const std::string& folder, std::vector<std::string>& files,
                          const std::function<void(const std::string&)>& finished) {
  const auto write = [&](const std::string& name, const auto& content) {
    auto fault = write_whole_file(folder + "/" + name, content, Existing::replaced, Disk::later);
    if (!fault)
      files.push_back(name);
    if (!fault && finished)
      finished(name);
    return fault;
  };
  if (auto fault = write(picture.name + ".png", png_of(rasterised(picture.drawing, picture.stage.get()))))
    return fault;
  if (picture.stage)
    return std::nullopt;
  return write(picture.name + ".svg", to_svg(picture.drawing));
}

} // namespace

Outcome<std::vector<std::string>> write_pictures(const Preview& preview, const std::string& folder,
                                                 const PictureOptions& options,
                                                 const std::function<void(const std::string&)>& finished) {
  if (auto fault = check(options))
    return *fault;
  if (auto fault = ensure_off_screen())
    return *fault;
  std::error_code error;
  std::filesystem::create_directories(folder, error);
  if (error)
    return Fault("cannot make the folder: " + error.message(), "choose a folder that can be written", folder);
  PictureSource source(preview, options);
  std::vector<std::string> files;
  std::optional<Fault> fault;
  const auto wanted = [&](const char* name) {
    return !fault && (options.which.empty() ||
                      std::find(options.which.begin(), options.which.end(), name) != options.which.end());
  };
  if (wanted("sheet"))
    fault = save(sheet_picture(source), folder, files, finished);
  if (wanted("spots"))
    for (const WebRow* row :
         close_up_webs(*source.answer, static_cast<std::size_t>(std::max(options.worst, 0))))
      if (!fault)
        fault = save(spot_picture(source, preview.spots[row->spot]), folder, files, finished);
  if (wanted("map-snag"))
    fault = save(map_picture(source, MapKind::snag), folder, files, finished);
  if (wanted("map-thickness"))
    fault = save(map_picture(source, MapKind::thickness), folder, files, finished);
  if (wanted("map-feed"))
    fault = save(map_picture(source, MapKind::feed), folder, files, finished);
  if (wanted("map-chip"))
    fault = save(map_picture(source, MapKind::chip), folder, files, finished);
  if (preview.checks && wanted("map-strands"))
    fault = save(strands_picture(source), folder, files, finished);
  if (preview.checks && wanted("map-walls"))
    fault = save(walls_picture(source), folder, files, finished);
  if (wanted("tool"))
    fault = save(tool_picture(source), folder, files, finished);
  if (wanted("hold-down"))
    fault = save(hold_down_picture(source), folder, files, finished);
  if (wanted("timeline"))
    fault = save(timeline_picture(source), folder, files, finished);
  if (wanted("feed"))
    fault = save(feed_picture(source), folder, files, finished);
  if (wanted("narrowest"))
    fault = save(narrowest_picture(source), folder, files, finished);
  if (fault)
    return *fault;
  return files;
}

} // namespace snagmap
