// The mesh reader's process: a time of its own, and no life beyond its parent's.
#include "viz/files/mesh_file.hpp"

#include "tests/viz/real_program.hpp"

#include <csignal>

using namespace snagmap::testing;

namespace {

/// Text that keeps a reader for a while: ten million corners.
void put_large_stl(const std::string& name) {
  std::ofstream out(name);
  out << "solid large\n";
  std::string facets;
  for (int n = 0; n < 1000; ++n)
    facets += "facet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0\nendloop\nendfacet\n";
  for (int n = 0; n < 1500; ++n)
    out << facets;
  out << "endsolid large\n";
}

class MeshReader : public RealProgram {
protected:
  void SetUp() override {
    RealProgram::SetUp();
    put_large_stl("large.stl");
    put("job.nc", "G21 G90 G17\nS18000 M3\nG0 Z5\nG1 X10 Z-5 F1000\nG0 Z5\nM30\n");
    put("job.toml", "foam = \"pu-22\"\ncutter = \"flat-6.35-long\"\nprogram = \"job.nc\"\n[sheet]\nstock = "
                    "\"large.stl\"\n");
  }
  /// Processes whose words name this test's mesh.
  std::vector<pid_t> readers() const {
    std::vector<pid_t> found;
    std::error_code error;
    for (fs::directory_iterator at("/proc", error), end; !error && at != end; at.increment(error)) {
      const std::string words = slurp(at->path() / "cmdline");
      if (words.find("--read-a-mesh") != std::string::npos && words.find(root.string()) != std::string::npos)
        found.push_back(static_cast<pid_t>(std::atol(at->path().filename().c_str())));
    }
    return found;
  }
};

} // namespace

TEST_F(MeshReader, EndsWithItsParent) {
  const pid_t parent = start({"preview", (root / "job.toml").string(), "--json"});
  ASSERT_TRUE(wait_for(parent, [&] { return !readers().empty(); })) << slurp("err.txt");
  const pid_t reader = readers().front();
  EXPECT_EQ(fs::read_symlink("/proc/" + std::to_string(reader) + "/exe"), fs::canonical(SNAGMAP_BINARY))
      << "the program itself, by exec";
  kill(parent, SIGKILL);
  waitpid(parent, nullptr, 0);
  for (int n = 0; n < 1000 && !readers().empty(); ++n) // the kernel sends its signal at the parent's end
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
  EXPECT_TRUE(readers().empty());
}

TEST_F(MeshReader, AStopWhileItReadsIsAStopAndNoFaultOfTheMesh) {
  const pid_t parent = start({"preview", (root / "job.toml").string(), "--out", "result"});
  ASSERT_TRUE(wait_for(parent, [&] { return !readers().empty(); })) << slurp("err.txt");
  kill(parent, SIGINT);
  EXPECT_EQ(status_of(parent), 130);
  EXPECT_EQ(slurp("err.txt"), "\nsnagmap: stopped; nothing was written\n");
  EXPECT_FALSE(fs::exists("result"));
}

TEST_F(MeshReader, TheCauseIsTheSystemsOwn) {
  const auto none = snagmap::read_mesh_file("none.stl");
  ASSERT_FALSE(none);
  EXPECT_EQ(none.faults().front().what, "the mesh cannot be opened: No such file or directory");
  put("broken.vtp", "<VTKFile type=\"PolyData\"");
  const auto broken = snagmap::read_mesh_file("broken.vtp");
  ASSERT_FALSE(broken);
  EXPECT_EQ(broken.faults().front().what, "the mesh cannot be read whole");
}
