#include "sim/scene/foam_card.hpp"

#include "models/quantity.hpp"
#include "sim/text/table.hpp"

#include <cstdlib>
#include <fmt/format.h>

namespace snagmap {
namespace {

std::string banded_line(const char* key, const Banded& b, Dimension dimension) {
  const auto number = [&](double value) { return toml_text(with_unit(value, dimension)); };
  return fmt::format("{} = {{ value = {}, low = {}, high = {}, source = {}{} }}\n", key, number(b.nominal),
                     number(b.low), number(b.high), toml_text(b.source.empty() ? "not stated" : b.source),
                     b.guess ? ", guess = true" : "");
}

double to_four_digits(double value) {
  return std::strtod(fmt::format("{:.4g}", value).c_str(), nullptr);
}

} // namespace

std::string toml_text(const std::string& words) {
  std::string out = "\"";
  for (const char c : words) {
    if (c == '"' || c == '\\')
      out += '\\', out += c;
    else if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f)
      out += fmt::format("\\u{:04X}", static_cast<unsigned>(static_cast<unsigned char>(c)));
    else
      out += c;
  }
  return out + '"';
}

FoamCard rounded(FoamCard card) {
  for (Banded FoamCard::*value :
       {&FoamCard::E_kPa, &FoamCard::nu, &FoamCard::Gc_N_mm, &FoamCard::tensile_kPa, &FoamCard::bite_depth_mm,
        &FoamCard::lambda, &FoamCard::cell_mm, &FoamCard::cut_force_N_mm, &FoamCard::severing_MJ_m3,
        &FoamCard::loss_factor})
    for (double Banded::*number : {&Banded::nominal, &Banded::low, &Banded::high})
      card.*value.*number = to_four_digits(card.*value.*number);
  return card;
}

std::string foam_card_text(const FoamCard& card) {
  std::string out = fmt::format("name = {}\ntitle = {}\nkind = {}\ndensity = {}\nopen_cell = {}\n",
                                toml_text(card.name), toml_text(card.title), toml_text(to_text(card.kind)),
                                toml_text(with_unit(card.density_kg_m3, Dimension::density)), card.open_cell);
  out += banded_line("modulus", card.E_kPa, Dimension::pressure);
  out += banded_line("poisson", card.nu, Dimension::share);
  out += banded_line("tear_energy", card.Gc_N_mm, Dimension::line_force);
  out += banded_line("tensile_strength", card.tensile_kPa, Dimension::pressure);
  out += banded_line("bite_depth", card.bite_depth_mm, Dimension::length);
  out += banded_line("pull_ratio", card.lambda, Dimension::share);
  out += banded_line("cell", card.cell_mm, Dimension::length);
  out += banded_line("cut_force", card.cut_force_N_mm, Dimension::line_force);
  out += banded_line("severing_energy", card.severing_MJ_m3, Dimension::energy_density);
  out += banded_line("loss_factor", card.loss_factor, Dimension::share);
  if (!card.history.empty()) {
    out += "history = [\n";
    for (const std::string& line : card.history)
      out += "  " + toml_text(line) + ",\n";
    out += "]\n";
  }
  return out;
}

} // namespace snagmap
