// What the reader holds beside the path: the most memory of a process of its own, as the kernel counts it.
#include "sim/program/program.hpp"

#include <gtest/gtest.h>

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <functional>
#include <string>

#include <sys/wait.h>
#include <unistd.h>

using namespace snagmap;

namespace {

/// Most memory this process has held, MB (VmHWM of proc(5), which fork hands on as the memory held then).
double peak_MB() {
  std::ifstream status("/proc/self/status");
  for (std::string line; std::getline(status, line);)
    if (line.rfind("VmHWM:", 0) == 0)
      return std::stod(line.substr(6)) / 1024;
  return -1;
}

/// Reads the file in a child process; what its peak rose by, less the path, in MB.
double added_MB(const std::string& file, bool good) {
  int pipe_ends[2];
  EXPECT_EQ(pipe(pipe_ends), 0);
  const pid_t child = fork();
  if (child == 0) {
    std::ofstream("/proc/self/clear_refs") << 5; // the peak counts from here
    const double before = peak_MB();
    ProgramOptions options;
    const auto path = read_program(file, options);
    double added = peak_MB() - before;
    if (path)
      added -= static_cast<double>(path->moves.capacity() * sizeof(Move)) / (1 << 20);
    if (static_cast<bool>(path) != good || before < 0)
      added = 1e9;
    const bool sent = write(pipe_ends[1], &added, sizeof added) == sizeof added;
    _exit(sent ? 0 : 1);
  }
  close(pipe_ends[1]);
  double added = -1;
  EXPECT_EQ(read(pipe_ends[0], &added, sizeof added), static_cast<ssize_t>(sizeof added));
  close(pipe_ends[0]);
  waitpid(child, nullptr, 0);
  return added;
}

constexpr std::size_t kFile_bytes = 32u << 20; // twice what the reader may add: it cannot hold the file

} // namespace

TEST(ProgramMemory, ReaderAddsLessThan16MegabytesWhateverTheFile) {
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
  GTEST_SKIP() << "the kernel would count the sanitiser's memory, too";
#endif
  struct Case {
    const char* name;
    bool good;
    std::function<std::string(int)> line;
  };
  const Case cases[] = {
      {"moves", true,
       [](int i) { return "G1 X" + std::to_string(i % 997) + " Y" + std::to_string(i % 13) + "\n"; }},
      {"blank lines", true, [](int) { return std::string("\n"); }},
      {"comments", true, [](int) { return "(" + std::string(200, 'c') + ")\n"; }},
      {"messages", true, [](int i) { return "(MSG, " + std::to_string(i) + ")\n"; }},
      {"parameters", true, [](int i) { return "#" + std::to_string(1 + i % 5000) + "=[1+2*3]\n"; }},
      {"one endless line", false, [](int) { return std::string("G1 X0000000000000000000"); }},
      {"a fault on each line", false, [](int) { return std::string("G1 X1 X2\n"); }},
      {"bytes of zero", false, [](int) { return std::string(64, '\0'); }},
  };
  const std::string file =
      (std::filesystem::path(testing::TempDir()) / ("memory_" + std::to_string(getpid()) + ".nc")).string();
  for (const Case& one : cases) {
    {
      std::ofstream out(file, std::ios::binary);
      std::size_t bytes = 0;
      out << "S1 M3 F1000\n";
      for (int i = 0; bytes < kFile_bytes; ++i) {
        const std::string line = one.line(i);
        out << line;
        bytes += line.size();
      }
      out << "\nM30\n";
    }
    EXPECT_LT(added_MB(file, one.good), 16) << one.name;
  }
  std::filesystem::remove(file);
}
