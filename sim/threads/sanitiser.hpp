// What the thread sanitiser must be told of code it does not see. Nothing in other builds.
#pragma once

#include <cstddef>

#if defined(SNAGMAP_TSAN) // set by CMake: a file compiled without the sanitiser in such a build tells of
                          // itself, too
extern "C" void __tsan_acquire(void*);
extern "C" void __tsan_release(void*);
extern "C" void __tsan_read_range(void*, unsigned long);
extern "C" void __tsan_write_range(void*, unsigned long);
#define SNAGMAP_UNWATCHED __attribute__((no_sanitize("thread")))
#else
#define SNAGMAP_UNWATCHED
#endif

namespace snagmap {

/// Tells what TBB's own locks order: all before `fork` happens before the bodies, and all bodies before
/// `join`. TBB comes compiled without the sanitiser, which would otherwise see races everywhere, or, with its
/// reports off, none at all.
class ForkJoin {
public:
#if defined(SNAGMAP_TSAN)
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

#if defined(SNAGMAP_TSAN)
/// Arithmetic on rows watched entry by entry takes fifty times as long: it is compiled without the sanitiser
/// and tells it each row, n entries from each pointer.
template <class... T> void tell_reads(std::size_t n, const T*... rows) {
  (__tsan_read_range(const_cast<T*>(rows), n * sizeof(T)), ...);
}
template <class... T> void tell_writes(std::size_t n, T*... rows) {
  (__tsan_write_range(rows, n * sizeof(T)), ...);
}
#else
template <class... T> void tell_reads(std::size_t, const T*...) {}
template <class... T> void tell_writes(std::size_t, T*...) {}
#endif

} // namespace snagmap
