// Stability of a web under the teeth, against published numbers, closed forms and direct integration in time.
#include "models/tooth/toothed_web.hpp"

#include "models/base/constants.hpp"
#include "models/mechanics/snag.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <vector>

using namespace snagmap;

namespace {

/// One mode, one slice, straight edges.
ToothedWeb one_mode(double omega_rad_s, double mass_t, double loss_factor, double tooth_time_s,
                    const ToothCut& cut, double dz_mm) {
  ToothedWeb web;
  web.modes = {{omega_rad_s, {1 / std::sqrt(mass_t)}}};
  ToothSlice slice;
  slice.dz_mm = dz_mm, slice.cut = cut;
  web.slices = {slice};
  web.loss_factor = loss_factor, web.tooth_time_s = tooth_time_s;
  return web;
}

/// Insperger and Stepan's one-mode milling example: 2 teeth, 922 Hz, damping ratio 0.011, 0.03993 kg, K_t
/// 6e8, K_n 2e8 N/m2; the mode lies along the feed. An angle from the feed's normal is one from the mode, a
/// quarter of a turn on.
ToothedWeb published(double from_rad, double to_rad, double depth_mm, double spindle_rpm) {
  ToothCut cut;
  cut.radius_mm = 5, cut.feed_mm = 0.1, cut.flutes = 2;
  cut.severing_MPa = 600, cut.thrust = 2.0 / 6;
  cut.arc = {from_rad - kPi / 2, to_rad - kPi / 2};
  ToothedWeb web = one_mode(2 * kPi * 922, 3.993e-5, 2 * 0.011, 60 / spindle_rpm / 2, cut, depth_mm);
  web.widens = false;
  return web;
}

/// The same system by integration in time, fourth order, from a fixed start: the growth of the whole past
/// from one tooth to the next, by power steps. `h(t)` the chip's memory force for each mm, N/mm.
template <class Memory>
double grown(double omega, double mass, double loss, double tooth_time, const Memory& memory, int steps,
             int teeth) {
  std::vector<double> past(std::size_t(2 * steps + 1), 1.0); // x at half steps over the last tooth
  double x = 1, v = 0;
  const double dt = tooth_time / steps;
  double log_growth = 0;
  for (int tooth = 0; tooth < teeth; ++tooth) {
    std::vector<double> now(past.size());
    const auto force = [&](double t, double at_x, double at_v, double before) {
      return -omega * omega * at_x - loss * omega * at_v + memory(t) / mass * (at_x - before);
    };
    for (int n = 0; n < steps; ++n) {
      const double t = n * dt;
      const double b0 = past[std::size_t(2 * n)], b1 = past[std::size_t(2 * n + 1)],
                   b2 = past[std::size_t(2 * n + 2)];
      const double a1 = force(t + 1e-9 * dt, x, v, b0), v1 = v;
      const double v2 = v + dt / 2 * a1, a2 = force(t + dt / 2, x + dt / 2 * v1, v2, b1);
      const double v3 = v + dt / 2 * a2, a3 = force(t + dt / 2, x + dt / 2 * v2, v3, b1);
      const double v4 = v + dt * a3, a4 = force(t + dt * (1 - 1e-9), x + dt * v3, v4, b2);
      const double next_x = x + dt / 6 * (v1 + 2 * v2 + 2 * v3 + v4);
      const double next_v = v + dt / 6 * (a1 + 2 * a2 + 2 * a3 + a4);
      now[std::size_t(2 * n)] = x;
      now[std::size_t(2 * n + 1)] = 0.5 * (x + next_x) + dt / 8 * (v - next_v); // Hermite
      x = next_x, v = next_v;
    }
    now.back() = x;
    double size = 0;
    for (double& value : now)
      size = std::max(size, std::abs(value));
    size = std::max(size, std::abs(v) / omega);
    if (tooth >= teeth / 2)
      log_growth += std::log(size);
    for (double& value : now)
      value /= size;
    x /= size, v /= size;
    past = now;
  }
  return std::exp(log_growth / (teeth - teeth / 2));
}

} // namespace

