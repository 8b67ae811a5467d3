#include "sim/threads/parallel.hpp"

#include <tbb/blocked_range.h>
#include <tbb/global_control.h>
#include <tbb/parallel_for.h>

#include <new>

namespace snagmap {

void run_pieces(std::size_t count, std::size_t grain, void (*call)(const void*, std::size_t, std::size_t),
                const void* task) {
  using Range = tbb::blocked_range<std::size_t>;
  tbb::parallel_for(
      Range(0, count, grain), [=](const Range& piece) { call(task, piece.begin(), piece.end()); },
      tbb::simple_partitioner());
}

bool end_worker_threads() {
  tbb::task_scheduler_handle handle{tbb::attach{}};
  return tbb::finalize(handle, std::nothrow);
}

} // namespace snagmap
