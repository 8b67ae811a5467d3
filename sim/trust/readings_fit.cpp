#include "sim/trust/readings_fit.hpp"

#include "models/base/constants.hpp"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <map>
#include <optional>

namespace snagmap {
namespace {

constexpr double kNinety = 1.6449;    // standard deviations from the middle to the 5 % and 95 % points
constexpr double kThickness_mm = 0.3; // a foam strip is measured to this
constexpr double kDrop_mm = 1;        // and its sag and overhang to this
constexpr double kPatch_mm = 10;      // a mass hangs from a strip of tape about this wide
constexpr double kThinner = 0.25;     // a wall that lost more of its thickness has not simply held
constexpr double kMuchLikelier = 100;
constexpr double kAsPlanned = 0.02; // of a thickness: what a calliper reads on foam
constexpr double kUsualScatter = 0.1;
constexpr std::size_t kTellOfTheRest = 3; // measured walls

double log_width(const Banded& b) {
  return std::log(b.high / b.low);
}

BandChange change(const char* name, Dimension dimension, const Banded& before, const Banded& after) {
  const double width = log_width(before);
  return {name, dimension, before, after, width > 0 ? log_width(after) / width : 1};
}

/// A value with the standard deviation of its logarithm.
struct Measured {
  double value = 0, sd = 0;
};

Banded mean_of(const std::vector<Measured>& all, const std::string& source) {
  double weights = 0, sum = 0, chi2 = 0;
  for (const Measured& m : all)
    weights += 1 / (m.sd * m.sd), sum += std::log(m.value) / (m.sd * m.sd);
  const double middle = sum / weights;
  for (const Measured& m : all)
    chi2 += std::pow((std::log(m.value) - middle) / m.sd, 2);
  const double birge =
      all.size() > 1 ? std::sqrt(std::max(1.0, chi2 / (static_cast<double>(all.size()) - 1))) : 1;
  const double sd = birge / std::sqrt(weights);
  return {std::exp(middle), std::exp(middle - kNinety * sd), std::exp(middle + kNinety * sd), source, false};
}

WallSaid said(const Readings& r, const WallRead& read) {
  const PieceWall& w = r.piece.walls[read.wall];
  return {w.number,
          static_cast<int>(read.line),
          w.w_mm,
          w.h_mm,
          r.piece.cutters[static_cast<std::size_t>(w.cutter)].name,
          read.outcome};
}

/// Mean thickness of the lowest half, which governs bending; nothing where none was measured.
std::optional<double> measured_mm(const WallRead& read) {
  if (read.top_mm && read.floor_mm)
    return 0.75 * *read.floor_mm + 0.25 * *read.top_mm;
  return read.floor_mm ? read.floor_mm : read.top_mm;
}

/// How thick the piece came out over how thick it was planned: the median of the walls that held. A wall that
/// was drawn in lost thickness by that, and tells only where none held; one or two tell nothing of the
/// others.
double came_out(const Readings& r) {
  std::vector<double> held, all;
  for (const WallRead& read : r.walls)
    if (const auto w = measured_mm(read)) {
      all.push_back(*w / r.piece.walls[read.wall].w_mm);
      if (read.outcome == WallOutcome::held)
        held.push_back(all.back());
    }
  std::vector<double>& of = held.empty() ? all : held;
  std::sort(of.begin(), of.end());
  return of.size() < kTellOfTheRest ? 1 : of[of.size() / 2];
}

/// The wall that the cutter met: a wall that held as it was measured, another as the piece came out.
PieceWall wall_met(const Readings& r, const WallRead& read, double thickness) {
  const PieceWall& planned = r.piece.walls[read.wall];
  const auto own = read.outcome == WallOutcome::held ? measured_mm(read) : std::nullopt;
  const bool drawn_in = own && *own < (1 - kThinner) * thickness * planned.w_mm; // it has not simply held
  return as_measured(r.piece, planned, own && !drawn_in ? *own : thickness * planned.w_mm);
}

/// Walls cut alike, that is with one cutter and to one height, against the rest.
/// Where two such groups bound Lambda apart, the band is taken over both.
void compare_groups(const Readings& r, const std::vector<WallReading>& readings, const LambdaPrior& prior,
                    ReadingsFit& fit) {
  std::map<std::pair<int, long>, std::vector<WallReading>> groups;
  for (std::size_t i = 0; i < readings.size(); ++i) {
    const PieceWall& w = r.piece.walls[r.walls[i].wall];
    groups[{w.cutter, std::lround(10 * w.h_mm)}].push_back(readings[i]);
  }
  struct Bounded {
    double h_mm;
    std::string cutter;
    LambdaFit fit;
  };
  std::vector<Bounded> all;
  for (const auto& [key, own] : groups)
    all.push_back({static_cast<double>(key.second) / 10,
                   r.piece.cutters[static_cast<std::size_t>(key.first)].name, fit_lambda(own, prior)});
  for (std::size_t a = 0; a < all.size(); ++a)
    for (std::size_t b = a + 1; b < all.size(); ++b) {
      const Bounded& low = all[a].fit.low < all[b].fit.low ? all[a] : all[b];
      const Bounded& high = &low == &all[a] ? all[b] : all[a];
      if (!(low.fit.high < high.fit.low))
        continue;
      if (fit.lambda.bounds == Bounds::both)
        fit.lambda.low = std::min(fit.lambda.low, std::max(low.fit.low, prior.low)),
        fit.lambda.high = std::max(fit.lambda.high, std::min(high.fit.high, prior.high)),
        fit.lambda.nominal = std::sqrt(fit.lambda.low * fit.lambda.high);
      fit.disagree.push_back(fit_note::GroupsContradict{{low.h_mm, low.cutter, low.fit.high},
                                                        {high.h_mm, high.cutter, high.fit.low}});
    }
}

/// Would the readings be far likelier with two cutters exchanged?
void try_swaps(const Readings& r, const std::vector<WallReading>& readings, const LambdaPrior& prior,
               ReadingsFit& fit) {
  const int cutters = static_cast<int>(r.piece.cutters.size());
  const double as_read = log_evidence(readings, prior);
  for (int a = 0; a < cutters; ++a)
    for (int b = a + 1; b < cutters; ++b) {
      std::vector<WallReading> swapped = readings;
      bool both[2] = {false, false};
      for (std::size_t i = 0; i < readings.size(); ++i) {
        const PieceWall& wall = r.piece.walls[r.walls[i].wall];
        if (wall.cutter != a && wall.cutter != b)
          continue;
        both[wall.cutter == b] = true;
        swapped[i].gamma *= gamma_of(r.piece, wall, wall.cutter == a ? b : a) / gamma_of(r.piece, wall);
      }
      const double gain = log_evidence(swapped, prior) - as_read;
      if (both[0] && both[1] && gain > std::log(kMuchLikelier))
        fit.disagree.push_back(fit_note::CuttersExchanged{std::exp(std::min(gain, 600.0)),
                                                          r.piece.cutters[static_cast<std::size_t>(a)].name,
                                                          r.piece.cutters[static_cast<std::size_t>(b)].name});
    }
}

std::string history_head(const Readings& r, const std::string& what) {
  return r.when.empty() ? what : r.when + ", " + what;
}

void fit_walls(const Readings& r, ReadingsFit& fit) {
  const double thickness = came_out(r);
  std::vector<WallReading> readings;
  for (const WallRead& read : r.walls)
    readings.push_back({gamma_of(r.piece, wall_met(r, read, thickness)), read.outcome});
  const LambdaPrior prior = wide_prior(r.piece.foam);
  const Banded before = fit.card.lambda =
      r.piece.foam.lambda; // walls tell it straight: it does not follow a new modulus
  if (std::abs(thickness - 1) > kAsPlanned)
    fit.notes.push_back(fit_note::CameOutOtherwise{thickness});
  if (const double reversed = reversed_share(readings); reversed > 0.5) {
    fit.disagree.push_back(fit_note::OrderReversed{reversed});
    fit.bands.push_back(change("Lambda", Dimension::share, before, before));
    return;
  }
  const double scatter = scatter_of(readings, prior);
  fit.lambda = fit_lambda(readings, prior, scatter);
  for (const int i : fit_lambda(readings, prior).disagree)
    fit.disagree.push_back(fit_note::UnlikelyWall{said(r, r.walls[static_cast<std::size_t>(i)])});
  if (scatter > kUsualScatter)
    fit.notes.push_back(fit_note::Scatter{scatter});
  compare_groups(r, readings, prior, fit);
  fit.card = with_fit(fit.card, fit.lambda,
                      history_head(r, fmt::format("test piece, {} walls read", readings.size())));
  fit.bands.push_back(change("Lambda", Dimension::share, before, fit.card.lambda));
  if (fit.lambda.bounds == Bounds::upper_only)
    fit.notes.push_back(fit_note::EveryWallHeld{fit.lambda.high});
  if (fit.lambda.bounds == Bounds::lower_only)
    fit.notes.push_back(fit_note::NoWallHeld{fit.lambda.low});
  try_swaps(r, readings, prior, fit);
  for (const WallRead& read : r.walls) {
    const double w = thickness * r.piece.walls[read.wall].w_mm;
    const double least = std::min(read.top_mm.value_or(w), read.floor_mm.value_or(w));
    if (read.outcome == WallOutcome::held && least < (1 - kThinner) * w)
      fit.disagree.push_back(fit_note::HeldYetThin{said(r, read), least});
  }
}

void fit_modulus(const Readings& r, ReadingsFit& fit) {
  std::vector<Measured> all;
  for (const SagRead& read : r.sags) {
    const Strip& s = read.strip;
    // E goes with sag^-1, overhang^4 (own weight) or ^3 (tip mass), thickness^-2 or ^-3.
    const double sd =
        std::sqrt(std::pow(kDrop_mm / read.sag_mm, 2) + std::pow(4 * kDrop_mm / s.overhang_mm, 2) +
                  std::pow(3 * kThickness_mm / s.thickness_mm, 2));
    if (const auto E = modulus_from_sag_kPa(s, read.sag_mm))
      all.push_back({*E, sd});
  }
  for (const WallRead& read : r.walls) {
    if (!read.lean_mm)
      continue;
    const PieceWall& wall = r.piece.walls[read.wall];
    const Banded E = modulus_from_lean_kPa(r.piece, wall, *read.load_g, *read.lean_mm);
    all.push_back({E.nominal, std::hypot(log_width(E) / (2 * kNinety), kThickness_mm / *read.lean_mm)});
    if (*read.lean_mm > 0.2 * wall.h_mm)
      fit.notes.push_back(fit_note::LeansFar{said(r, read)});
  }
  if (all.empty())
    return;
  const Banded before = fit.card.E_kPa;
  const Banded E = mean_of(all, fmt::format("measured: {} strips that sag, {} walls that lean", r.sags.size(),
                                            all.size() - r.sags.size()));
  fit.card = with_own_values(fit.card, E, {});
  fit.card.history.push_back(
      history_head(r, fmt::format("modulus {:.4g} kPa ({:.4g} to {:.4g}), before {:.4g} ({:.4g} to {:.4g})",
                                  E.nominal, E.low, E.high, before.nominal, before.low, before.high)));
  fit.bands.push_back(change("modulus", Dimension::pressure, before, E));
}

void fit_tear(const Readings& r, ReadingsFit& fit) {
  if (r.tears.empty())
    return;
  Banded Gc{1, 1, 1, "", false};
  const double share = 1 / static_cast<double>(r.tears.size());
  for (const TearRead& read : r.tears) {
    const Banded one = energy_from_peak_tear(read.peak_N, read.thickness_mm);
    Gc.nominal *= std::pow(one.nominal, share), Gc.low *= std::pow(one.low, share),
        Gc.high *= std::pow(one.high, share);
    Gc.source = fmt::format("measured: {} split strips; {}", r.tears.size(), one.source);
  }
  const Banded before = fit.card.Gc_N_mm;
  fit.card = with_own_values(fit.card, {}, Gc);
  fit.card.history.push_back(history_head(
      r, fmt::format("tear energy {:.4g} N/mm ({:.4g} to {:.4g}), before {:.4g} ({:.4g} to {:.4g})",
                     Gc.nominal, Gc.low, Gc.high, before.nominal, before.low, before.high)));
  fit.bands.push_back(change("tear energy", Dimension::line_force, before, Gc));
}

} // namespace

Banded modulus_from_lean_kPa(const TestPiece& piece, const PieceWall& wall, double load_g, double lean_mm) {
  Web web;
  web.w_mm = wall.w_mm, web.h_mm = wall.h_mm, web.d1_mm = web.d2_mm = 0.5 * wall.length_mm;
  web.nu = piece.foam.nu.nominal, web.b_p_mm = kPatch_mm;
  double per_E = compliance_E_per_mm(web, web.h_mm, web.h_mm, web.w_mm) * gamma(web, {0, web.h_mm}).scale;
  const bool built_in = wall.ends == WebEnd::built_in;
  if (built_in) { // the web's own span between its ends stands beside its root
    const double shear = web.length_mm() * 2 * (1 + web.nu) * 1.2 / (4 * web.w_mm * web.h_mm);
    const double span = std::pow(web.length_mm() / web.w_mm, 3) / (16 * web.h_mm) + shear;
    per_E = 1 / (1 / per_E + 1 / span);
  }
  const double E_kPa = load_g / 1000 * kGravity_m_s2 * per_E / lean_mm * 1000;
  const std::string source = "lean of a wall under a mass, by the compliance formula";
  if (built_in)
    return {E_kPa / std::sqrt(2.2), E_kPa / 2, E_kPa / 1.1, source, false};
  return {E_kPa, E_kPa / 1.31, E_kPa / 0.76, source, false};
}

ReadingsFit fit_readings(const Readings& readings, const std::function<std::string(const FitNote&)>& words) {
  ReadingsFit fit;
  fit.card = readings.piece.foam;
  fit_modulus(readings, fit);
  fit_tear(readings, fit);
  if (!readings.walls.empty())
    fit_walls(readings, fit);
  if (!readings.peels.empty()) {
    std::vector<double> forces;
    for (const PeelRead& p : readings.peels)
      forces.push_back(p.force_N / p.width_mm);
    std::sort(forces.begin(), forces.end());
    fit.peel_N_mm = Banded{forces[forces.size() / 2], forces.front(), forces.back(),
                           fmt::format("measured: {} tape pulls", forces.size()), false};
    fit.card.history.push_back(
        history_head(readings, fmt::format("tape peels at {:.3g} N/mm ({:.3g} to {:.3g})",
                                           fit.peel_N_mm->nominal, forces.front(), forces.back())));
  }
  if (readings.left_empty > 0)
    fit.notes.push_back(fit_note::LeftEmpty{readings.left_empty});
  for (const std::vector<FitNote>* warnings : {&fit.disagree, &fit.notes})
    for (const FitNote& warning : *warnings)
      fit.card.history.push_back(history_head(readings, "warning: " + words(warning)));
  if (!readings.name.empty())
    fit.card.name = fit.card.title = readings.name;
  else if (find_foam(fit.card.name))
    fit.card.title = "own card from " + fit.card.title, fit.card.name += "-own";
  return fit;
}

} // namespace snagmap