// Critical multipliers at 5,000/min in a full slot, by which new methods for milling stability are commonly
// compared (Ding et al. 2010; Insperger 2010): 0.8192, 1.0732, 1.2210, 1.4073 at depths of 0.2, 0.5, 0.7, 1
// mm; from memory. The remembered values come from a discretisation of their own: agreement asked for, 0.2 %.
TEST(ToothedWeb, PublishedMultipliersOfAFullSlotAreMet) {
  const double depth[4] = {0.2, 0.5, 0.7, 1.0}, mu[4] = {0.8192, 1.0732, 1.2210, 1.4073};
  MultiplierOptions options;
  options.intervals = 400;
  for (int n = 0; n < 4; ++n)
    EXPECT_NEAR(mu[n], multiplier(published(0, kPi, depth[n], 5000), options).magnitude, 0.002 * mu[n]);
}

// Up and down milling at radial immersions of 0.05, 0.5 and 1, where the published charts differ: against
// direct integration, whose growth from tooth to tooth over 300 of 600 teeth is the multiplier but for the
// phase of its oscillation, at most a factor of 2 over all of them: ln 2 / 300 = 0.23 %.
TEST(ToothedWeb, UpAndDownMillingGrowAsIntegrationInTimeDoes) {
  for (const double immersion : {0.05, 0.5, 1.0})
    for (const bool up : {true, false})
      for (const double rpm : {5000.0, 14000.0, 19000.0}) {
        const double depth = immersion < 0.1 ? 4.0 : 0.6;
        const double from = up ? 0 : std::acos(2 * immersion - 1),
                     to = up ? std::acos(1 - 2 * immersion) : kPi;
        const double tooth = 60 / rpm / 2;
        // Kt cos + Kn sin along the feed for a chip of sin: Insperger and Stepan 2004.
        const auto memory = [&](double t) {
          const double phi = kPi * t / tooth;
          return phi < from || phi > to
                     ? 0.0
                     : -depth * std::sin(phi) * (600 * std::cos(phi) + 200 * std::sin(phi));
        };
        const double direct = grown(2 * kPi * 922, 3.993e-5, 0.022, tooth, memory, 800, 600);
        MultiplierOptions options;
        options.intervals = 400;
        const Multiplier found = multiplier(published(from, to, depth, rpm), options);
        EXPECT_NEAR(direct, found.magnitude, 0.005 * direct) << immersion << up << rpm;
      }
}

TEST(ToothedWeb, IntervalsChosenAreWithinHalfAPercentOfManyMore) {
  for (const double rpm : {5000.0, 14000.0, 30000.0}) {
    MultiplierOptions many;
    many.intervals = 800;
    const ToothedWeb web = published(0, kPi, 0.5, rpm);
    const double fine = multiplier(web, many).magnitude;
    EXPECT_NEAR(fine, multiplier(web).magnitude, 0.005 * fine) << rpm;
  }
}

// Altintas and Budak, CIRP Annals 44 (1995) 357: with the mean coefficient alone the edge at a chatter
// frequency w is the depth 1 / (2 h Re G(w)), and the tooth's time that of the phase; both solved from the
// mode's own frequency response G. At that depth the greatest multiplier is 1. Averaging the delay over an
// interval errs by (w dt)^2 / 24, here under 1e-4 of the force.
TEST(ToothedWeb, ZeroOrderAverageStandsAtTheLobeOfItsFrequencyResponse) {
  const double omega = 2 * kPi * 100, loss = 0.12, mass = 1e-6;
  for (const double share : {0.80, 0.88, 0.92}) {
    ToothCut cut;
    cut.radius_mm = 3, cut.feed_mm = 0.1, cut.flutes = 2, cut.severing_MPa = 0.5, cut.thrust = 0.1;
    cut.arc = {0, 1.0};
    const double h = mean_wall_force(cut).regenerative_MPa;
    ASSERT_GT(h, 0);
    const double w = share * omega;
    const std::complex<double> response =
        1.0 / (mass * std::complex<double>(omega * omega - w * w, loss * omega * w));
    const double depth = 1 / (2 * h * response.real());
    const std::complex<double> delayed = 1.0 - 1.0 / (h * depth * response); // exp(-i w tau)
    ASSERT_NEAR(1, std::abs(delayed), 1e-9);
    double phase = -std::arg(delayed);
    if (phase <= 0)
      phase += 2 * kPi;
    ToothedWeb web = one_mode(omega, mass, loss, phase / w, cut, depth);
    web.widens = false;
    MultiplierOptions options;
    options.averaged = true, options.intervals = 400;
    EXPECT_NEAR(1, multiplier(web, options).magnitude, 1e-4) << share;
    options.force_factor = 1.02;
    EXPECT_GT(multiplier(web, options).magnitude, 1) << share;
    options.force_factor = 0.98;
    EXPECT_LT(multiplier(web, options).magnitude, 1) << share;
  }
}

