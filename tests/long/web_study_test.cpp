// The study behind the formula's fit: Gamma of random straight webs by finite elements, one line a web.
//
//   WEB_STUDY="SEED COUNT FILE.csv" build/release/tests/test_long --gtest_filter='WebStudy.*'
//
// writes them (and goes on where a stopped run left the file): seed 1 is scripts/gamma_fit.csv, seed 3
// scripts/gamma_held_out.csv. scripts/fit_gamma.py fits the first and prints the errors on both. About 0.5 s
// a web.
//
//   WEB_LIST="FILE.csv" build/release/tests/test_long --gtest_filter='WebStudy.*'
//
// solves the webs of a file and writes their last column anew: scripts/gamma_walls.csv, walls as people cut
// them.
#include "models/web/compliance.hpp"
#include "sim/solid/solid.hpp"

#include <Eigen/Eigenvalues>
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <random>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

using namespace snagmap;

namespace {

constexpr int kLoads = 3;      ///< polynomials over the contact, up to squares: the mode is smooth
constexpr double kOrder = 1.3; ///< observed order of Gamma in the brick's edge (corners at root and contact)

enum class StudyEnd { far, free, built_in };
const char* name(StudyEnd end) {
  return end == StudyEnd::far ? "far" : end == StudyEnd::free ? "free" : "built-in";
}

struct StudyWeb {
  int number = 0;
  Web web;
  Contact contact;
  StudyEnd end[2] = {StudyEnd::far, StudyEnd::far};
};

struct Draw {
  std::mt19937_64 random;
  double unit() { return double(random() >> 11) * 0x1p-53; }
  double between(double a, double b) { return a + (b - a) * unit(); }
  double power(double a, double b) { return a * std::pow(b / a, unit()); }
};

/// Web `number` of a seed, whatever came before it. Widths, heights and contacts of the trade: w 4 to 25 mm,
/// h/w 0.25 to 10 with h 5 to 75 mm, flutes up to 0.25 to 1 of h,
/// one in five not from the root on, b_p 2 to 10 mm, nu 0 to 0.45, one floor in four a board, ends far, free
/// or built in, at any distance from half a contact on; the web no shorter than it is thick (such posts are
/// islands).
StudyWeb random_web(unsigned seed, int number) {
  Draw draw{std::mt19937_64(seed * 1000003ull + unsigned(number))};
  StudyWeb study;
  study.number = number;
  Web& web = study.web;
  do {
    web.w_mm = draw.power(4, 25);
    web.h_mm = web.w_mm * draw.power(0.25, 10);
  } while (web.h_mm < 5 || web.h_mm > 75);
  web.b_p_mm = draw.power(2, 10);
  web.nu = draw.between(0, 0.45);
  const double high = draw.unit() < 0.3 ? 1 : draw.between(0.25, 1);
  const double low = draw.unit() < 0.8 ? 0 : draw.between(0, high - 0.2);
  study.contact = {low * web.h_mm, high * web.h_mm};
  web.rigid_floor = draw.unit() < 0.25;
  do {
    for (const int side : {0, 1}) {
      const double kind = draw.unit();
      study.end[side] = kind < 0.4 ? StudyEnd::far : kind < 0.7 ? StudyEnd::free : StudyEnd::built_in;
      (side ? web.d2_mm : web.d1_mm) = study.end[side] == StudyEnd::far
                                           ? 6 * web.h_mm
                                           : draw.power(web.b_p_mm / 2, 2.5 * web.h_mm + web.b_p_mm);
      (side ? web.end2 : web.end1) = study.end[side] == StudyEnd::built_in ? WebEnd::built_in : WebEnd::free;
    }
  } while (web.length_mm() < web.w_mm);
  return study;
}

struct Mesh {
  BrickBox box;
  int load_x = 0, face_y = 0, root_z = 0; ///< node planes
};

/// Least multiple of 4 that is not under `count`.
int fours(double count) {
  return std::max(4, int(std::ceil(count / 4 - 1e-9)) * 4);
}

/// The web on its foam; faces, ends and root lie on the mesh, to which the distances of near ends are moved.
/// `finer` divides every edge. Foam reaches two heights past the web, less where the web is slender: its root
/// feels no further than some thicknesses; `room` scales that.
Mesh mesh_of(StudyWeb& study, int finer = 1, double room = 1) {
  Web& web = study.web;
  const double h = web.h_mm, w = web.w_mm;
  const double most = std::max(web.b_p_mm, h / 8) / 1.5;
  const int over = std::max(6, int(std::ceil(3 * h / (study.contact.high_mm - study.contact.low_mm))));
  const int across = std::max(3, int(std::ceil(w / most)));
  const double edge_x = most, edge_y = w / across, edge_z = h / over;
  const double felt = std::max(0.85 * h, 3 * w);
  const bool blocks = study.end[0] == StudyEnd::built_in || study.end[1] == StudyEnd::built_in;
  const double beside = room * std::max(std::min(2 * h, felt), w),
               below = room * std::min(std::max(h, 25.0), felt);
  int run[2], beyond[2];
  for (const int n : {0, 1}) {
    double& d = n ? web.d2_mm : web.d1_mm;
    const double seen = study.end[n] == StudyEnd::far ? room * 2.5 * h + web.b_p_mm : d;
    run[n] = std::max(1, int(std::lround(seen / edge_x)));
    if (study.end[n] != StudyEnd::far)
      d = run[n] * edge_x;
    const bool nothing = study.end[n] == StudyEnd::far || (study.end[n] == StudyEnd::free && web.rigid_floor);
    beyond[n] = nothing ? 0 : std::max(2, int(std::lround(0.75 * beside / edge_x)));
  }
  while ((run[0] + run[1] + beyond[0] + beyond[1]) % 4)
    ++beyond[1]; // air, foam or web: as what lies beyond
  const int side = web.rigid_floor && !blocks ? 0 : std::max(2, int(std::lround(beside / edge_y)));
  const int spare = fours(2 * side + across) - 2 * side - across;
  const int under = web.rigid_floor ? 0 : fours(below / edge_z + over) - over;
  Mesh mesh;
  mesh.load_x = finer * (beyond[0] + run[0]);
  mesh.face_y = finer * (side + across);
  mesh.root_z = finer * under;
  const int top = web.rigid_floor ? fours(over) - over : 0; // air over the web
  const int nx = finer * (run[0] + run[1] + beyond[0] + beyond[1]), ny = finer * (2 * side + across + spare),
            nz = finer * (under + over + top);
  mesh.box = BrickBox({nx, ny, nz}, {edge_x / finer, edge_y / finer, edge_z / finer}, web.nu, 1);
  for (int k = mesh.root_z; k < nz; ++k)
    for (int j = 0; j < ny; ++j)
      for (int i = 0; i < nx; ++i) {
        const int n = i < mesh.load_x ? 0 : 1;
        const int along = (n ? i - mesh.load_x : mesh.load_x - 1 - i) / finer;
        const bool in_line =
            j >= finer * side && j < mesh.face_y && along < run[n] + (study.end[n] == StudyEnd::far) * nx;
        const bool stock = along >= run[n] && study.end[n] == StudyEnd::built_in;
        if (k >= finer * (under + over) || (!in_line && !stock))
          mesh.box.modulus_MPa[mesh.box.brick(i, j, k)] = 0;
      }
  mesh.box.fix(BrickFace::z_low);
  if (side)
    mesh.box.fix(BrickFace::y_low), mesh.box.fix(BrickFace::y_high);
  for (const int n : {0, 1})
    if (study.end[n] != StudyEnd::free || !web.rigid_floor)
      mesh.box.fix(n ? BrickFace::x_high : BrickFace::x_low);
  return mesh;
}

/// Share of a hat function at node `n` (spacing 1) over the interval.
double hat(double low, double high, int n) {
  const auto upto = [](double t) { // integral of 1 - |t| from -1
    t = std::min(std::max(t, -1.0), 1.0);
    return t < 0 ? 0.5 * (1 + t) * (1 + t) : 1 - 0.5 * (1 - t) * (1 - t);
  };
  return upto(high - n) - upto(low - n);
}

/// Legendre polynomials, orthonormal over -1 .. 1 up to the factor sqrt(2).
std::array<double, kLoads> polynomials(double t) {
  return {1, std::sqrt(3.0) * t, std::sqrt(5.0) * 0.5 * (3 * t * t - 1)};
}

/// E times the largest eigenvalue of the compliance over the contact.
double solve_gamma(const Mesh& mesh, const StudyWeb& study) {
  SolidProblem problem;
  problem.box = mesh.box;
  problem.right_hand_sides = kLoads;
  const int nx = mesh.box.bricks[0];
  const double edge_z = mesh.box.edge_mm[2], low = study.contact.low_mm, high = study.contact.high_mm;
  const double half_wide = 0.5 * study.web.b_p_mm / mesh.box.edge_mm[0];
  for (int k = int(low / edge_z); k * edge_z < high - 1e-9 * study.web.h_mm; ++k) {
    const double z0 = std::max(low, k * edge_z), z1 = std::min(high, (k + 1) * edge_z);
    for (const int point : {-1, 0, 1}) { // three-point Gauss: exact to the fifth power
      const double z = 0.5 * (z0 + z1) + 0.5 * point * std::sqrt(0.6) * (z1 - z0);
      const double weight = (z1 - z0) * (point ? 5.0 : 8.0) / 18, up = z / edge_z - k;
      const auto value = polynomials((2 * z - low - high) / (high - low));
      for (int i = 0; i <= nx; ++i) {
        const double share = hat(mesh.load_x - half_wide, mesh.load_x + half_wide, i) / (2 * half_wide);
        for (int n = 0; share > 0 && n < 2; ++n)
          for (int s = 0; s < kLoads; ++s)
            problem.loads.push_back(
                {mesh.box.node(i, mesh.face_y, mesh.root_z + k + n), axis_y, s,
                 share * weight * value[std::size_t(s)] * (n ? up : 1 - up) / std::sqrt(high - low)});
      }
    }
  }
  const auto solution = solve_solid(problem, {2e-3, 300}); // Gamma errs with the square
  EXPECT_TRUE(solution && solution->converged) << (solution ? "not converged" : solution.faults()[0].what);
  if (!solution)
    return 0;
  Eigen::Matrix<double, kLoads, kLoads> G = Eigen::Matrix<double, kLoads, kLoads>::Zero();
  for (const NodeValue& load : problem.loads)
    for (int s = 0; s < kLoads; ++s)
      G(load.right_hand_side, s) += load.value * solution->u_mm(load.node, axis_y, s);
  const Eigen::Matrix<double, kLoads, kLoads> symmetric = 0.5 * (G + G.transpose());
  return Eigen::SelfAdjointEigenSolver<Eigen::Matrix<double, kLoads, kLoads>>(symmetric).eigenvalues()(
      kLoads - 1);
}

/// From bricks and bricks half as large, by the observed order.
double extrapolated(double coarse, double fine) {
  return fine + (fine - coarse) / (std::pow(2, kOrder) - 1);
}

std::string number(const char* format, double x) {
  char text[32];
  std::snprintf(text, sizeof text, format, x);
  return text;
}

const char* kHeader = "number,w_mm,h_mm,d1_mm,d2_mm,end1,end2,b_p_mm,nu,rigid_floor,low_mm,high_mm,gamma";
std::string row(const StudyWeb& study, double gamma) {
  const Web& web = study.web;
  std::string line = std::to_string(study.number);
  for (const double x : {web.w_mm, web.h_mm, web.d1_mm, web.d2_mm})
    line += number(",%.5g", x);
  line += std::string(",") + name(study.end[0]) + "," + name(study.end[1]);
  line += number(",%.5g", web.b_p_mm) + number(",%.4f", web.nu) + (web.rigid_floor ? ",1" : ",0");
  line += number(",%.5g", study.contact.low_mm) + number(",%.5g", study.contact.high_mm);
  return line + number(",%.5g", gamma);
}

StudyWeb read_row(const std::string& line) {
  std::vector<std::string> cell;
  std::istringstream cells(line);
  for (std::string text; std::getline(cells, text, ',');)
    cell.push_back(text);
  EXPECT_GE(cell.size(), 12u) << line;
  cell.resize(12);
  const auto number = [&](std::size_t i) { return std::strtod(cell[i].c_str(), nullptr); };
  StudyWeb study;
  study.number = int(number(0));
  Web& web = study.web;
  web.w_mm = number(1), web.h_mm = number(2), web.d1_mm = number(3), web.d2_mm = number(4);
  for (const std::size_t n : {0, 1}) {
    const std::string& end = cell[5 + n];
    study.end[n] = end == "far" ? StudyEnd::far : end == "free" ? StudyEnd::free : StudyEnd::built_in;
    (n ? web.end2 : web.end1) = study.end[n] == StudyEnd::built_in ? WebEnd::built_in : WebEnd::free;
  }
  web.b_p_mm = number(7), web.nu = number(8), web.rigid_floor = cell[9] == "1";
  study.contact = {number(10), number(11)};
  return study;
}

std::pair<StudyWeb, double> solved(StudyWeb study) {
  const Mesh coarse = mesh_of(study); // moves the near ends to the mesh
  const double first = solve_gamma(coarse, study);
  return {study, extrapolated(first, solve_gamma(mesh_of(study, 2), study))};
}

} // namespace

