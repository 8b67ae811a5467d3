// Pictures on a machine without a display: the process's own virtual screen.
#pragma once

#include "models/base/fault.hpp"

#include <optional>

namespace snagmap {

/// Starts a private X server (Xvfb) once for the whole process and points DISPLAY at it; it is ended and
/// reaped at exit, and by the kernel should the process be killed. Call from the main thread before any VTK
/// object exists: Debian's VTK aborts the process when it finds no display.
/// Later calls return the first answer. The fault says what to install; nothing else is lost by it.
std::optional<Fault> ensure_off_screen();

/// Ends it before the process does, for a process that leaves without its exit handlers.
void end_off_screen();

/// The process id of the private X server; 0 when none runs.
int off_screen_pid();

} // namespace snagmap
