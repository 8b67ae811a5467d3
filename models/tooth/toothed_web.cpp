#include "models/tooth/toothed_web.hpp"

#include "models/base/constants.hpp"
#include "models/base/crossing.hpp"
#include "models/base/finite.hpp"

#if defined(__GNUC__) && !defined(__clang__) && __GNUC__ >= 12
#pragma GCC diagnostic ignored "-Wuse-after-free" // false, where g++ 12 inlines Spectra's eigenvectors
#endif
#include <Eigen/Dense>
#include <Spectra/GenEigsSolver.h>
#include <algorithm>
#include <cmath>
#include <complex>
#include <stdexcept>
#include <unsupported/Eigen/MatrixFunctions>

namespace snagmap {
namespace {

using Matrix = Eigen::MatrixXd;
using Vector = Eigen::VectorXd;

/// Mode shapes, a row a slice.
Matrix shapes_of(const ToothedWeb& web) {
  Matrix shapes(Eigen::Index(web.slices.size()), Eigen::Index(web.modes.size()));
  for (std::size_t m = 0; m < web.modes.size(); ++m) {
    if (web.modes[m].shape.size() != web.slices.size())
      throw std::invalid_argument("a mode must have a shape at every slice");
    for (std::size_t s = 0; s < web.slices.size(); ++s)
      shapes(Eigen::Index(s), Eigen::Index(m)) = web.modes[m].shape[s];
  }
  return shapes;
}

struct Rates {
  double widening = 0, memory = 0;
};

/// Means over the share a..b of a tooth's time, all teeth.
Rates rates_of(const ToothSlice& slice, double helix_rad, double a, double b) {
  const ToothCut& cut = slice.cut;
  const double way = cut.climb ? -1 : 1, pitch = 2 * kPi / cut.flutes;
  const double lag = slice.height_mm * std::tan(helix_rad) / cut.radius_mm;
  Rates rates;
  for (int tooth = 0; tooth < cut.flutes; ++tooth) {
    const double from = way * ((a + tooth) * pitch - lag), to = way * ((b + tooth) * pitch - lag);
    rates.memory += regenerative_over(cut, from, to);
    rates.widening += widening_over(cut, std::min(from, to), std::max(from, to));
  }
  rates.memory *= way / ((b - a) * pitch), rates.widening /= (b - a) * pitch;
  return rates;
}

/// The motion over a tooth's time as a linear map of (x, x', the leans at the interval ends before).
class ToothMap {
public:
  using Scalar = double;
  ToothMap(const ToothedWeb& web, const MultiplierOptions& options) : modes_(Eigen::Index(web.modes.size())) {
    steps_ = options.intervals > 0 ? options.intervals : intervals_for(web);
    const Matrix shapes = shapes_of(web);
    const double h = web.tooth_time_s / steps_;
    Matrix step_matrix = Matrix::Zero(3 * modes_, 3 * modes_);
    // Velocities are over their mode's omega: numbers of one size, so that the exponential is cheap and
    // exact.
    Vector inverse_omega(modes_);
    for (Eigen::Index m = 0; m < modes_; ++m) {
      const double w = web.modes[std::size_t(m)].omega_rad_s;
      inverse_omega(m) = 1 / w;
      step_matrix(m, modes_ + m) = h * w;
      step_matrix(modes_ + m, m) = -h * w;
      step_matrix(modes_ + m, modes_ + m) = -h * web.loss_factor * w;
    }
    const Matrix pulled = h * inverse_omega.asDiagonal() * shapes.transpose();
    for (int n = 0; n < steps_; ++n) {
      if (n > 0 && options.averaged) {
        maps_.push_back(maps_.front());
        continue;
      }
      const double a = options.averaged ? 0 : double(n) / steps_,
                   b = options.averaged ? 1 : double(n + 1) / steps_;
      Vector now(shapes.rows()), before(shapes.rows());
      for (Eigen::Index s = 0; s < shapes.rows(); ++s) {
        const ToothSlice& slice = web.slices[std::size_t(s)];
        const Rates rates = slice.gap_mm <= 0 ? rates_of(slice, web.helix_rad, a, b) : Rates{};
        const double dz = options.force_factor * slice.dz_mm;
        before(s) = dz * rates.memory;
        now(s) = before(s) + (web.widens ? dz * rates.widening : 0);
      }
      Matrix whole = step_matrix;
      whole.block(modes_, 0, modes_, modes_) += pulled * now.asDiagonal() * shapes;
      whole.block(modes_, 2 * modes_, modes_, modes_) = -pulled * before.asDiagonal() * shapes;
      maps_.push_back(Matrix(whole.exp()).topRows(2 * modes_));
    }
  }

