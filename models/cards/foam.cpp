#include "models/cards/foam.hpp"

#include "models/cards/card_fields.hpp"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace snagmap {
namespace {

/// Lambda of soft polyurethane: median, 5 % and 95 % of what makes the plausible features of
/// scripts/practice.csv just hold. scripts/calibrate writes the line.
constexpr struct { double value, low, high; } kPractice{0.217, 0.103, 0.543};
const char* kPracticeSource = "features under 19 mm (3/4 in) go with long flutes: common practice, no "
                              "source; median and 5 to 95 % over 48 "
                              "plausible features (12 to 40 mm high, 20 to 150 mm long, ends free, round or "
                              "built in, flutes of 16 to 25 mm, "
                              "passes of 1 to 3 diameters) that just hold at 15 to 19 mm";
const char* kMemory = "from memory";
const char* kTear = "1.7 (1.3 to 2.3) x tear strength of split-block tests";
const char* kSolidShare = "relative density x 30 (20 to 40) kJ/m2 of the solid polymer, a guess";
const char* kCut = "a guess: no router force on soft foam is published";

Banded value(double nominal, double low, double high, std::string source, bool guess = false) {
  return {nominal, low, high, std::move(source), guess};
}

/// Lambda of a card from that of soft polyurethane by the ratio of Gc/E. One fact of practice stands behind
/// the bite constant and its spread is shared; what E and Gc of this foam add is taken as independent of it,
/// so the spreads add as squares of logarithms. E and Gc move together with density: their product of
/// extremes would be a foam that does not exist, so one factor covers both.
Banded scaled_lambda(double E_kPa, double Gc_N_mm, double factor, const char* why) {
  const double down = std::log(kPractice.value / kPractice.low),
               up = std::log(kPractice.high / kPractice.value);
  const double own = std::log(factor), nominal = kPractice.value * (Gc_N_mm / E_kPa) / (0.60 / 50);
  return {
      nominal, nominal * std::exp(-std::hypot(down, own)), nominal * std::exp(std::hypot(up, own)),
      fmt::format(
          "soft polyurethane's, scaled by Gc/E; band: that of the features the practice may be about, and a "
          "factor {:g} for E and Gc of this foam ({})",
          factor, why),
      true};
}

FoamCard soft_polyurethane() {
  FoamCard c;
  c.name = "pu-22", c.title = "open-cell polyurethane, 22 kg/m3";
  c.density_kg_m3 = 22;
  c.E_kPa = value(50, 25, 100,
                  "range across makers, from memory; 0.05 Es R^2 plateau of Gibson and Ashby 1997 fits");
  c.nu = value(0.3, 0, 0.45, "Gibson and Ashby 1997 (1/3); strain dependent, Widdle et al. 2008");
  c.Gc_N_mm = value(0.60, 0.425, 0.89, kTear);
  c.tensile_kPa = value(100, 55, 150,
                        "trade guideline at least 55 (Joint Industry Foam Standards 1994); rest from memory");
  c.bite_depth_mm = value(1, 0.3, 2, "a guess: one to three cells", true);
  c.lambda = value(kPractice.value, kPractice.low, kPractice.high, kPracticeSource, true);
  c.cell_mm = value(0.4, 0.3, 0.6, kMemory);
  c.cut_force_N_mm = value(0.20, 0.03, 1.2, kCut, true);
  c.severing_MJ_m3 =
      value(0.55, 0.3, 1.0, "relative density x 30 MJ/m3 work to break of the polymer, from memory", true);
  c.loss_factor = value(0.12, 0.05, 0.18, "six sets, Allard and Atalla 2009");
  return c;
}

FoamCard polyurethane_32() {
  FoamCard c = soft_polyurethane();
  c.name = "pu-32", c.title = "open-cell polyurethane, 32 kg/m3";
  c.density_kg_m3 = 32;
  c.E_kPa = value(100, 60, 180,
                  "data sheet plateau 4.5 kPa at 25 %; 130 kPa dynamic at 33 kg/m3 (Allard and Atalla 2009)");
  c.Gc_N_mm = value(0.77, 0.51, 1.19, kTear);
  c.tensile_kPa = value(120, 55, 180, "material specification minimum 55; typical trade grade 110");
  c.lambda = scaled_lambda(100, 0.77, 2, "each known within a factor 2");
  c.cell_mm = value(0.35, 0.3, 0.6, kMemory);
  c.cut_force_N_mm = value(0.30, 0.04, 1.6, kCut, true);
  c.severing_MJ_m3 = value(0.80, 0.4, 1.5, c.severing_MJ_m3.source, true);
  return c;
}

FoamCard fine_polyurethane() {
  FoamCard c = soft_polyurethane();
  c.name = "pu-60", c.title = "fine-cell ester polyurethane, 60 kg/m3";
  c.special = true; // tougher and softer than ordinary foam of its density
  c.density_kg_m3 = 60;
  c.E_kPa = value(130, 80, 200, "a guess from 3.4 to 6.2 kPa at 25 % (car-maker specification)", true);
  c.Gc_N_mm = value(1.19, 0.91, 1.61, "1.7 x tear strength, minimum 0.7 N/mm (car-maker specification)");
  c.tensile_kPa = value(220, 193, 300, "minimum 193 (car-maker specification); rest from memory");
  c.lambda = scaled_lambda(130, 1.19, 2.5, "modulus a guess");
  c.cell_mm = value(0.3, 0.2, 0.4, kMemory);
  c.cut_force_N_mm = value(0.5, 0.06, 2.5, kCut, true);
  c.severing_MJ_m3 = value(1.5, 0.8, 2.8, c.severing_MJ_m3.source, true);
  return c;
}

FoamCard polyethylene(const char* name, double density, Banded E, Banded Gc, Banded tensile, Banded cut,
                      double severing) {
  FoamCard c;
  c.name = name, c.title = fmt::format("closed-cell polyethylene, {:g} kg/m3", density);
  c.kind = FoamKind::polyethylene, c.open_cell = false;
  c.density_kg_m3 = density;
  c.nu = value(0.2, 0, 0.33, kMemory);
  c.lambda = scaled_lambda(E.nominal, Gc.nominal, 2, "each known within a factor 2");
  c.E_kPa = std::move(E), c.Gc_N_mm = std::move(Gc), c.tensile_kPa = std::move(tensile);
  c.bite_depth_mm = value(1, 0.3, 3, "a guess: one cell of plank, three of cross-linked foam", true);
  c.cell_mm =
      value(0.5, 0.2, 3, "0.2 to 0.5 cross-linked, from memory; 1 to 3 extruded plank, conservation notes");
  c.cut_force_N_mm = std::move(cut);
  c.severing_MJ_m3 = value(severing, severing / 2, severing * 2,
                           "relative density x 40 MJ/m3 work to break of the polymer, from memory", true);
  c.loss_factor = value(0.15, 0.1, 0.25, kMemory);
  return c;
}

FoamCard eva(const char* name, double density, Banded E, double Gc, Banded tensile, double severing) {
  FoamCard c;
  c.name = name, c.title = fmt::format("closed-cell ethylene-vinyl acetate, {:g} kg/m3", density);
  c.kind = FoamKind::eva, c.open_cell = false;
  c.density_kg_m3 = density;
  c.nu = value(0.3, 0.2, 0.4, kMemory);
  c.lambda = scaled_lambda(E.nominal, Gc, 3, "no published value found for either");
  c.E_kPa = std::move(E);
  c.Gc_N_mm = value(Gc, Gc * 20 / 30, Gc * 40 / 30, kSolidShare, true);
  c.tensile_kPa = std::move(tensile);
  c.bite_depth_mm = value(1, 0.3, 2, "a guess: a few cells", true);
  c.cell_mm = value(0.2, 0.1, 0.4, kMemory);
  c.cut_force_N_mm = value(0.8, 0.1, 4, kCut, true);
  c.severing_MJ_m3 = value(severing, severing / 2, severing * 2, "a guess", true);
  c.loss_factor = value(0.15, 0.1, 0.25, kMemory);
  return c;
}

FoamCard polystyrene() {
  FoamCard c;
  c.name = "eps-24", c.title = "expanded polystyrene, 24 kg/m3 (stiff contrast)";
  c.kind = FoamKind::polystyrene, c.open_cell = false;
  c.density_kg_m3 = 24;
  c.E_kPa = value(5800, 5000, 8000, "stress at 1 % strain, ASTM D6817 minima interpolated");
  c.nu = value(0.1, 0.05, 0.15, kMemory);
  c.Gc_N_mm = value(0.84, 0.28, 1.7, "toughness 0.04 to 0.10 MPa m^0.5 squared over E, from memory", true);
  c.tensile_kPa = value(275, 200, 350, kMemory);
  c.bite_depth_mm = value(1, 0.3, 3, "a guess", true);
  c.lambda = scaled_lambda(5800, 0.84, 4, "brittle: the bite of soft foam may not apply");
  c.cell_mm = value(0.1, 0.05, 0.2, kMemory);
  c.cut_force_N_mm = value(0.2, 0.05, 0.8, kCut, true);
  c.severing_MJ_m3 = value(0.35, 0.2, 0.5, "a guess", true);
  c.loss_factor = value(0.03, 0.01, 0.1, "a guess", true);
  return c;
}

std::vector<FoamCard> make_catalogue() {
  return {
      soft_polyurethane(),
      polyurethane_32(),
      fine_polyurethane(),
      eva("eva-32", 32, value(200, 100, 350, kMemory), 1.0, value(400, 300, 800, kMemory), 1),
      polyethylene("pe-24", 24,
                   value(250, 150, 400, "product page 15/35/100 kPa; 220 to 230 dynamic, product page"),
                   value(0.85, 0.60, 1.50, kTear), value(225, 150, 300, "thick plank, from memory"),
                   value(0.50, 0.10, 2.0, kCut, true), 1.04),
      polyethylene("pe-32", 32,
                   value(400, 250, 650, "data sheet of cross-linked block foam 33 kg/m3: 40 kPa at 25 %"),
                   value(1.17, 0.85, 1.90, kTear),
                   value(300, 240, 455, "data sheet 455, cross-linked; plank from memory"),
                   value(0.70, 0.15, 2.5, kCut, true), 1.43),
      eva("eva-64", 64, value(500, 250, 900, kMemory), 2.0, value(700, 400, 1200, kMemory), 2),
      eva("eva-96", 96, value(1200, 600, 2500, kMemory), 3.1, value(1000, 500, 1500, kMemory), 3),
      polystyrene(),
  };
}

/// Between two cards along a power law in density; `wider` adds to the spread as squares of logarithms.
Banded between(const Banded& a, const Banded& b, double t, double wider, const std::string& source) {
  const auto mix = [t](double x, double y) {
    return x > 0 && y > 0 ? std::exp(std::log(x) * (1 - t) + std::log(y) * t) : x * (1 - t) + y * t;
  };
  Banded out{mix(a.nominal, b.nominal), mix(a.low, b.low), mix(a.high, b.high), source, true};
  if (out.low > 0) {
    out.low = out.nominal * std::exp(-std::hypot(std::log(out.nominal / out.low), wider));
    out.high = out.nominal * std::exp(std::hypot(std::log(out.high / out.nominal), wider));
  }
  return out;
}

} // namespace

