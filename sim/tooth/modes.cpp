#include "sim/tooth/modes.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

using Vectors = Eigen::MatrixXd; // a row a degree of freedom, 3 to a node

Eigen::VectorXd lumped_mass(const BrickBox& box, const std::vector<double>& density) {
  Eigen::VectorXd mass = Eigen::VectorXd::Zero(Eigen::Index(box.node_count()));
  const auto [nx, ny, nz] = box.bricks;
  for (int k = 0; k < nz; ++k)
    for (int j = 0; j < ny; ++j)
      for (int i = 0; i < nx; ++i) {
        const std::size_t brick = box.brick(i, j, k);
        if (!(box.modulus_MPa[brick] > 0))
          continue;
        const double eighth = density[brick] * box.edge(0, i) * box.edge(1, j) * box.edge(2, k) / 8;
        for (int corner = 0; corner < 8; ++corner)
          mass(Eigen::Index(box.node(i + (corner & 1), j + (corner >> 1 & 1), k + (corner >> 2)))) += eighth;
      }
  return mass;
}

/// K^-1 of forces on all nodes.
Outcome<Vectors> answers(const BrickBox& box, const Vectors& forces, double tolerance, BoxModes& found) {
  SolidProblem problem;
  problem.box = box;
  problem.right_hand_sides = int(forces.cols());
  for (Eigen::Index c = 0; c < forces.cols(); ++c)
    for (Eigen::Index d = 0; d < forces.rows(); ++d)
      if (forces(d, c) != 0 && !(box.fixed[std::size_t(d / 3)] >> (d % 3) & 1))
        problem.loads.push_back({std::size_t(d / 3), int(d % 3), int(c), forces(d, c)});
  Outcome<SolidSolution> solution = solve_solid(problem, {tolerance, 300});
  if (!solution)
    return solution.faults();
  if (!solution->converged)
    return Fault("the solve for a web's modes did not converge", "the web's tooth number stays unknown");
  found.unknowns = int(solution->unknowns);
  found.residual =
      std::max(found.residual, *std::max_element(solution->residual.begin(), solution->residual.end()));
  Vectors u(forces.rows(), forces.cols());
  for (Eigen::Index c = 0; c < u.cols(); ++c)
    for (Eigen::Index d = 0; d < u.rows(); ++d)
      u(d, c) = solution->u_mm(std::size_t(d / 3), int(d % 3), int(c));
  return u;
}

} // namespace

Outcome<BoxModes> box_modes(const BrickBox& box, const std::vector<double>& density_t_mm3,
                            const std::vector<SpreadLoad>& loads, const std::vector<SpreadLoad>& readings,
                            const ModeOptions& options) {
  if (loads.empty() || int(loads.size()) > kMaxRightHandSides)
    return Fault("a web's modes need 1 to 16 loads", "");
  BoxModes found;
  const Eigen::Index size = 3 * Eigen::Index(box.node_count()), count = Eigen::Index(loads.size());
  const Eigen::VectorXd node_mass = lumped_mass(box, density_t_mm3);
  const auto times_mass = [&](const Vectors& u) {
    Vectors f = u;
    for (Eigen::Index d = 0; d < size; ++d)
      f.row(d) *= node_mass(d / 3);
    return f;
  };
  Vectors forces = Vectors::Zero(size, count);
  for (Eigen::Index c = 0; c < count; ++c)
    for (const SpreadLoad::Part& part : loads[std::size_t(c)].parts)
      forces(3 * Eigen::Index(part.node) + part.axis, c) += part.share;

  const Eigen::Index all = count * options.rounds;
  Vectors basis(size, all), pulls(size, all); // K basis = pulls
  for (int round = 0; round < options.rounds; ++round) {
    const Outcome<Vectors> u = answers(box, forces, options.tolerance, found);
    if (!u)
      return u.faults();
    Vectors inertia = times_mass(*u);
    for (Eigen::Index c = 0; c < count; ++c) { // of kinetic size 1, so that the small problem is well scaled
      const double scale = 1 / std::sqrt(u->col(c).dot(inertia.col(c)));
      basis.col(round * count + c) = scale * u->col(c);
      pulls.col(round * count + c) = scale * forces.col(c);
      inertia.col(c) *= scale;
    }
    forces = inertia;
  }
  const Eigen::MatrixXd mass = basis.transpose() * times_mass(basis);
  Eigen::MatrixXd stiffness = basis.transpose() * pulls;
  stiffness = 0.5 * (stiffness + stiffness.transpose()).eval();
  // What the vectors share to rounding is left out.
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> shared(mass);
  const double most = shared.eigenvalues().maxCoeff();
  constexpr double kShared = 1e-9;
  Eigen::Index left = 0;
  while (left < all && shared.eigenvalues()(left) < kShared * most)
    ++left;
  const Eigen::MatrixXd whiten =
      shared.eigenvectors().rightCols(all - left) *
      shared.eigenvalues().tail(all - left).cwiseSqrt().cwiseInverse().asDiagonal();
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> solver(whiten.transpose() * stiffness * whiten);
  const Eigen::MatrixXd shapes = basis * (whiten * solver.eigenvectors());
  for (Eigen::Index m = 0; m < all - left; ++m) {
    const double value = solver.eigenvalues()(m);
    if (!(value > 0))
      continue; // rounding of what the vectors nearly share
    WebMode mode{std::sqrt(value), {}};
    for (const SpreadLoad& reading : readings) {
      double u = 0;
      for (const SpreadLoad::Part& part : reading.parts)
        u += part.share * shapes(3 * Eigen::Index(part.node) + part.axis, m);
      mode.shape.push_back(u);
    }
    found.modes.push_back(std::move(mode));
  }
  if (found.modes.empty())
    return Fault("a web without modes: nothing of it can move", "");
  return found;
}

} // namespace snagmap
