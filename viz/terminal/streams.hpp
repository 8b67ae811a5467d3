// Standard output and error that may be closed, full or read by nobody, without costing a result.
#pragma once

namespace snagmap {

/// From here on a write to stderr that fails is passed over, and one to stdout is kept for
/// status_with_streams. A closed stream's number goes to /dev/null, so that no file or pipe comes to bear it.
/// Call once, first thing in main.
void guard_streams();

/// The exit status, or kProgramFailed with one line when something meant for stdout could not be written. A
/// reader that wants no more (`| head`) is no failure.
int status_with_streams(int status);

} // namespace snagmap
