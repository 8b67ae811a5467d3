// The parts of `scripts/bench page`, each a file of its own that prints its goals.
#pragma once

namespace snagmap::bench {

/// A hundred small previews, asked for by twenty clients at once: each answered as the command line answers
/// it, the page's own answers quick meanwhile.
void queue_goals();

} // namespace snagmap::bench
