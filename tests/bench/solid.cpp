// Speed and memory of the elastic solver, and CalculiX on the same mesh. Ratios are of one run on one
// machine.
//   bench_solid [--long]   --long adds a larger block solve and CalculiX's direct solver at 100,000 bricks
//   (over twenty minutes, 11 GB).
#include "sim/solid/solid.hpp"
#include "sim/solid/sweep.hpp"
#include "tests/bench/measure.hpp"
#include "tests/sim/calculix_deck.hpp"

#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <unistd.h>

using namespace snagmap;
using namespace snagmap::bench;

namespace {

SolidProblem cube(int n, int right_hand_sides = 1) {
  SolidProblem p;
  p.box = BrickBox({n, n, n}, {1, 1, 1}, 0.3, 0.05);
  p.box.fix(BrickFace::z_low);
  p.right_hand_sides = right_hand_sides;
  for (int r = 0; r < right_hand_sides; ++r)
    for (int j = 0; j <= n; ++j)
      for (int i = 0; i <= n; ++i)
        p.loads.push_back({p.box.node(i, j, n), r % 3, r, 1e-6 * (1 + r)});
  return p;
}

struct Run {
  SolidSolution solution;
  double seconds = 0, bytes_per_brick = 0;
};

Run timed(const SolidProblem& problem) {
  Run best;
  for (int repeat = 0; repeat < 3; ++repeat) {
    forget_peak();
    const double before = peak_MB();
    const double start = now_s();
    auto outcome = solve_solid(problem);
    const double spent = now_s() - start;
    if (!outcome || !outcome->converged) {
      std::printf("not solved: %s\n", outcome ? "not converged" : to_text(outcome.faults()[0]).c_str());
      std::exit(1);
    }
    const double bytes = (peak_MB() - before) * 1048576 / double(problem.box.brick_count());
    if (repeat == 0 || spent < best.seconds)
      best.solution = std::move(*outcome), best.seconds = spent;
    best.bytes_per_brick = std::max(best.bytes_per_brick, bytes);
  }
  return best;
}

/// Float and double operator on a cube, unknowns/s.
template <class T> double operator_unknowns_s(int n, int lanes) {
  const BrickBox box({n, n, n}, {1, 1, 1}, 0.3, 1);
  const Lattice g = make_lattice(box.bricks, box.edge_mm, box.nu, lanes, box.modulus_MPa, box.fixed);
  std::vector<T> x(g.entries() + kSlack, T(0.5)), y(g.entries() + kSlack);
  double best = 0;
  for (int repeat = 0; repeat < 5; ++repeat) {
    const double start = now_s();
    sweep<T>(g, x.data(), [&](int j, int k, const T* row) {
      std::copy(row, row + 3 * g.stride,
                &y[(std::size_t(k) * g.plane_rows() + std::size_t(j) * 3) * g.stride]);
    });
    best = std::max(best, 3.0 * double(g.nodes()) * lanes / (now_s() - start));
  }
  return best;
}

double calculix_s(const SolidProblem& p, const char* solver, const SolidSolution& ours) {
  namespace fs = std::filesystem;
  const fs::path folder = fs::temp_directory_path() / ("snagmap-bench-" + std::to_string(getpid()));
  fs::create_directories(folder);
  testing::write_deck(p, folder / "deck.inp", solver);
  const double start = now_s();
  const int status =
      std::system(("cd '" + folder.string() + "' && OMP_NUM_THREADS=2 ccx -i deck > ccx.log 2>&1").c_str());
  const double spent = now_s() - start;
  const auto theirs = testing::read_displacements(folder / "deck.dat");
  double most = 0, apart = 0;
  for (const auto& [node, u] : theirs) {
    most = std::max(most, norm(u));
    apart = std::max(apart, norm(u - ours.u_mm_at(node)));
  }
  fs::remove_all(folder);
  if (status != 0 || theirs.empty()) {
    std::printf("CalculiX (%s) did not run\n", solver);
    return 0;
  }
  std::printf("CalculiX %-18s %8.1f s   displacements apart by %.1e of the largest (printed to 7 digits)\n",
              solver, spent, apart / most);
  return spent;
}

} // namespace

