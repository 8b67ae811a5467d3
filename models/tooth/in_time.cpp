#include "models/tooth/in_time.hpp"

#include "models/base/constants.hpp"
#include "models/base/finite.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace snagmap {
namespace {

/// A mode's exact step under a force that is the same all along it.
struct ModeStep {
  double xx, xv, vx, vv, xf, vf;
  ModeStep(double w, double loss, double h) {
    const double decay = loss * w / 2, swing = std::sqrt(w * w - decay * decay);
    const double f = std::exp(-decay * h), c = std::cos(swing * h), s = std::sin(swing * h) / swing;
    xx = f * (c + decay * s), xv = f * s;
    vx = -f * w * w * s, vv = f * (c - decay * s);
    xf = (1 - xx) / (w * w), vf = -vx / (w * w);
  }
};

/// Teeth on one slice: where they stand at each step, and the surface they left.
class SliceTeeth {
public:
  SliceTeeth(const ToothSlice& slice, double helix_rad, int steps, bool widens)
      : cut_(slice.cut), gap_(slice.gap_mm), turn_(steps * slice.cut.flutes), steps_(steps), widens_(widens),
        left_(std::size_t(turn_), 0.0), step_(2 * kPi / turn_) {
    const double way = cut_.climb ? -1 : 1;
    const double lag = slice.height_mm * std::tan(helix_rad) / cut_.radius_mm;
    for (int n = 0; n < turn_; ++n) {
      const double at = way * ((n + 0.5) * step_ - lag);
      angle_.push_back(at - 2 * kPi * std::floor((at + kPi) / (2 * kPi))); // -pi .. pi
    }
  }

  /// Force on each mm of flute, + toward the cutter, for a lean; `keep`: the teeth have been there.
  double force(long step, double u, bool keep) {
    const double end = arc_end(u), sense = cut_.climb ? -1 : 1;
    double sum = 0;
    for (int tooth = 0; tooth < cut_.flutes; ++tooth) {
      const auto bin = std::size_t((step + long(tooth) * steps_) % turn_);
      const double at = angle_[bin];
      const double low = std::max(at - 0.5 * step_, cut_.arc.from_rad),
                   high = std::min(at + 0.5 * step_, end);
      const double advance = cut_.feed_mm * std::sin(at), reach = u * std::cos(at);
      if (high > low) {
        const double chip = reach - left_[bin] + advance;
        const double edge = edge_force_N_mm(cut_, chip) * (high - low) / step_;
        sum += edge * (sense * std::sin(at) - cut_.thrust * std::cos(at));
        if (keep)
          left_[bin] = chip > 0 ? reach : left_[bin] - advance;
      } else if (keep) {
        left_[bin] = reach; // no foam there: what comes in later is cut from where this tooth was
      }
    }
    return sum;
  }
  /// A tooth passes the wall's tangent point in this step.
  bool at_wall(long step) const {
    for (int tooth = 0; tooth < cut_.flutes; ++tooth)
      if (std::abs(angle_[std::size_t((step + long(tooth) * steps_) % turn_)]) <= 0.5 * step_)
        return true;
    return false;
  }

private:
  double arc_end(double u) const {
    if (!widens_ || cut_.arc.to_rad >= kPi - 1e-9)
      return gap_ > 0 && !(u > gap_) ? -kPi : cut_.arc.to_rad;
    const double cosine = std::cos(std::max(cut_.arc.to_rad, 0.0)) - (u - gap_) / cut_.radius_mm;
    return cosine >= 1 ? -kPi : std::acos(std::max(cosine, -1.0));
  }

  ToothCut cut_;
  double gap_;
  int turn_, steps_;
  bool widens_;
  std::vector<double> left_, angle_;
  double step_;
};

int steps_for(const ToothedWeb& web) {
  double fastest = 0;
  for (const WebMode& mode : web.modes)
    fastest = std::max(fastest, mode.omega_rad_s);
  // A twentieth of a radian of the first mode, a third of one of the fastest, 64 at the least.
  return int(std::clamp(std::ceil(std::max(20 * web.modes[0].omega_rad_s, 3 * fastest) * web.tooth_time_s),
                        64.0, 720.0));
}

} // namespace

