// The real program in a folder of the test's own: its words, its exit status, its files.
#pragma once

#include <gtest/gtest.h>

#include <chrono>
#include <csignal>
#include <cstdlib>
#include <fcntl.h>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <sys/wait.h>
#include <thread>
#include <unistd.h>
#include <vector>

namespace snagmap::testing {

namespace fs = std::filesystem;

inline std::string slurp(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

struct Ran {
  int status = -1;
  std::string out, err;
};

class RealProgram : public ::testing::Test {
protected:
  void SetUp() override {
    const auto* test = ::testing::UnitTest::GetInstance()->current_test_info();
    root = fs::path(::testing::TempDir()) /
           (std::string(test->test_suite_name()) + "_" + std::to_string(getpid()));
    fs::remove_all(root);
    fs::create_directories(root);
    fs::current_path(root);
  }
  void TearDown() override {
    fs::current_path("/");
    fs::remove_all(root);
  }
  /// `before`: what the shell sets first, such as an empty PATH.
  static Ran run(const std::string& words, const std::string& before = "") {
    const int status =
        std::system((before + " '" SNAGMAP_BINARY "' " + words + " >out.txt 2>err.txt </dev/null").c_str());
    return {WIFEXITED(status) ? WEXITSTATUS(status) : -1, slurp("out.txt"), slurp("err.txt")};
  }
  static void put(const std::string& name, const std::string& text) {
    std::ofstream(name, std::ios::binary) << text;
  }
  /// Starts the program with stderr into `err` (a file, or a terminal) and returns its process.
  static pid_t start(std::vector<std::string> words, const std::string& err = "err.txt") {
    const pid_t child = fork();
    if (child != 0)
      return child;
    signal(SIGINT, SIG_DFL); // a shell's background job ignores it until the program says otherwise
    dup2(open("out.txt", O_WRONLY | O_CREAT | O_TRUNC, 0600), STDOUT_FILENO);
    dup2(open(err.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_NOCTTY, 0600), STDERR_FILENO);
    std::vector<char*> argv{const_cast<char*>("snagmap")};
    for (std::string& word : words)
      argv.push_back(word.data());
    argv.push_back(nullptr);
    execv(SNAGMAP_BINARY, argv.data());
    _exit(127);
  }
  /// Waits until `seen` or the child's end; false when the child ended first.
  template <class Seen> static bool wait_for(pid_t child, Seen seen) {
    while (!seen()) {
      siginfo_t ended{};
      if (waitid(P_PID, static_cast<id_t>(child), &ended, WEXITED | WNOHANG | WNOWAIT) == 0 &&
          ended.si_pid == child)
        return seen();
      std::this_thread::sleep_for(std::chrono::milliseconds(5));
    }
    return true;
  }
  /// Exit status of a child; -1 when a signal ended it.
  static int status_of(pid_t child) {
    int status = 0;
    return waitpid(child, &status, 0) == child && WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  }
  fs::path root;
};

} // namespace snagmap::testing
