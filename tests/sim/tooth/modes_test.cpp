// Modes from bricks against handbook frequencies and CalculiX.
#include "sim/tooth/modes.hpp"

#include "models/base/constants.hpp"
#include "tests/sim/calculix_deck.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <unistd.h>

using namespace snagmap;
using namespace snagmap::testing;

namespace {

constexpr double kDensity = 22e-12; // t/mm3 of 22 kg/m3

/// Unit load spread over a line of nodes of the plane j, between two planes of nodes across x and at one z.
SpreadLoad across(const BrickBox& box, int i0, int i1, int j, int k, int axis) {
  SpreadLoad load;
  for (int i = i0; i <= i1; ++i)
    load.parts.push_back({box.node(i, j, k), axis, 1.0 / (i1 - i0 + 1)});
  return load;
}

std::vector<double> frequencies_Hz(const BrickBox& box, const std::vector<SpreadLoad>& loads) {
  const auto found = box_modes(box, std::vector<double>(box.brick_count(), kDensity), loads, loads);
  EXPECT_TRUE(found) << (found ? "" : to_text(found.faults()[0]));
  std::vector<double> hertz;
  if (found)
    for (const WebMode& mode : found->modes)
      hertz.push_back(mode.omega_rad_s / (2 * kPi));
  return hertz;
}

/// x long, y thick, z high, built in at z = 0.
BrickBox standing(std::array<int, 3> bricks, std::array<double, 3> edges, double nu) {
  BrickBox box(bricks, edges, nu, 0.05);
  box.fix(BrickFace::z_low);
  return box;
}

} // namespace

// Blevins, Formulas for Natural Frequency and Mode Shape (1979), table 8-1: a cantilever, lambda 1.8751 and
// 4.6941. Slender, nu 0: L/h 20. Shear and rotary inertia lower the first by about (h/L)^2 (1.3 + 0.4 E/G
// ...) under 1 %, the second by (pi h / L)^2 ~ 2.5 % at most (Timoshenko); lumped mass on 40 bricks along is
// 1e-3.
TEST(WebModes, SlenderCantileverSwingsAtBlevinsFrequencies) {
  const double h = 4, tall = 80;
  const BrickBox box = standing({2, 2, 40}, {4, h / 2, tall / 40}, 0);
  const auto hertz =
      frequencies_Hz(box, {across(box, 0, 2, 2, 40, axis_y), across(box, 0, 2, 2, 20, axis_y)});
  ASSERT_GE(hertz.size(), 2u);
  const double radius = h / std::sqrt(12), wave = std::sqrt(0.05 / kDensity);
  const auto beam = [&](double lambda) { return lambda * lambda / (2 * kPi * tall * tall) * wave * radius; };
  EXPECT_NEAR(beam(1.8751), hertz[0], 0.01 * beam(1.8751));
  EXPECT_NEAR(beam(4.6941), hertz[1], 0.03 * beam(4.6941));
  EXPECT_LT(hertz[0], beam(1.8751)); // shear only ever lowers it
}

// A square cantilever plate, a = 24 h, nu 0.3: Leissa, Vibration of Plates (NASA SP-160, 1969), and Blevins
// table 11-4: omega a^2 sqrt(rho h / D) = 3.49, 8.52, 21.4 (bend, twist, second bend), from memory to three
// figures. Bricks: 24 x 1 x 24 with incompatible modes; thickness and mesh lower or raise by under 2 %.
TEST(WebModes, CantileverPlateSwingsAndTwistsAtThePublishedFrequencies) {
  const double h = 2, a = 48, nu = 0.3;
  const BrickBox box = standing({24, 2, 24}, {a / 24, h / 2, a / 24}, nu);
  const double rigidity = 0.05 * h * h * h / 12 / (1 - nu * nu);
  const double unit = std::sqrt(rigidity / (kDensity * h)) / (2 * kPi * a * a);
  const auto middle =
      frequencies_Hz(box, {across(box, 11, 13, 2, 24, axis_y), across(box, 11, 13, 2, 12, axis_y)});
  EXPECT_NEAR(3.49 * unit, middle.at(0), 0.02 * 3.49 * unit);
  EXPECT_NEAR(21.4 * unit, middle.at(1), 0.03 * 21.4 * unit);
  // A load at a corner twists it too.
  const auto corner =
      frequencies_Hz(box, {across(box, 0, 1, 2, 24, axis_y), across(box, 0, 1, 2, 12, axis_y)});
  EXPECT_NEAR(3.49 * unit, corner.at(0), 0.02 * 3.49 * unit);
  EXPECT_NEAR(8.52 * unit, corner.at(1), 0.02 * 8.52 * unit);
}