ToothTrace run_teeth(const ToothedWeb& web, const ToothRun& run) {
  if (web.modes.empty() || web.slices.empty() || !(web.tooth_time_s > 0) || !(run.seconds > 0))
    throw std::invalid_argument("a run in time needs modes, slices, a tooth's time and seconds");
  require_finite("loss factor, seconds and start of a run", web.loss_factor, run.seconds, run.start_mm);
  const std::size_t modes = web.modes.size(), slices = web.slices.size();
  ToothTrace trace;
  trace.tooth_time_s = web.tooth_time_s;
  trace.steps = run.steps > 0 ? run.steps : steps_for(web);
  const double dt = web.tooth_time_s / trace.steps;
  std::vector<ModeStep> steps;
  for (const WebMode& mode : web.modes)
    steps.emplace_back(mode.omega_rad_s, web.loss_factor, dt);
  std::vector<SliceTeeth> teeth;
  for (const ToothSlice& slice : web.slices)
    teeth.emplace_back(slice, web.helix_rad, trace.steps, web.widens);
  std::size_t foot = slices, top = 0; // of the slices that are cut
  for (std::size_t s = 0; s < slices; ++s)
    if (web.slices[s].cut.arc.to_rad > 0)
      foot = std::min(foot, s), top = s;
  if (foot == slices)
    foot = 0, top = slices - 1;

  std::vector<double> x(modes, 0.0), v(modes, 0.0), next_x(modes), next_v(modes), u(slices), q(slices),
      q_next(slices);
  double largest = 0;
  for (const double shape : web.modes[0].shape)
    largest = std::abs(shape) > std::abs(largest) ? shape : largest;
  if (largest != 0)
    x[0] = run.start_mm / largest;
  const auto leans = [&](const std::vector<double>& at) {
    for (std::size_t s = 0; s < slices; ++s) {
      u[s] = 0;
      for (std::size_t m = 0; m < modes; ++m)
        u[s] += web.modes[m].shape[s] * at[m];
    }
  };
  const auto move = [&](const std::vector<double>& force) {
    for (std::size_t m = 0; m < modes; ++m) {
      double pull = 0;
      for (std::size_t s = 0; s < slices; ++s)
        pull += web.modes[m].shape[s] * web.slices[s].dz_mm * force[s];
      const ModeStep& k = steps[m];
      next_x[m] = k.xx * x[m] + k.xv * v[m] + k.xf * pull;
      next_v[m] = k.vx * x[m] + k.vv * v[m] + k.vf * pull;
    }
  };
  const long all = std::max(1L, std::lround(run.seconds / web.tooth_time_s)) * trace.steps;
  double sum = 0, most = -1e300, least = 1e300, foot_cut = 0, top_cut = 0;
  for (long n = 0; n < all && !trace.left; ++n) {
    // Teeth of step n stand at its middle: their force from the leans at both ends of it.
    leans(x);
    for (std::size_t s = 0; s < slices; ++s)
      q[s] = teeth[s].force(n, u[s], false);
    move(q);
    leans(next_x);
    for (std::size_t s = 0; s < slices; ++s)
      q_next[s] = 0.5 * (q[s] + teeth[s].force(n, u[s], false));
    move(q_next);
    std::vector<double>& before = q; // leans at the step's start, then its middle
    leans(x);
    before = u;
    leans(next_x);
    for (std::size_t s = 0; s < slices; ++s) {
      const double middle = 0.5 * (before[s] + u[s]);
      teeth[s].force(n, middle, true);
      sum += middle, most = std::max(most, middle), least = std::min(least, middle);
      if (s == foot && teeth[s].at_wall(n))
        foot_cut = middle;
      if (s == top && teeth[s].at_wall(n))
        top_cut = middle;
      trace.left = trace.left || std::abs(middle) > web.slices[s].cut.radius_mm;
    }
    x.swap(next_x), v.swap(next_v);
    if ((n + 1) % trace.steps == 0 || trace.left) {
      const double count = double(slices) * (n % trace.steps + 1);
      trace.lean_mm.push_back(sum / count);
      trace.most_mm.push_back(most), trace.least_mm.push_back(least);
      trace.foot_cut_mm.push_back(foot_cut), trace.top_cut_mm.push_back(top_cut);
      sum = 0, most = -1e300, least = 1e300;
    }
  }
  leans(x);
  trace.end_mm = u;
  return trace;
}

ToothSummary summary_of(const ToothTrace& trace) {
  ToothSummary out;
  const std::size_t count = trace.lean_mm.size(), first = count / 2;
  if (count == 0)
    return out;
  double most = -1e300, least = 1e300, deep = -1e300, shallow = 1e300;
  for (std::size_t n = first; n < count; ++n) {
    out.lean_mm += trace.lean_mm[n] / double(count - first);
    out.over_cut_mm += trace.foot_cut_mm[n] / double(count - first);
    most = std::max(most, trace.most_mm[n]), least = std::min(least, trace.least_mm[n]);
    deep = std::max(deep, trace.foot_cut_mm[n]), shallow = std::min(shallow, trace.foot_cut_mm[n]);
  }
  out.swing_mm = most - least, out.waviness_mm = deep - shallow;
  return out;
}

} // namespace snagmap
