#include "sim/study/straight_wall.hpp"

#include "sim/watch/web_walk.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr double kShares[] = {0.25, 0.5, 0.75}; ///< of the length: the middle, and clear of built-in ends

/// Depths of the pocket after each pass.
std::vector<double> depths_mm(const StraightWall& wall) {
  std::vector<double> depths;
  for (double depth = wall.pass_mm; depth < wall.web.h_mm - 1e-6; depth += wall.pass_mm)
    if (depth + wall.pass_mm >= std::min(wall.flute_length_mm, wall.web.h_mm)) // shallower ones are stiffer
      depths.push_back(depth);
  depths.push_back(wall.web.h_mm);
  return depths;
}

/// Along the wall from the cutter's axis to where the foam ahead of its round makes it twice as thick.
double ahead_mm(const StraightWall& wall) {
  const double r = wall.cutter_radius_mm, w = std::min(wall.web.w_mm, r);
  return std::sqrt(w * (2 * r - w));
}

} // namespace

std::vector<SnagQuestion> questions_along(const StraightWall& wall) {
  std::vector<SnagQuestion> questions;
  const bool free = wall.web.end1 == WebEnd::free;
  for (const double depth : depths_mm(wall)) {
    SnagQuestion question;
    question.web = wall.web;
    question.web.h_mm = depth;
    question.contact = {0, std::min(wall.flute_length_mm, depth)};
    const double passes = std::ceil(depth / wall.pass_mm - 1e-9);
    question.pass_depth_mm = depth - (passes - 1) * wall.pass_mm;
    const auto ask = [&](double d1, double d2, WebEnd end2) {
      question.web.d1_mm = d1, question.web.d2_mm = d2, question.web.end2 = end2;
      questions.push_back(cut_at_ends(question));
    };
    const double half_contact = std::min(0.5 * wall.web.b_p_mm, 0.5 * wall.length_mm);
    if (free) // where the cutter leaves the wall nothing stands ahead of it, whatever the pass
      ask(wall.length_mm - half_contact, half_contact, WebEnd::free);
    const double ahead = ahead_mm(wall);
    for (const double share : kShares) {
      const double behind = share * wall.length_mm;
      if (stands_ahead(question.pass_depth_mm, depth))
        ask(behind, ahead, WebEnd::built_in);
      else
        ask(behind, wall.length_mm - behind, wall.web.end2);
    }
    if (stands_ahead(question.pass_depth_mm, depth))
      ask(wall.length_mm - ahead, ahead, WebEnd::built_in);
  }
  return questions;
}

WorstGamma worst_gamma(const StraightWall& wall) {
  WorstGamma worst;
  for (const SnagQuestion& question : questions_along(wall)) {
    worst.value = std::max(worst.value, question.bite.front() * gamma(question.web, question.contact).value);
    ++worst.asked;
  }
  return worst;
}

} // namespace snagmap
