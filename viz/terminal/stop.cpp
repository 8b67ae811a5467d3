#include "viz/terminal/stop.hpp"
#include "viz/draw/apart.hpp"
#include "viz/files/output_folder.hpp"

#include <atomic>
#include <chrono>
#include <csignal>
#include <fcntl.h>
#include <mutex>
#include <system_error>
#include <thread>
#include <unistd.h>

namespace snagmap {
namespace {

std::atomic<bool> asked{false};
std::atomic<const char*> stays{"nothing was written"};
std::mutex last_lock;
std::function<std::string()> last_words;
int wake[2] = {-1, -1};
std::thread* watcher = nullptr; // never destroyed: the process ends under it

constexpr char kStopByte = 1, kRestByte = 2;

extern "C" void on_stop(int) {
  asked.store(true);
  // A handler may do little more than this; the watching thread does the rest.
  if (write(wake[1], &kStopByte, 1) != 1)
    _exit(kStopped);
}

void finish_off() {
  char byte;
  while (read(wake[0], &byte, 1) != 1) {
  }
  if (byte == kRestByte)
    return;
  // Work that polls stop_asked returns first and exits by itself; a library call in between does not.
  std::this_thread::sleep_for(std::chrono::milliseconds(200));
  const std::lock_guard<std::mutex> hold(last_lock);
  const std::string said = last_words ? last_words() : std::string();
  if (!said.empty() && write(STDOUT_FILENO, said.data(), said.size()) < 0)
    asked.store(true); // nobody listens; the end is the same
  _exit(end_stopped());
}

void watch() {
  try {
    watcher = new std::thread(finish_off);
  } catch (const std::system_error&) {
    watcher = nullptr; // as many threads as the system allows run already
  }
}

} // namespace

bool watch_for_stop() {
  if (pipe2(wake, O_CLOEXEC) != 0)
    return true;
  watch();
  if (!watcher)
    return false;
  around_forks(
      [] {
        if (!watcher)
          return;
        while (write(wake[1], &kRestByte, 1) != 1) {
        }
        watcher->join();
        delete watcher;
        watcher = nullptr;
      },
      watch);
  struct sigaction action = {}, now = {};
  action.sa_handler = on_stop;
  sigemptyset(&action.sa_mask);
  for (const int number : {SIGINT, SIGTERM, SIGHUP})
    if (number != SIGHUP || (sigaction(number, nullptr, &now) == 0 && now.sa_handler != SIG_IGN))
      sigaction(number, &action, nullptr);
  return true;
}

void say_when_stopped(std::function<std::string()> words) {
  const std::lock_guard<std::mutex> hold(last_lock);
  last_words = std::move(words);
}

void stays_when_stopped(const char* words) {
  stays.store(words);
}

bool stop_asked() {
  return asked.load();
}

int end_stopped() {
  // A commit in its last step is waited for.
  const bool stands = OutputFolder::discard_unfinished();
  const std::string words = std::string("\nsnagmap: stopped; ") +
                            (stands ? "the result stood in its place already" : stays.load()) + "\n";
  if (write(STDERR_FILENO, words.data(), words.size()) < 0)
    asked.store(true); // nobody listens
  return kStopped;
}

} // namespace snagmap
