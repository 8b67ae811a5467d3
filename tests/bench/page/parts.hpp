// The parts of `scripts/bench page`, each a file of its own that prints its goals.
#pragma once

namespace snagmap::bench {

/// The report of the tool case: its size, and how soon a headless Chromium draws the sheet in it.
void report_goals();
/// A hundred small previews, asked for by twenty clients at once: each answered as the command line answers
/// it, the page's own answers quick meanwhile.
void queue_goals();
/// Twenty seconds of the tool case at 1280 x 720, drawn and encoded in three forms; the preview apart.
void film_goals();

} // namespace snagmap::bench
