// The stock as OpenVDB volumes: any moment as a sparse mask or a narrow-band level set, in files.
#pragma once

#include "sim/record/record.hpp"

#include <string>

namespace snagmap {

enum class VdbForm {
  mask,      ///< voxels whose centre is foam; never measure walls from it
  level_set, ///< signed distance, negative in foam, 3 voxels either side: walls within 0.1 voxel on planes
             ///< and 0.2 on curves
};

struct VdbFacts {
  std::size_t foam_voxels = 0; ///< of the mask; of the level set: active ones
  std::size_t file_bytes = 0;
  double seconds = 0;
};

/// Writes the stock at a moment, voxels of `voxel_mm` (0: the record's), as grid "foam" in class fog volume
/// or level set, with the sheet, the moment and the voxel size as metadata and a checksum behind the last
/// byte. Written beside `file` and renamed. Faults: the file cannot be written.
Outcome<VdbFacts> write_stock_vdb(const RemovalRecord& record, Moment t, VdbForm form,
                                  const std::string& file, double voxel_mm = 0);

/// The result file of a preview: grid "foam" (level set of the final stock) and grid "removed_by", the first
/// move that removes each voxel, stored only near the walls where moves differ from their neighbours.
Outcome<VdbFacts> write_record_vdb(const RemovalRecord& record, const std::string& file, double voxel_mm = 0);

/// A sheet to start from: a level set that write_stock_vdb wrote, as a closed mesh. Only files with our own
/// checksum are opened at all. Faults: another program's file, a broken one, a mask.
Outcome<StockShape> read_stock_vdb(const std::string& file);

} // namespace snagmap