TEST(WebStudy, WritesGammaOfRandomWebs) {
  const char* order = std::getenv("WEB_STUDY");
  if (!order)
    GTEST_SKIP() << "WEB_STUDY=\"SEED COUNT FILE.csv\" is not set";
  unsigned seed = 0;
  int count = 0;
  std::string file;
  ASSERT_TRUE(bool(std::istringstream(order) >> seed >> count >> file)) << order;
  int done = 0;
  if (std::ifstream before(file); before)
    for (std::string line; std::getline(before, line);)
      ++done;
  std::ofstream out(file, std::ios::app);
  if (done == 0)
    out << kHeader << std::endl;
  for (int n = std::max(0, done - 1); n < count; ++n) {
    const auto [study, value] = solved(random_web(seed, n));
    out << row(study, value) << std::endl;
  }
}

TEST(WebStudy, SolvesListedWebs) {
  const char* file = std::getenv("WEB_LIST");
  if (!file)
    GTEST_SKIP() << "WEB_LIST=\"FILE.csv\" is not set";
  std::ifstream in(file);
  std::string line, out = std::string(kHeader) + "\n";
  std::getline(in, line);
  ASSERT_EQ(line, kHeader);
  while (std::getline(in, line)) {
    const StudyWeb listed = read_row(line);
    out += row(listed, solved(listed).second) +
           "\n"; // as listed: the mesh moves near ends by half a brick at most
  }
  std::ofstream(file) << out;
}

