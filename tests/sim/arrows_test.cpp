// The arrows between the rooms: each includes itself and those before it in the order of the flow, and no
// heavy library in a header, but for the few that only .cpp files include. Parallel loops go through the
// wrapper that tells the thread sanitiser their order.
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <regex>
#include <sstream>
#include <string>
#include <vector>

namespace {

namespace fs = std::filesystem;
using Files = std::map<std::string, std::string>; // path from the root -> text

/// The rooms in the order of the flow, from the list the targets are made of.
std::vector<std::string> rooms() {
  std::istringstream words(SNAGMAP_ROOMS);
  return {std::istream_iterator<std::string>(words), {}};
}

std::string room_of(const std::string& path) {
  const std::size_t first = path.find('/'), second = path.find('/', first + 1);
  return second == std::string::npos ? "" : path.substr(0, second);
}

/// Place of a path's room in the order; -1: in none.
int rank(const std::string& path) {
  static const std::vector<std::string> order = rooms();
  const auto at = std::find(order.begin(), order.end(), room_of(path));
  return at == order.end() ? -1 : static_cast<int>(at - order.begin());
}

bool is_ours(const std::string& include) {
  return include.rfind("models/", 0) == 0 || include.rfind("sim/", 0) == 0 || include.rfind("viz/", 0) == 0;
}

std::vector<std::string> includes(const std::string& text) {
  static const std::regex kInclude(R"re(^\s*#\s*include\s*[<"]([^>"]+)[>"])re");
  std::vector<std::string> found;
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);)
    if (std::smatch match; std::regex_search(line, match, kInclude))
      found.push_back(match[1]);
  return found;
}

std::string library(const std::string& include) {
  for (const std::string name : {"openvdb/", "vtk", "tbb/", "oneapi/"})
    if (include.rfind(name, 0) == 0)
      return name;
  return "";
}

/// Headers that only .cpp files may include, since they bring a heavy library with them.
const std::vector<std::string> kHeavyHeaders = {"viz/draw/vtk_mesh.hpp", "viz/draw/vtk_modules.hpp",
                                                "viz/window/parts.hpp", "viz/window/skin.hpp"};

bool is_heavy(const std::string& path) {
  return std::find(kHeavyHeaders.begin(), kHeavyHeaders.end(), path) != kHeavyHeaders.end();
}

/// Every include that goes against the arrows, as "file includes what: why".
std::vector<std::string> violations(const Files& files) {
  std::vector<std::string> found;
  for (const auto& [path, text] : files) {
    if (rank(path) < 0)
      found.push_back(path + " lies in no room");
    if (path != "sim/threads/parallel.cpp" && text.find("tbb::parallel_") != std::string::npos)
      found.push_back(path + " loops past sim/threads/parallel.hpp");
    const bool public_header = !is_heavy(path) && fs::path(path).extension() == ".hpp";
    for (const std::string& include : includes(text)) {
      const std::string heavy = library(include);
      const std::string line = path + " includes " + include + ": ";
      if (is_ours(include) && rank(include) < 0)
        found.push_back(line + "no such room");
      else if (rank(include) > rank(path))
        found.push_back(line + "against the arrow");
      else if (public_header && !heavy.empty())
        found.push_back(line + "a heavy library in a public header");
      else if (public_header && is_heavy(include))
        found.push_back(line + "a heavy header in a public one");
      else if (path.rfind("models/", 0) == 0 && !heavy.empty())
        found.push_back(line + "models needs no voxels, threads or pictures");
      else if (path.rfind("sim/", 0) == 0 && heavy == "vtk")
        found.push_back(line + "pictures belong in viz");
    }
  }
  return found;
}

Files tree() {
  Files files;
  const fs::path root = SNAGMAP_ROOT;
  for (const char* folder : {"models", "sim", "viz"})
    for (const auto& entry : fs::recursive_directory_iterator(root / folder)) {
      const fs::path& path = entry.path();
      if (path.extension() != ".hpp" && path.extension() != ".cpp")
        continue;
      std::ostringstream text;
      text << std::ifstream(path).rdbuf();
      files[fs::relative(path, root).generic_string()] = text.str();
    }
  return files;
}

TEST(Arrows, FoldersIncludeOnlyThoseBeforeThem) {
  const Files files = tree();
  ASSERT_TRUE(files.count("models/base/vec.hpp") && files.count("sim/path/path.hpp") &&
              files.count("viz/cli/main.cpp"));
  for (const std::string& violation : violations(files))
    ADD_FAILURE() << violation;
}

// The check itself must be able to fail.
TEST(Arrows, EachKindOfViolationIsSeen) {
  EXPECT_EQ(violations({{"sim/path/a.cpp", "tbb::parallel_for(0, n, body);\n"}}).size(), 1u);
  EXPECT_EQ(violations({{"models/web/a.cpp", "#include \"sim/path/path.hpp\"\n"}}).size(), 1u);
  EXPECT_EQ(violations({{"sim/path/a.cpp", "  # include \"viz/report/report.hpp\"\n"}}).size(), 1u);
  EXPECT_EQ(violations({{"sim/path/a.hpp", "#include <openvdb/openvdb.h>\n"}}).size(), 1u);
  EXPECT_EQ(violations({{"viz/cli/a.hpp", "#include <vtkPolyData.h>\n"}}).size(), 1u);
  EXPECT_EQ(violations({{"sim/path/a.hpp", "#include <tbb/parallel_for.h>\n"}}).size(), 1u);
  EXPECT_EQ(violations({{"viz/cli/a.hpp", "#include \"viz/window/skin.hpp\"\n"}}).size(), 1u);
  EXPECT_EQ(violations({{"models/web/a.cpp", "#include <tbb/parallel_for.h>\n"}}).size(), 1u);
  EXPECT_EQ(violations({{"sim/path/a.cpp", "#include <vtkPolyData.h>\n"}}).size(), 1u);
  EXPECT_TRUE(
      violations({{"viz/cli/a.cpp", "#include <vtkPolyData.h>\n#include \"sim/path/path.hpp\"\n"}}).empty());
  EXPECT_TRUE(violations({{"viz/window/skin.hpp", "#include <vtkPolyData.h>\n"}}).empty());
  EXPECT_TRUE(
      violations({{"sim/path/a.cpp", "#include <tbb/parallel_for.h>\n// #include \"viz/a.hpp\"\n"}}).empty());
}

} // namespace
