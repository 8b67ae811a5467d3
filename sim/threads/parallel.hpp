// Running a loop on all threads, in a form the thread sanitiser can follow.
#pragma once

#include <tbb/blocked_range.h>
#include <tbb/parallel_for.h>

#include <cstddef>

#if defined(__SANITIZE_THREAD__)
extern "C" void __tsan_acquire(void*);
extern "C" void __tsan_release(void*);
#define SNAGMAP_TASK __attribute__((no_sanitize("thread"))) // reads its own task before it may say `begin`
#else
#define SNAGMAP_TASK
#endif

namespace snagmap {

/// Tells the thread sanitiser what TBB's own locks order: all before `fork` happens before the bodies, and
/// all bodies before `join`. TBB comes compiled without the sanitiser, which would otherwise see races
/// everywhere, or, with its reports off, none at all. Nothing in other builds.
class ForkJoin {
public:
#if defined(__SANITIZE_THREAD__)
  void fork() {
    __tsan_release(&fork_);
  }
  void begin() {
    __tsan_acquire(&fork_);
  }
  void end() {
    __tsan_release(&join_);
  }
  void join() {
    __tsan_acquire(&join_);
  }

private:
  char fork_ = 0, join_ = 0;
#else
  void fork() {}
  void begin() {}
  void end() {}
  void join() {}
#endif
};

/// Calls body(first, last) for pieces of 0..count, at most `grain` long, on the threads of the caller's
/// arena.
template <class Body> void parallel_pieces(std::size_t count, std::size_t grain, const Body& body) {
  ForkJoin order;
  order.fork();
  tbb::parallel_for(
      tbb::blocked_range<std::size_t>(0, count, grain),
      [&](const tbb::blocked_range<std::size_t>& piece) SNAGMAP_TASK {
        order.begin();
        body(piece.begin(), piece.end());
        order.end();
      },
      tbb::simple_partitioner());
  order.join();
}

/// Calls body(n) for every n from 0 below count, n of count's type: for bodies worth a task of their own.
template <class Count, class Body> void parallel_each(Count count, const Body& body) {
  parallel_pieces(static_cast<std::size_t>(count), 1,
                  [&](std::size_t first, std::size_t) { body(static_cast<Count>(first)); });
}

/// Calls both, at one time.
template <class One, class Other> void parallel_both(const One& one, const Other& other) {
  parallel_each(2, [&](int n) { n == 0 ? one() : other(); });
}

} // namespace snagmap
