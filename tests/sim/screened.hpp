// Spots of random shapes by the formula and by elements, in the foam in which the screen just passes them
// over.
#pragma once

#include "sim/verify/verify.hpp"
#include "tests/sim/random_shapes.hpp"

namespace snagmap::testing {

struct Screened {
  std::string name;
  std::size_t spot = 0;
  double over_formula = 0; ///< S by elements over the formula's
  double most_s_high = 0;  ///< by elements, in the stiffest-biting foam in which the spot is passed over
};

/// Greatest upper end of the formula's S at which the spot is not solved.
inline double passed_over_up_to(Spot spot) {
  double low = 0, high = 1;
  for (int n = 0; n < 50; ++n) {
    const double middle = 0.5 * (low + high);
    spot.fe.reset(), spot.answer.s_high = middle;
    (could_matter(spot) ? high : low) = middle;
  }
  return low;
}

/// Of a random shape at most `count` spots. Two bricks across, as Gamma's mesh error does not matter here.
inline std::vector<Screened> screened(std::uint64_t seed, std::size_t count) {
  const ScreenedJob job = RandomShape(seed).job();
  VerifyOptions quick;
  quick.patch.across = 2;
  std::vector<Screened> out;
  const std::size_t step = std::max<std::size_t>(1, job.spots.size() / count);
  for (std::size_t n = seed % step; n < job.spots.size(); n += step) {
    const Spot& spot = job.spots[n];
    const SolidCheck check = verify_spot(*job.record, job.scene, spot, quick);
    if (!check.verified || spot.question.laminate)
      continue;
    Screened one{job.name, n, check.answer.gamma / spot.answer.gamma, 0};
    one.most_s_high = one.over_formula * passed_over_up_to(spot); // S goes with Lambda, whatever the shape
    out.push_back(one);
  }
  return out;
}

} // namespace snagmap::testing
