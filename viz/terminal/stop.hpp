// Ctrl-C: long work is asked to stop, and the process ends within half a second whatever it does.
#pragma once

#include <functional>
#include <string>

namespace snagmap {

/// Installs the handlers of SIGINT, SIGTERM and, unless it is ignored, SIGHUP. A stopped process leaves no
/// partial output and exits with status 130 (128 + SIGINT, the shells' convention). Call once, from main.
/// False when no thread could be started to watch: then a signal ends the process at once, as everywhere.
bool watch_for_stop();

/// True once a stop was asked for. Progress callbacks return its opposite.
bool stop_asked();

/// What is worth saying when the process is stopped in the middle of work that has something to show already;
/// called from another thread. Empty: nothing. The last one set counts.
void say_when_stopped(std::function<std::string()> words);

/// What a stop leaves behind, for the last line; at first "nothing was written". Lives as long as the
/// process.
void stays_when_stopped(const char* words);

constexpr int kStopped = 130; ///< exit status
/// Says the last line of a stopped process on stderr and returns its exit status.
int end_stopped();

} // namespace snagmap