// Blevins table 8-16: a square bar built in at one end twists at f = sqrt(C / I_p) c_shear / (4 L), C =
// 0.1406 b^4 (Saint-Venant), I_p = b^4 / 6. Warping held at the foot stiffens it by about 0.2 b / L: 2 %.
TEST(WebModes, SquareBarTwistsAtSaintVenantsFrequency) {
  const double b = 8, tall = 80, nu = 0.25;
  BrickBox box = standing({6, 6, 40}, {b / 6, b / 6, tall / 40}, nu);
  SpreadLoad couple;
  for (int n = 0; n <= 6; ++n) {
    couple.parts.push_back({box.node(0, n, 40), axis_y, -1.0}),
        couple.parts.push_back({box.node(6, n, 40), axis_y, 1.0});
    couple.parts.push_back({box.node(n, 0, 40), axis_x, 1.0}),
        couple.parts.push_back({box.node(n, 6, 40), axis_x, -1.0});
  }
  const double shear = std::sqrt(0.05 / (2 * (1 + nu)) / kDensity);
  const double expected = std::sqrt(0.1406 * 6) * shear / (4 * tall);
  EXPECT_NEAR(expected, frequencies_Hz(box, {couple}).at(0), 0.03 * expected);
}

// Static answers are kept exactly: the modes' compliance between loads is the solver's, which a series of
// free modes cut off as early is not.
TEST(WebModes, ComplianceOfTheModesIsTheStaticOne) {
  const BrickBox box = standing({10, 3, 8}, {4, 3, 3}, 0.3);
  const std::vector<SpreadLoad> loads{across(box, 4, 6, 3, 8, axis_y), across(box, 4, 6, 3, 5, axis_y)};
  const auto found =
      box_modes(box, std::vector<double>(box.brick_count(), kDensity), loads, loads, {3, 1e-9});
  ASSERT_TRUE(found);
  SolidProblem problem;
  problem.box = box;
  for (const auto& part : loads[0].parts)
    problem.loads.push_back({part.node, part.axis, 0, part.share});
  const auto solution = solve_solid(problem, {1e-9, 300});
  ASSERT_TRUE(solution);
  for (std::size_t r = 0; r < 2; ++r) {
    double direct = 0, modal = 0;
    for (const auto& part : loads[r].parts)
      direct += part.share * solution->u_mm(part.node, part.axis);
    for (const WebMode& mode : found->modes)
      modal += mode.shape[0] * mode.shape[r] / (mode.omega_rad_s * mode.omega_rad_s);
    EXPECT_NEAR(direct, modal, 1e-6 * direct);
  }
}

// CalculiX *FREQUENCY on the same bricks (C3D8I), a web on a block of foam. Its mass is consistent, ours
// lumped: for linear bricks they differ by (k dx)^2 / 12 of omega^2 each way; k dx is at most pi/2 / 6 up the
// web, so 1 %.
TEST(WebModes, WebOnABlockSwingsAsInCalculix) {
  if (std::system("command -v ccx > /dev/null 2>&1") != 0)
    GTEST_SKIP() << "CalculiX (ccx) is not installed: apt install calculix-ccx";
  BrickBox box({14, 10, 14}, {3, 2.5, 3}, 0.3, 0.05);
  for (int k = 5; k < 14; ++k)
    for (int j = 0; j < 10; ++j)
      for (int i = 0; i < 14; ++i)
        if (j < 3 || j >= 7)
          box.modulus_MPa[box.brick(i, j, k)] = 0;
  box.fix(BrickFace::z_low), box.fix(BrickFace::x_low), box.fix(BrickFace::x_high);
  const std::vector<SpreadLoad> loads{across(box, 6, 8, 7, 14, axis_y), across(box, 6, 8, 7, 10, axis_y),
                                      across(box, 6, 8, 7, 7, axis_y)};
  const auto hertz = frequencies_Hz(box, loads);
  namespace fs = std::filesystem;
  const fs::path folder = fs::temp_directory_path() / ("snagmap-modes-" + std::to_string(getpid()));
  fs::create_directories(folder);
  SolidProblem problem;
  problem.box = box;
  write_deck(problem, folder / "static.inp", "SPOOLES");
  std::ifstream in(folder / "static.inp");
  std::ofstream out(folder / "deck.inp");
  for (std::string line; std::getline(in, line) && line != "*STEP";) {
    out << line << '\n';
    if (line.rfind("*ELASTIC", 0) == 0) {
      std::getline(in, line);
      out << line << "\n*DENSITY\n22e-12\n";
    }
  }
  out << "*STEP\n*FREQUENCY\n6\n*END STEP\n";
  out.close();
  ASSERT_EQ(0, std::system(
                   ("cd '" + folder.string() + "' && OMP_NUM_THREADS=1 ccx -i deck > ccx.log 2>&1").c_str()));
  std::ifstream dat(folder / "deck.dat");
  double first = 0;
  for (std::string line; std::getline(dat, line) && first == 0;) {
    std::istringstream words(line);
    int number = 0;
    double value = 0, rad = 0, cycles = 0;
    if (words >> number >> value >> rad >> cycles && number == 1)
      first = cycles;
  }
  ASSERT_GT(first, 0) << "see " << folder;
  EXPECT_NEAR(first, hertz.at(0), 0.01 * first);
  std::printf("first mode %.2f Hz, CalculiX %.2f Hz\n", hertz.at(0), first);
  fs::remove_all(folder);
}
