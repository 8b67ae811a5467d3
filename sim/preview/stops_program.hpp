// The program with the plan's stops put in, as NC text.
#pragma once

#include "sim/preview/preview.hpp"
#include "sim/program/written.hpp"

namespace snagmap {

constexpr const char* kStopsProgramFile = "with-stops.nc";

/// Path of the job with the plan's own stops in it; that of the job where the plan adds none.
Path path_with_stops(const Preview& preview);

/// Its program under `head` (plan, caution and what to look for, in words), `say` as in written_program, read
/// back before it is given out. Faults: no checks were made, or what is read back is another path.
Outcome<WrittenProgram> program_with_stops(const Preview& preview, const std::vector<std::string>& head,
                                           const SayRemark& say = {});

} // namespace snagmap
