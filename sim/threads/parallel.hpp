// Running a loop on all threads, in a form the thread sanitiser can follow.
#pragma once

#include "sim/threads/sanitiser.hpp"

#include <cstddef>

namespace snagmap {

/// Calls call(task, first, last) for pieces of 0..count, at most `grain` long. TBB's templates are compiled
/// in this one place, without the sanitiser: they hand tasks over by locks it does not see.
void run_pieces(std::size_t count, std::size_t grain, void (*call)(const void*, std::size_t, std::size_t),
                const void* task);

template <class Body> struct PiecesTask {
  const Body* body;
  ForkJoin* order;
  /// Reads its own task before it may say `begin`.
  SNAGMAP_UNWATCHED static void call(const void* task, std::size_t first, std::size_t last) {
    const auto& [body, order] = *static_cast<const PiecesTask*>(task);
    order->begin();
    (*body)(first, last);
    order->end();
  }
};

/// Calls body(first, last) for pieces of 0..count, at most `grain` long, on the threads of the caller's
/// arena.
template <class Body> void parallel_pieces(std::size_t count, std::size_t grain, const Body& body) {
  ForkJoin order;
  const PiecesTask<Body> task{&body, &order};
  order.fork();
  run_pieces(count, grain, &PiecesTask<Body>::call, &task);
  order.join();
}

/// Calls body(n) for every n from 0 below count, n of count's type: for bodies worth a task of their own.
template <class Count, class Body> void parallel_each(Count count, const Body& body) {
  parallel_pieces(static_cast<std::size_t>(count), 1,
                  [&](std::size_t first, std::size_t) { body(static_cast<Count>(first)); });
}

/// Ends the threads that loops run on; the next loop starts new ones. Not from inside a loop. False: some
/// stay.
bool end_worker_threads();

/// Calls both, at one time.
template <class One, class Other> void parallel_both(const One& one, const Other& other) {
  parallel_each(2, [&](int n) { n == 0 ? one() : other(); });
}

} // namespace snagmap