// Davies, Pratt, Dutterer and Burns, J. Manuf. Sci. Eng. 124 (2002): in the limit of a tooth that only taps,
// the motion is free between taps E = exp(A tau), each tap a jump of the velocity by kappa times what the
// wall has moved since the last; it comes back with the other sign at kappa = -1 / (2 [(I + E)^-1 E]_12).
TEST(ToothedWeb, TappingToothFlipsAtTheClosedForm) {
  const double omega = 2 * kPi * 100, loss = 0.12, mass = 1e-6;
  for (const double tau : {0.0062, 0.0033, 0.0028}) {
    const double decay = loss * omega / 2, w = std::sqrt(omega * omega - decay * decay),
                 f = std::exp(-decay * tau);
    const double c = std::cos(w * tau), s = std::sin(w * tau);
    const double e11 = f * (c + decay / w * s), e12 = f * s / w, e21 = -f * omega * omega / w * s,
                 e22 = f * (c - decay / w * s);
    const double det = (1 + e11) * (1 + e22) - e12 * e21;
    const double kappa = -det / (2 * e12);
    ToothCut cut;
    cut.radius_mm = 3, cut.feed_mm = 0.1, cut.flutes = 1, cut.severing_MPa = 1;
    cut.thrust = kappa > 0 ? -1 : 1; // the sign of the jump
    cut.arc = {0, 0.004};            // of a turn of 6.3: a tap
    const double h = mean_wall_force(cut).regenerative_MPa;
    const double depth = kappa * mass / (h * tau);
    ASSERT_GT(depth, 0);
    ToothedWeb web = one_mode(omega, mass, loss, tau, cut, depth);
    web.widens = false;
    MultiplierOptions options;
    options.intervals = 1500;
    const Multiplier there = multiplier(web, options);
    EXPECT_NEAR(1, there.magnitude, 3e-3)
        << tau; // the tap lasts one interval of 1,500, during which it moves
    EXPECT_NEAR(kPi, there.angle_rad, 1e-3) << tau;
  }
}

// A saturated chip has no memory. What is left is a stiffness that taps once a tooth, Hill's equation with
// impulses: the multipliers are the eigenvalues of [E] [1 0; kappa 1], in closed form (the damped Mathieu
// equation's simplest relative; e.g. van der Pol and Strutt 1928 for steps).
TEST(ToothedWeb, WideningThatTapsGrowsAsHillsEquationWithImpulses) {
  const double omega = 2 * kPi * 100, loss = 0.1, mass = 1e-6;
  for (const double tau : {0.0052, 0.0027, 0.01}) {
    ToothCut cut;
    cut.radius_mm = 3, cut.feed_mm = 0.4, cut.flutes = 1, cut.severing_MPa = 1, cut.saturated_N_mm = 1e-6;
    cut.arc = {0.5, 1.0}; // all of it saturated
    ASSERT_EQ(0, mean_wall_force(cut).regenerative_MPa);
    const double depth = 0.6 * mass * omega * omega / mean_wall_force(cut).slope_MPa;
    const double kappa = mean_wall_force(cut).slope_MPa * depth * tau / mass;
    const double decay = loss * omega / 2, w = std::sqrt(omega * omega - decay * decay),
                 f = std::exp(-decay * tau);
    const double c = std::cos(w * tau), s = std::sin(w * tau);
    const double trace = f * (c + decay / w * s) + f * s / w * kappa + f * (c - decay / w * s), det = f * f;
    const double inside = trace * trace / 4 - det;
    const double closed = inside > 0 ? std::abs(trace) / 2 + std::sqrt(inside) : std::sqrt(det);
    MultiplierOptions options;
    options.intervals = 1000;
    // The impulse is spread over one interval: the motion in it is (w dt)^2 of what it is after.
    EXPECT_NEAR(closed, multiplier(one_mode(omega, mass, loss, tau, cut, depth), options).magnitude,
                1e-3 * closed);
  }
}