int main(int argc, char** argv) {
  const bool extended = argc > 1 && std::strcmp(argv[1], "--long") == 0;
  const double roof = bandwidth_GB_s();
  std::printf("copy bandwidth %.1f GB/s\n\noperator alone, 1 M bricks      M unknowns/s   share of the "
              "bandwidth roof\n",
              roof);
  for (const int lanes : {1, 12}) {
    const int n = lanes == 1 ? 100 : 44;
    const double f = operator_unknowns_s<float>(n, lanes), d = operator_unknowns_s<double>(n, lanes);
    // x read, y read for ownership and written, moduli: 3 values an unknown and a float a brick and lane
    // group
    std::printf("  float  %2d right-hand sides        %8.0f        %4.0f %%\n", lanes, f * 1e-6,
                f * (12 + 4.0 / 3 / lanes) / roof * 1e-7);
    std::printf("  double %2d right-hand sides        %8.0f        %4.0f %%\n", lanes, d * 1e-6,
                d * (24 + 4.0 / 3 / lanes) / roof * 1e-7);
  }

  std::printf("\nfrom zero to a relative residual of 1e-6, set-up included\n"
              "  bricks   sides  iterations  residual   seconds  M unknowns/s  bytes/brick\n");
  double slowest = 1e300, fattest = 0;
  for (const int n : {58, 100, 159}) {
    const SolidProblem problem = cube(n);
    const Run run = timed(problem);
    const double speed = double(run.solution.unknowns) / run.seconds * 1e-6;
    slowest = std::min(slowest, speed), fattest = std::max(fattest, run.bytes_per_brick);
    std::printf("%8zu  %6d  %10d  %8.1e  %8.3f  %12.2f  %11.0f\n", problem.box.brick_count(), 1,
                run.solution.iterations[0], run.solution.residual[0], run.seconds, speed,
                run.bytes_per_brick);
  }
  for (const int n : extended ? std::vector<int>{32, 44, 64} : std::vector<int>{32, 44}) {
    const SolidProblem problem = cube(n, 12);
    const Run run = timed(problem);
    std::printf("%8zu  %6d  %10d  %8.1e  %8.3f  %12.2f  %11.0f\n", problem.box.brick_count(), 12,
                run.solution.iterations[0], run.solution.residual[0], run.seconds,
                12 * double(run.solution.unknowns) / run.seconds * 1e-6, run.bytes_per_brick / 12);
  }

  std::printf("\niterations at 32, 64, 128 bricks a side:");
  int least = 1000, most = 0;
  for (const int n : {32, 64, 128}) {
    const auto s = solve_solid(cube(n));
    std::printf(" %d", s->iterations[0]);
    least = std::min(least, s->iterations[0]), most = std::max(most, s->iterations[0]);
  }

  const SolidProblem hundred = cube(46);
  const Run ours = timed(hundred);
  std::printf("\n\nthe same mesh of %zu bricks, incompatible modes, 2 threads\nthis solver %27.3f s   "
              "residual %.1e\n",
              hundred.box.brick_count(), ours.seconds, ours.solution.residual[0]);
  const double iterative = calculix_s(hundred, "ITERATIVE CHOLESKY", ours.solution);
  const double direct = extended ? calculix_s(hundred, "SPOOLES", ours.solution) : 0;
  std::printf("\n");
  goal("unknowns-per-second-M", slowest, 2, false);
  goal("bytes-per-brick", fattest, 200, true);
  goal("iteration-spread-32-to-128", most - least, 2, true);
  if (iterative > 0)
    goal("times-faster-than-calculix-iterative", iterative / ours.seconds, 60, false);
  if (direct > 0)
    goal("times-faster-than-calculix-direct", direct / ours.seconds, 500, false);
}
