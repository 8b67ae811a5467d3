// Ctrl-C: long work is asked to stop, and the process ends within half a second whatever it does.
#pragma once

namespace snagmap {

/// Installs the handlers of SIGINT and SIGTERM. A stopped process leaves no partial output and exits with
/// status 130 (128 + SIGINT, the shells' convention). Call once, from main.
void watch_for_stop();

/// True once a stop was asked for. Progress callbacks return its opposite.
bool stop_asked();

constexpr int kStopped = 130; ///< exit status

} // namespace snagmap
