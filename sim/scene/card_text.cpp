#include "sim/scene/card_text.hpp"

#include "models/cards/card_fields.hpp"
#include "sim/text/table.hpp"

#include <cstdlib>
#include <fmt/format.h>

namespace snagmap {
namespace {

std::string in_toml(const std::string& words, Dimension) {
  return toml_text(words);
}
std::string in_toml(FoamKind kind, Dimension) {
  return toml_text(to_text(kind));
}
std::string in_toml(TipShape tip, Dimension) {
  return tip == TipShape::drill_point ? "\"drill\"" : toml_text(to_text(tip));
}
std::string in_toml(bool flag, Dimension) {
  return flag ? "true" : "false";
}
std::string in_toml(int whole, Dimension) {
  return std::to_string(whole);
}
std::string in_toml(double value, Dimension dimension) {
  return toml_text(with_unit(value, dimension));
}
std::string in_toml(const std::array<double, 3>& axes, Dimension dimension) {
  return fmt::format("[{}, {}, {}]", in_toml(axes[0], dimension), in_toml(axes[1], dimension),
                     in_toml(axes[2], dimension));
}
std::string in_toml(const Banded& b, Dimension dimension) {
  return fmt::format("{{ value = {}, low = {}, high = {}, source = {}{} }}", in_toml(b.nominal, dimension),
                     in_toml(b.low, dimension), in_toml(b.high, dimension),
                     toml_text(b.source.empty() ? "not stated" : b.source), b.guess ? ", guess = true" : "");
}
std::string in_toml(const std::vector<std::string>& list, Dimension) {
  std::string out = "[\n";
  for (const std::string& words : list)
    out += "  " + toml_text(words) + ",\n";
  return out + "]";
}
std::string in_toml(const std::vector<ProfilePiece>& pieces, Dimension dimension) {
  const auto point = [&](double r, double z) {
    return fmt::format("[{}, {}]", in_toml(r, dimension), in_toml(z, dimension));
  };
  std::string out;
  for (const ProfilePiece& p : pieces)
    out += (out.empty() ? "[\n  { to = " : ",\n  { to = ") + point(p.r1_mm, p.z1_mm) +
           (p.arc ? ", centre = " + point(p.centre_r_mm, p.centre_z_mm) : "") +
           fmt::format(", zone = \"{}\" }}", to_text(p.zone));
  return out + "]";
}

/// What a card does not have is not written: a length of zero, an angle that may not be zero, an empty list.
template <class Field, class Value> bool stands(const Field& field, const Value& value, const Value& as_new) {
  if constexpr (std::is_same_v<Value, double>)
    return value != 0 || (field.low <= 0 && (field.dimension != Dimension::length || as_new != 0));
  else if constexpr (std::is_same_v<Value, std::vector<std::string>> ||
                     std::is_same_v<Value, std::vector<ProfilePiece>>)
    return !value.empty();
  else
    return true;
}

/// A line of every property that has a key.
template <class Card> std::string keys_of(const Card& card) {
  const Card as_new;
  std::string out;
  for_each_field<Card>([&](const auto& field) {
    if (field.key && stands(field, card.*field.member, as_new.*field.member))
      out += fmt::format("{} = {}\n", field.key, in_toml(card.*field.member, field.dimension));
  });
  return out;
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
  for_each_value<Banded>(card, [](const auto&, Banded& value) {
    for (double Banded::*number : {&Banded::nominal, &Banded::low, &Banded::high})
      value.*number = to_four_digits(value.*number);
  });
  return card;
}

std::string foam_card_text(const FoamCard& card) {
  return keys_of(card);
}

std::string cutter_text(const CutterCard& card) {
  return keys_of(card);
}

std::string machine_text(const MachineCard& card) {
  return keys_of(card) + fmt::format("spindle = [{}, {}]\n",
                                     in_toml(card.spindle_min_rpm, Dimension::rotation),
                                     in_toml(card.spindle_max_rpm, Dimension::rotation));
}

} // namespace snagmap