// The committed values are what the study gives. They were made with slightly tighter solves for the first
// rows.
TEST(WebStudy, CommittedValuesComeOutAgain) {
  for (const auto& [file, seed] : {std::pair("gamma_fit.csv", 1u), std::pair("gamma_held_out.csv", 3u)}) {
    std::ifstream in(std::string(SNAGMAP_ROOT) + "/scripts/" + file);
    std::string line;
    std::getline(in, line);
    EXPECT_EQ(line, kHeader);
    for (int n = 0; n < 10 && std::getline(in, line); ++n) {
      const auto [study, value] = solved(random_web(seed, n));
      const std::string again = row(study, value);
      const std::size_t cut = line.rfind(','), cut_again = again.rfind(',');
      EXPECT_EQ(again.substr(0, cut_again), line.substr(0, cut)) << file;
      EXPECT_NEAR(value / std::stod(line.substr(cut + 1)), 1, 5e-3) << line;
    }
  }
}

// Halving the bricks once more moves the extrapolated value by under 3 %: the mesh's share of the study's
// error.
TEST(WebStudy, MeshesHaveConverged) {
  for (const int n : {7, 9, 26, 29, 37}) {
    StudyWeb study = random_web(7, n);
    const Mesh first = mesh_of(study);
    const double coarse = solve_gamma(first, study), fine = solve_gamma(mesh_of(study, 2), study),
                 finest = solve_gamma(mesh_of(study, 4), study);
    EXPECT_NEAR(extrapolated(coarse, fine) / extrapolated(fine, finest), 1, 0.03) << n;
  }
}

// 32^3 to 64^3 is in the suite; this is the other doubling.
TEST(SolidStudy, IterationsDoNotGrowTo128Bricks) {
  int iterations[2];
  for (const int doubled : {0, 1}) {
    const int n = doubled ? 128 : 32;
    SolidProblem problem;
    problem.box = BrickBox({n, n, n}, {1.0 / n, 1.0 / n, 1.0 / n}, 0.3, 1);
    problem.box.fix(BrickFace::z_low);
    for (int i = 0; i <= n; ++i)
      problem.loads.push_back({problem.box.node(i, n / 2, n), axis_y, 0, 1.0 / n});
    const auto solution = solve_solid(problem);
    ASSERT_TRUE(solution && solution->converged);
    iterations[doubled] = solution->iterations[0];
  }
  EXPECT_LE(std::abs(iterations[1] - iterations[0]), 2)
      << iterations[0] << " at 32^3, " << iterations[1] << " at 128^3";
}
