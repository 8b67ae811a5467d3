// The pictures of a preview: what a set-up review looks at.
#pragma once

#include "models/base/fault.hpp"
#include "sim/preview/preview.hpp"
#include "sim/study/narrowest.hpp"
#include "viz/draw/drawing.hpp"
#include "viz/draw/picture_options.hpp"

#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace snagmap {

/// Every name `which` may hold, in the order of a set-up review.
const std::vector<std::string>& picture_names();

/// Draws into `folder` (made when missing) and returns the files written, PNG and for plots SVG too, by name
/// without the folder; `finished` is told of each. Starts the process's off-screen display when none runs.
/// Two runs give the same bytes.
Outcome<std::vector<std::string>>
write_pictures(const Preview& preview, const std::string& folder, const PictureOptions& options,
               const std::function<void(const std::string&)>& finished = {});

/// Draws without a 3D view as SVG, which needs no display, and as PNG `file`.
std::optional<Fault> write_drawing(const Drawing& drawing, const std::string& file);
/// A plain chart, as SVG and PDF of the name; needs no display.
std::optional<Fault> write_for_paper(const Drawing& drawing, const std::string& file);

/// Draws two set-ups of one sheet side by side in the same view, and what became of the worst places, as PNG.
std::optional<Fault> write_compare_picture(const Preview& before, const Preview& after,
                                           const std::string& file, const PictureOptions& options);

/// Web thickness where S is 1 against flute length: one curve for each foam.
struct WidthCurve {
  std::string name;
  std::vector<double> flutes_mm, width_mm; ///< points, flute length rising
  std::vector<double> low_mm, high_mm;     ///< its band at the same points; empty: none drawn
};
struct WidthChart {
  struct Mark { ///< a cutter, drawn at its flute length
    std::string name;
    double flutes_mm = 0;
    std::string words; ///< what it means, for the legend
  };
  struct Web { ///< a web of a job, drawn as a dot
    double flutes_mm = 0, width_mm = 0;
    Level level = Level::firm;
  };
  std::string title, finding;
  bool inch = false;              ///< units shown
  std::vector<WidthCurve> curves; ///< the first is drawn strongest
  std::vector<Mark> cutters;
  std::vector<Web> webs;
};
/// The chart of a table: a curve for each foam and depth; the first carries its band.
WidthChart width_chart(const NarrowestTable& table, bool inch);
/// The chart of a preview: what `narrowest` says of its worst long web and cutter in its own foam and others,
/// its cutters, its webs.
WidthChart width_chart(const Preview& preview);
/// Draws a chart by write_drawing.
std::optional<Fault> write_width_chart(const WidthChart& chart, const std::string& file,
                                       const PictureOptions& options);

/// Options from words: size such as "1600x1000", background such as "#ffffff"; empty words keep the default.
Outcome<PictureOptions> picture_options(const std::string& size, const std::string& background);
/// Whether the options can be drawn.
std::optional<Fault> check(const PictureOptions& options);

} // namespace snagmap