// With very many teeth of the same feed a turn the pull is steady, and where the memory only damps nothing is
// left but the widening: the edge is where S, asked with that slope as bite constant and the modes'
// compliance, is 1.
TEST(ToothedWeb, ManyTeethRunAwayWhereSIsOne) {
  ToothedWeb web;
  web.loss_factor = 0.12;
  for (int m = 0; m < 3; ++m) {
    WebMode mode{2 * kPi * (80 + 150.0 * m), {}};
    for (int s = 0; s < kSlices; ++s)
      mode.shape.push_back(500 * std::cos(1.1 * m * s / kSlices) * (s + 0.5) / kSlices);
    web.modes.push_back(mode);
  }
  const double dz = 1.8, rpm = 18000, feed_turn = 0.2;
  const int teeth = 40;
  for (int s = 0; s < kSlices; ++s) {
    ToothSlice slice;
    slice.dz_mm = dz, slice.height_mm = (s + 0.5) * dz;
    slice.cut.radius_mm = 3.175, slice.cut.flutes = teeth, slice.cut.feed_mm = feed_turn / teeth;
    slice.cut.severing_MPa = 0.5, slice.cut.thrust = 1.0, slice.cut.arc = {0, 1.2}; // damps: sin^2 < r (...)
    web.slices.push_back(slice);
  }
  web.helix_rad = 0.5, web.tooth_time_s = 60 / rpm / teeth;
  const WallForce mean = mean_wall_force(web.slices[0].cut);
  ASSERT_GT(mean.slope_MPa, 0);
  ASSERT_LT(mean.regenerative_MPa, 0);

  // The same by the snag number: Lambda = slope / E, compliance of each pair of slices.
  const double E_MPa = 0.05;
  WallCompliance wall;
  for (std::size_t a = 0; a < kSlices; ++a)
    for (std::size_t b = 0; b < kSlices; ++b)
      for (const WebMode& mode : web.modes)
        wall.slices[a * kSlices + b] +=
            E_MPa * mode.shape[a] * mode.shape[b] / (mode.omega_rad_s * mode.omega_rad_s);
  FoamCard foam;
  foam.E_kPa = {1000 * E_MPa, 1000 * E_MPa, 1000 * E_MPa, "the test", false};
  foam.lambda.nominal = foam.lambda.low = foam.lambda.high = mean.slope_MPa / E_MPa;
  foam.bite_depth_mm = {1, 1, 1, "the test", false};
  SnagQuestion question;
  question.web.w_mm = 10, question.web.h_mm = 25, question.web.d1_mm = question.web.d2_mm = 50;
  question.web.b_p_mm = 4.6, question.contact = {0, kSlices * dz};
  const double s_number = judge(question, foam, wall).s;
  EXPECT_NEAR(s_number, static_gain(web), 1e-6 * s_number);
  const ToothEdge edge = tooth_edge(web, 0.05 / s_number, 5 / s_number);
  ASSERT_TRUE(edge.found);
  EXPECT_NEAR(1, edge.factor * s_number, 2e-3); // the edge is met to 1e-3; helix and taps average out
  EXPECT_NEAR(0, edge.there.angle_rad, 1e-6);   // to one side
}

// Between two teeth a wall that follows slowly feels the memory as a damper of -h tau: where h is positive it
// drives the motion. With one mode the edge is where that meets the foam's loss: h tau = loss K / w (first
// order in w tau).
TEST(ToothedWeb, FastTeethDriveAConventionalWallWhereTheirMemoryBeatsTheLoss) {
  const double omega = 2 * kPi * 100, loss = 0.12, mass = 1e-6, tau = 2e-4; // w tau = 0.13
  ToothCut cut;
  cut.radius_mm = 3.175, cut.feed_mm = 1e-6, cut.flutes = 8, cut.severing_MPa = 0.5, cut.thrust = 0.1;
  cut.arc = {0, 1.0};
  const double h = mean_wall_force(cut).regenerative_MPa;
  ASSERT_GT(h, 0);
  const double depth = loss * mass * omega / (h * tau);
  const ToothEdge edge = tooth_edge(one_mode(omega, mass, loss, tau, cut, depth));
  ASSERT_TRUE(edge.found);
  EXPECT_NEAR(1, edge.factor, 0.14 * 0.14 + loss * 0.5); // (w tau)^2 and what h's own stiffness moves w by
  cut.climb = true;
  EXPECT_FALSE(tooth_edge(one_mode(omega, mass, loss, tau, cut, depth), 1e-2, 10).found);
}

TEST(ToothedWeb, SameQuestionTwiceGivesTheSameBits) {
  const ToothedWeb web = published(0, 1.0, 0.7, 9000);
  const Multiplier a = multiplier(web), b = multiplier(web);
  EXPECT_EQ(a.magnitude, b.magnitude);
  EXPECT_LT(a.residual, 1e-6);
}
