// The solver against CalculiX, a general finite-element package (Dhondt, "The Finite Element Method for
// Three-Dimensional Thermomechanical Applications", 2004): the same bricks, element C3D8I, direct solver, the
// same nodal forces, written as an input deck. Needs the program `ccx` (Debian package calculix-ccx).
#include "tests/sim/calculix_deck.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <functional>

#include <unistd.h>

using namespace snagmap;
using namespace snagmap::testing;

namespace {

namespace fs = std::filesystem;

struct Mesh {
  const char* name;
  std::function<SolidProblem()> make;
};

void PrintTo(const Mesh& mesh, std::ostream* out) {
  *out << mesh.name;
}

/// Force on the nodes of foam nearest to a place, along one axis.
void push(SolidProblem& p, int i, int j, int k, int axis, double force = 1e-3) {
  p.loads.push_back({p.box.node(i, j, k), axis, 0, force});
}

/// A web of `across` bricks on a block of foam, centred, standing `high` bricks over `deep`.
SolidProblem web(int along, int side, int across, int deep, int high, std::array<double, 3> edges, double nu,
                 int from = 0, int to = 1 << 20) {
  SolidProblem p;
  p.box = BrickBox({along, 2 * side + across, deep + high}, edges, nu, 0.05);
  for (int k = deep; k < deep + high; ++k)
    for (int j = 0; j < 2 * side + across; ++j)
      for (int i = 0; i < along; ++i)
        if (j < side || j >= side + across || i < from || i >= to)
          p.box.modulus_MPa[p.box.brick(i, j, k)] = 0;
  for (const auto face :
       {BrickFace::x_low, BrickFace::x_high, BrickFace::y_low, BrickFace::y_high, BrickFace::z_low})
    p.box.fix(face);
  for (int k = deep; k <= deep + high; ++k)
    push(p, along / 2, side + across, k, axis_y);
  return p;
}

SolidProblem block(std::array<int, 3> bricks, std::array<double, 3> edges, double nu) {
  SolidProblem p;
  p.box = BrickBox(bricks, edges, nu, 0.1);
  p.box.fix(BrickFace::z_low);
  push(p, bricks[0], bricks[1], bricks[2], axis_x);
  push(p, 0, bricks[1], bricks[2], axis_z, 2e-3);
  return p;
}

const Mesh kMeshes[] = {
    {"OneBrick",
     [] {
       return block({1, 1, 1}, {1, 2, 3}, 0.3);
     }},
    {"CubeOfCubes",
     [] {
       return block({6, 6, 6}, {1, 1, 1}, 0.3);
     }},
    {"FlatBricksAtNuZero",
     [] {
       return block({5, 7, 6}, {2, 1, 0.5}, 0.0);
     }},
    {"NearlyIncompressible",
     [] {
       return block({7, 5, 4}, {1, 0.6, 0.9}, 0.45);
     }},
    {"SlenderCantilever",
     [] {
       return block({2, 3, 24}, {0.5, 0.5, 1}, 0.3);
     }},
    {"Layers",
     [] {
       SolidProblem p = block({6, 6, 8}, {1, 1, 1}, 0.3);
       for (std::size_t b = 0; b < p.box.brick(0, 0, 3); ++b)
         p.box.modulus_MPa[b] = 1.0f;
       return p;
     }},
    {"WebOnFoam",
     [] {
       return web(16, 8, 4, 6, 10, {2.5, 1.25, 2.5}, 0.3);
     }},
    {"WebWithFreeEnds",
     [] {
       return web(22, 6, 4, 6, 8, {2, 1.5, 2}, 0.3, 5, 17);
     }},
    {"Island",
     [] {
       return web(16, 8, 4, 5, 9, {1, 1, 1.5}, 0.3, 6, 10);
     }},
    {"WebOfEightThousandBricks",
     [] {
       return web(24, 12, 8, 7, 12, {2.5, 1.25, 2}, 0.33);
     }},
};

class Calculix : public ::testing::TestWithParam<Mesh> {};

} // namespace

TEST_P(Calculix, AgreesToATenthOfAPercentAtEveryNode) {
  if (std::system("command -v ccx > /dev/null 2>&1") != 0)
    GTEST_SKIP() << "CalculiX (ccx) is not installed: apt install calculix-ccx";
  const SolidProblem p = GetParam().make();
  ASSERT_LE(p.box.brick_count(), 30000u);
  const auto ours = solve_solid(p, {1e-8, 200});
  ASSERT_TRUE(ours) << to_text(ours.faults()[0]);
  ASSERT_TRUE(ours->converged);

  const fs::path folder = fs::temp_directory_path() / ("snagmap-ccx-" + std::to_string(getpid()));
  fs::create_directories(folder);
  write_deck(p, folder / "deck.inp", "SPOOLES");
  const std::string command = "cd '" + folder.string() + "' && OMP_NUM_THREADS=1 ccx -i deck > ccx.log 2>&1";
  ASSERT_EQ(0, std::system(command.c_str())) << "see " << folder / "ccx.log";
  const auto theirs = read_displacements(folder / "deck.dat");
  ASSERT_GT(theirs.size(), 7u);
  double most = 0, apart = 0;
  for (const auto& [node, u] : theirs) {
    most = std::max(most, norm(u));
    apart = std::max(apart, norm(u - ours->u_mm_at(node)));
  }
  EXPECT_GT(most, 0);
  EXPECT_LE(apart, 1e-3 * most);
  std::printf("largest difference over largest displacement: %.1e\n", apart / most);
  fs::remove_all(folder);
}

INSTANTIATE_TEST_SUITE_P(TenMeshes, Calculix, ::testing::ValuesIn(kMeshes),
                         [](const auto& mesh) { return std::string(mesh.param.name); });