const char* to_text(FoamKind kind) {
  switch (kind) {
  case FoamKind::polyurethane:
    return "polyurethane";
  case FoamKind::polyethylene:
    return "polyethylene";
  case FoamKind::eva:
    return "eva";
  case FoamKind::polystyrene:
    return "polystyrene";
  }
  return "";
}

const std::vector<FoamCard>& foam_cards() {
  static const std::vector<FoamCard> cards = make_catalogue();
  return cards;
}

std::optional<FoamCard> find_foam(const std::string& name) {
  for (const FoamCard& card : foam_cards())
    if (card.name == name)
      return card;
  return std::nullopt;
}

Outcome<FoamCard> interpolated_foam(FoamKind kind, double density_kg_m3) {
  constexpr double kBeyond = 1.5; // this factor past the outermost cards, no further
  std::vector<const FoamCard*> cards;
  for (const FoamCard& card : foam_cards())
    if (card.kind == kind && !card.special)
      cards.push_back(&card);
  std::sort(cards.begin(), cards.end(), [](auto a, auto b) { return a->density_kg_m3 < b->density_kg_m3; });
  const double least = cards.front()->density_kg_m3 / kBeyond, most = cards.back()->density_kg_m3 * kBeyond;
  if (!(density_kg_m3 >= least && density_kg_m3 <= most))
    return Fault(fmt::format("no {} card near {:g} kg/m3; the catalogue reaches from {:.0f} to {:.0f} kg/m3",
                             to_text(kind), density_kg_m3, least, most),
                 "give the foam's own values, or a density within the range");
  for (const FoamCard* card : cards)
    if (std::abs(density_kg_m3 / card->density_kg_m3 - 1) < 1e-9)
      return *card;

  std::size_t i = 0;
  while (i + 2 < cards.size() && density_kg_m3 > cards[i + 1]->density_kg_m3)
    ++i;
  const FoamCard& a = *cards[i];
  const FoamCard& b = cards.size() > 1 ? *cards[i + 1] : a;
  const double gap = std::log(b.density_kg_m3 / a.density_kg_m3),
               at = std::log(density_kg_m3 / a.density_kg_m3);
  const double t = gap > 0 ? at / gap : 0;
  // How far a foam strays from the power law: by a factor equal to its distance in density from the nearest
  // card.
  const double wider = std::min(std::abs(at), std::abs(std::log(density_kg_m3 / b.density_kg_m3)));
  const std::string source = fmt::format("between {} and {} by density, band widened", a.name, b.name);
  FoamCard c = a;
  c.name = fmt::format("{}-{:g}", to_text(kind), density_kg_m3);
  c.title = fmt::format("{}, {:g} kg/m3 ({})", to_text(kind), density_kg_m3, source);
  c.density_kg_m3 = density_kg_m3;
  for_each_value<Banded>(c, [&](const auto& field, Banded& value) {
    value = between(a.*field.member, b.*field.member, t, field.member == &FoamCard::nu ? 0 : wider, source);
  });
  return c;
}

FoamCard with_own_values(FoamCard card, const std::optional<Banded>& E_kPa,
                         const std::optional<Banded>& Gc_N_mm) {
  double ratio = 1;
  if (E_kPa)
    ratio *= card.E_kPa.nominal / E_kPa->nominal, card.E_kPa = *E_kPa;
  if (Gc_N_mm)
    ratio *= Gc_N_mm->nominal / card.Gc_N_mm.nominal, card.Gc_N_mm = *Gc_N_mm;
  if (ratio != 1) {
    card.lambda.nominal *= ratio, card.lambda.low *= ratio, card.lambda.high *= ratio;
    card.lambda.source += "; scaled by the scene's own Gc/E";
  }
  return card;
}

} // namespace snagmap
