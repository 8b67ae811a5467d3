// Drawing in a process of its own: whatever happens there costs the pictures only.
#include "viz/draw/apart.hpp"

#include "sim/threads/parallel.hpp"

#include <atomic>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <gtest/gtest.h>
#include <iterator>
#include <stdexcept>
#include <sys/wait.h>
#include <unistd.h>

using namespace snagmap;

namespace {

constexpr auto kAlways = [] { return true; };

std::size_t count_threads() {
  const std::filesystem::directory_iterator tasks("/proc/self/task");
  return static_cast<std::size_t>(std::distance(begin(tasks), end(tasks)));
}
const std::size_t threads_at_start = count_threads();

bool no_child_left() {
  return waitpid(-1, nullptr, WNOHANG) < 0 && errno == ECHILD;
}

} // namespace

TEST(DrawnApart, TheChildSeesWhatIsThereAndTellsItsFiles) {
  const std::string name = "sheet";
  const DrawnApart drawn = draw_apart(
      [&](const DrawnFile& finished) -> std::optional<Fault> {
        finished(name + ".png");
        finished("two words.svg");
        return {};
      },
      kAlways);
  EXPECT_FALSE(drawn.fault);
  EXPECT_FALSE(drawn.stopped);
  EXPECT_EQ(drawn.files, (std::vector<std::string>{"sheet.png", "two words.svg"}));
  EXPECT_TRUE(no_child_left());
}

// A fork copies one thread: a loop in the child must not wait for workers that are not there.
TEST(DrawnApart, LoopsRunInTheChildAndAfterwardsInTheParent) {
  const auto sum = [] {
    std::atomic<int> all{0};
    parallel_each(1000, [&](int n) { all += n; });
    return all.load();
  };
  ASSERT_EQ(sum(), 499500);
  for (int n = 0; n < 1000 && count_threads() == threads_at_start; ++n)
    sum(); // until a worker lives; on one core there is none
  const DrawnApart drawn = draw_apart(
      [&](const DrawnFile& finished) -> std::optional<Fault> {
        finished(std::to_string(sum()));
        return {};
      },
      kAlways);
  EXPECT_EQ(drawn.files, std::vector<std::string>{"499500"});
  EXPECT_EQ(drawn.threads, threads_at_start) << "a worker that lives on may hold what the child waits for";
  EXPECT_EQ(sum(), 499500);
}

TEST(DrawnApart, ADeathIsAFaultWithItsLastWordsAndWhatWasFinishedStays) {
  const auto dies = [](const std::function<void()>& how) {
    return draw_apart(
        [&](const DrawnFile& finished) -> std::optional<Fault> {
          finished("sheet.png");
          how();
          return {};
        },
        kAlways);
  };
  const DrawnApart aborted = dies([] {
    const char words[] = "first\n  \x1b[31mno driver found\n\x1b[0m\n";
    if (write(STDERR_FILENO, words, sizeof words - 1) > 0)
      std::abort();
  });
  ASSERT_TRUE(aborted.fault);
  EXPECT_EQ(aborted.fault->what,
            "no pictures: the drawing process was ended by signal 6 (Aborted): no driver found");
  EXPECT_EQ(aborted.files, std::vector<std::string>{"sheet.png"});
  const DrawnApart left = dies([] { std::exit(1); }); // as the X library does when its display goes
  ASSERT_TRUE(left.fault);
  EXPECT_EQ(left.fault->what, "no pictures: the drawing process ended early with status 1");
  const DrawnApart threw = dies([] { throw std::runtime_error("no room"); });
  ASSERT_TRUE(threw.fault);
  EXPECT_EQ(threw.fault->what, "no pictures: no room");
  const DrawnApart memory = dies([] { throw std::bad_alloc(); });
  ASSERT_TRUE(memory.fault);
  EXPECT_EQ(memory.fault->what, "no pictures: out of memory");
  EXPECT_TRUE(no_child_left());
}

TEST(DrawnApart, AFaultComesThroughWithItsWayOut) {
  const DrawnApart drawn = draw_apart(
      [](const DrawnFile&) { return std::optional(Fault("cannot be\nwritten", "make room", "a.png")); },
      kAlways);
  ASSERT_TRUE(drawn.fault);
  EXPECT_EQ(to_text(*drawn.fault), "a.png: cannot be written\n  make room");
}

TEST(DrawnApart, AStopEndsTheChild) {
  const DrawnApart drawn = draw_apart(
      [](const DrawnFile&) -> std::optional<Fault> {
        for (;;)
          pause();
      },
      [] { return false; });
  EXPECT_TRUE(drawn.stopped);
  EXPECT_FALSE(drawn.fault);
  EXPECT_TRUE(no_child_left());
}
