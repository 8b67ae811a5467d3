// The files of a preview's result.
#pragma once

#include "sim/preview/preview.hpp"
#include "viz/draw/picture_options.hpp"
#include "viz/files/output_folder.hpp"
#include "viz/terminal/progress.hpp"

#include <optional>

namespace snagmap {

/// What the user asked for besides the numbers.
struct ResultWanted {
  bool quick = false; ///< no pictures, surfaces and volumes
  bool no_pictures = false;
  bool volume = false; ///< record.vdb however long the program is
  bool record = false; ///< record.cut
  bool stops = false;  ///< the program with the planned stops
  PictureOptions drawn_as;
};

/// All files of a result, in the hidden folder: numbers and data first, so that a drawing that fails costs
/// the pictures only. A file that cannot be written is a fault, and the old result stays. Ends early when a
/// stop was asked for.
std::optional<Fault> write_result(Preview& found, const OutputFolder& folder, const ResultWanted& wanted,
                                  ProgressBar& bar);

} // namespace snagmap