  Eigen::Index rows() const { return (2 + steps_) * modes_; }
  Eigen::Index cols() const { return rows(); }
  /// In and out: x and x'/omega now, then x at the ends of the intervals before, the oldest first.
  void perform_op(const double* in, double* out) const {
    const Eigen::Map<const Vector> start(in, rows());
    Eigen::Map<Vector> end(out, rows());
    Vector state = start.head(2 * modes_);
    Vector whole(3 * modes_);
    for (int n = 0; n < steps_; ++n) {
      // The lean a tooth ago is known at both ends of the interval: the last one is where this tooth began.
      const auto older = start.segment((2 + n) * modes_, modes_);
      const auto newer = n + 1 < steps_ ? start.segment((3 + n) * modes_, modes_) : start.head(modes_);
      end.segment((2 + n) * modes_, modes_) = state.head(modes_);
      whole << state, 0.5 * (older + newer);
      state = maps_[std::size_t(n)] * whole;
    }
    end.head(2 * modes_) = state;
  }

private:
  /// Six for each radian of the fastest mode that has a part in the compliance: its multiplier is then off by
  /// a few in a thousand. What is left out follows at once and is solved exactly within an interval.
  static int intervals_for(const ToothedWeb& web) {
    constexpr double kPart = 0.03;
    std::vector<double> gives;
    double all = 0, fastest = 0;
    for (const WebMode& mode : web.modes) {
      double give = 0;
      for (const double u : mode.shape)
        give += u * u / (mode.omega_rad_s * mode.omega_rad_s);
      gives.push_back(give), all += give;
    }
    for (std::size_t m = 0; m < gives.size(); ++m)
      if (gives[m] >= kPart * all)
        fastest = std::max(fastest, web.modes[m].omega_rad_s);
    return int(std::clamp(std::ceil(6 * fastest * web.tooth_time_s), 30.0, 300.0));
  }

  Eigen::Index modes_;
  int steps_ = 0;
  std::vector<Matrix> maps_;
};

Multiplier greatest_of_all(const ToothMap& map) {
  Matrix all(map.rows(), map.rows());
  Vector unit = Vector::Zero(map.rows());
  for (Eigen::Index k = 0; k < map.rows(); ++k) {
    unit(k) = 1;
    map.perform_op(unit.data(), all.col(k).data());
    unit(k) = 0;
  }
  const Eigen::EigenSolver<Matrix> solver(all, false);
  Multiplier most;
  for (Eigen::Index k = 0; k < map.rows(); ++k)
    if (const double size = std::abs(solver.eigenvalues()(k)); size > most.magnitude)
      most = {size, std::abs(std::arg(solver.eigenvalues()(k))), 0};
  return most;
}

} // namespace

Multiplier multiplier(const ToothedWeb& web, const MultiplierOptions& options) {
  if (web.modes.empty() || web.slices.empty() || !(web.tooth_time_s > 0))
    throw std::invalid_argument("a web under the teeth needs modes, slices and a tooth's time");
  require_finite("tooth's time and loss factor", web.tooth_time_s, web.loss_factor);
  ToothMap map(web, options);
  const Eigen::Index size = map.rows();
  constexpr Eigen::Index kWanted = 2;
  const Eigen::Index space = std::min<Eigen::Index>(24, size);
  if (size <= 60)
    return greatest_of_all(map);
  Spectra::GenEigsSolver<ToothMap> solver(map, kWanted, space);
  // A fixed start, so that two runs give the same bits.
  const Vector start = Vector::LinSpaced(size, 1, 2);
  solver.init(start.data());
  constexpr double kWithin = 1e-9;
  solver.compute(Spectra::SortRule::LargestMagn, 300, kWithin);
  if (solver.info() != Spectra::CompInfo::Successful || solver.eigenvalues().size() == 0)
    return greatest_of_all(map);
  const std::complex<double> value = solver.eigenvalues()(0);
  const Eigen::VectorXcd mode = solver.eigenvectors(1).col(0);
  Vector re(size), im(size);
  const Vector mode_re = mode.real(), mode_im = mode.imag();
  map.perform_op(mode_re.data(), re.data());
  map.perform_op(mode_im.data(), im.data());
  const Eigen::VectorXcd image = re.cast<std::complex<double>>() + std::complex<double>(0, 1) * im;
  return {std::abs(value), std::abs(std::arg(value)), (image - value * mode).norm() / std::abs(value)};
}

ToothEdge tooth_edge(const ToothedWeb& web, double least, double most, double step) {
  const auto at = [&](double factor) {
    MultiplierOptions options;
    options.force_factor = factor;
    return multiplier(web, options);
  };
  ToothEdge edge;
  Multiplier grown = at(least);
  if (grown.magnitude > 1)
    return {true, least, grown};
  double low = least, high = least;
  while (high < most && !edge.found) {
    low = high, high = std::min(high * step, most);
    grown = at(high);
    edge.found = grown.magnitude > 1;
  }
  if (!edge.found)
    return edge;
  // Growth is smooth in the force: false position on its logarithm.
  const Crossing at_edge = smooth_crossing(
      std::log(low), std::log(high), [&](double x) { return std::log(at(std::exp(x)).magnitude); }, 1e-3);
  edge.factor = std::exp(at_edge.middle()), edge.there = at(std::exp(at_edge.high));
  return edge;
}

double static_gain(const ToothedWeb& web) {
  const Matrix shapes = shapes_of(web);
  Matrix gain = Matrix::Zero(shapes.cols(), shapes.cols());
  for (Eigen::Index s = 0; s < shapes.rows(); ++s) {
    const ToothSlice& slice = web.slices[std::size_t(s)];
    const double slope = slice.gap_mm <= 0 ? mean_wall_force(slice.cut).slope_MPa : 0;
    gain += slope * slice.dz_mm * shapes.row(s).transpose() * shapes.row(s);
  }
  for (Eigen::Index a = 0; a < gain.rows(); ++a)
    for (Eigen::Index b = 0; b < gain.cols(); ++b)
      gain(a, b) /= web.modes[std::size_t(a)].omega_rad_s * web.modes[std::size_t(b)].omega_rad_s;
  return Eigen::SelfAdjointEigenSolver<Matrix>(gain, Eigen::EigenvaluesOnly).eigenvalues().maxCoeff();
}

} // namespace snagmap
