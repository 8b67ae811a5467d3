#include "viz/cli/stop.hpp"
#include "viz/files/output_folder.hpp"

#include <atomic>
#include <chrono>
#include <csignal>
#include <mutex>
#include <thread>
#include <unistd.h>

namespace snagmap {
namespace {

std::atomic<bool> asked{false};
std::mutex last_lock;
std::function<std::string()> last_words;
int wake[2] = {-1, -1};

extern "C" void on_stop(int) {
  asked.store(true);
  const char byte = 1;
  // A handler may do little more than this; the watching thread does the rest.
  if (write(wake[1], &byte, 1) != 1)
    _exit(kStopped);
}

void finish_off() {
  char byte;
  while (read(wake[0], &byte, 1) != 1) {
  }
  // Work that polls stop_asked returns first and exits by itself; a library call in between does not.
  std::this_thread::sleep_for(std::chrono::milliseconds(200));
  const std::lock_guard<std::mutex> hold(last_lock);
  const std::string said = last_words ? last_words() : std::string();
  if (!said.empty() && write(STDOUT_FILENO, said.data(), said.size()) < 0)
    _exit(kStopped);
  OutputFolder::discard_unfinished();
  constexpr char words[] = "\nsnagmap: stopped; nothing was written\n";
  if (write(STDERR_FILENO, words, sizeof words - 1) < 0)
    _exit(kStopped);
  _exit(kStopped);
}

} // namespace

void watch_for_stop() {
  if (pipe(wake) != 0)
    return; // without it Ctrl-C ends the process at once, as everywhere
  std::thread(finish_off).detach();
  struct sigaction action = {};
  action.sa_handler = on_stop;
  sigemptyset(&action.sa_mask);
  sigaction(SIGINT, &action, nullptr);
  sigaction(SIGTERM, &action, nullptr);
}

void say_when_stopped(std::function<std::string()> words) {
  const std::lock_guard<std::mutex> hold(last_lock);
  last_words = std::move(words);
}

bool stop_asked() {
  return asked.load();
}

} // namespace snagmap
