// The result for other programs: VTK XML with named, unit-bearing arrays, and a binary glTF.
#pragma once

#include "models/base/fault.hpp"
#include "sim/preview/preview.hpp"

#include <optional>
#include <string>
#include <vector>

namespace snagmap {

constexpr const char* kRecordFileName = "record.cut"; ///< of --keep-record (sim/record/file.hpp)
/// Where the scene lies, so that `snagmap look` finds it: apart from result.json, which must not differ from
/// machine to machine.
constexpr const char* kSceneFileName = "scene-file.txt";

/// Writes into an existing folder, and needs no display:
///   zones.vtp  the webs' skin found beside the cutter at the end of the program
///   stock.vtp  the whole skin at the end of the program
///   sheet.glb  the whole skin in metres, y up as glTF 2.0 asks, tear zones as vertex colours
///   map.vti    the sheet in plan, a cell for each square: foam_top_mm (NaN: cut through) and the webs seen
///   from above
/// Cell arrays of the .vtp and the .vti: level (0 firm, 1 leans, 2 snags, 3 tears; -1 none), S, lean_mm,
/// thickness_mm, program_line, time_s; where nothing was found, and for lean past S = 1, the numbers are NaN
/// and the line 0. Returns the names written. `cell_mm`: grid spacing; 0: about 60,000 cells in plan.
Outcome<std::vector<std::string>> write_data_files(const Preview& preview, const std::string& folder,
                                                   double cell_mm = 0);

} // namespace snagmap
