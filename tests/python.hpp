// Python's standard library as the outside reader and writer of a test.
#pragma once

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <gtest/gtest.h>
#include <string>
#include <unistd.h>

namespace snagmap {

/// What the script prints; `in` is what it reads from sys.argv[1], a file, as bytes.
inline std::string python(const std::string& script, const std::string& in) {
  const std::string base = ::testing::TempDir() + "python_" + std::to_string(getpid());
  std::ofstream(base + ".py", std::ios::binary) << script;
  std::ofstream(base + ".in", std::ios::binary) << in;
  std::string out;
  if (std::FILE* pipe = popen(("python3 '" + base + ".py' '" + base + ".in'").c_str(), "r")) {
    char some[4096];
    for (std::size_t n; (n = std::fread(some, 1, sizeof some, pipe)) > 0;)
      out.append(some, n);
    EXPECT_EQ(pclose(pipe), 0) << script;
  }
  std::filesystem::remove(base + ".py");
  std::filesystem::remove(base + ".in");
  return out;
}

} // namespace snagmap
