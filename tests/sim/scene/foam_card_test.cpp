// Foam cards in files: what is written reads back, and scenes use it.
#include "sim/scene/card_text.hpp"
#include "sim/scene/foam_card.hpp"
#include "sim/scene/scene.hpp"

#include <cmath>
#include <filesystem>
#include <fstream>
#include <gtest/gtest.h>
#include <unistd.h>

using namespace snagmap;
namespace fs = std::filesystem;

namespace {

void expect_same(const Banded& a, const Banded& b) {
  // One multiplication and one division by 100 lie between: a few units in the last place.
  EXPECT_NEAR(a.nominal, b.nominal, 1e-14 * std::abs(b.nominal));
  EXPECT_NEAR(a.low, b.low, 1e-14 * std::abs(b.low));
  EXPECT_NEAR(a.high, b.high, 1e-14 * std::abs(b.high));
  EXPECT_EQ(a.source, b.source);
  EXPECT_EQ(a.guess, b.guess);
}

} // namespace

TEST(FoamCardFile, EveryCardReadsBackWithItsBandsSourcesAndHistory) {
  for (FoamCard card : foam_cards()) {
    card.history = {"comb of 12 walls: a \"quoted\" remark", "sag of a strip\tindoors"};
    const auto back = parse_foam_card(foam_card_text(card), "own.toml");
    ASSERT_TRUE(back) << to_text(back.faults().front());
    EXPECT_EQ(back->name, card.name);
    EXPECT_EQ(back->title, card.title);
    EXPECT_EQ(back->kind, card.kind);
    EXPECT_EQ(back->open_cell, card.open_cell);
    EXPECT_EQ(back->density_kg_m3, card.density_kg_m3);
    EXPECT_EQ(back->history, card.history);
    expect_same(back->E_kPa, card.E_kPa);
    expect_same(back->nu, card.nu);
    expect_same(back->Gc_N_mm, card.Gc_N_mm);
    expect_same(back->lambda, card.lambda);
    expect_same(back->bite_depth_mm, card.bite_depth_mm);
    expect_same(back->loss_factor, card.loss_factor);
  }
}

TEST(FoamCardFile, ARoundedCardHasFourDigitsAndKeepsTheOrderOfItsBands) {
  FoamCard card = *find_foam("pu-22");
  card.E_kPa = {41.23456789, 41.23349, 41.23651, "measured", false};
  card.loss_factor = {1.0 / 3, 1.0 / 3 - 1e-9, 1.0 / 3 + 1e-9, "measured", false};
  const FoamCard to_write = rounded(card);
  const std::string text = foam_card_text(to_write);
  EXPECT_NE(text.find("modulus = { value = \"41.23 kPa\", low = \"41.23 kPa\", high = \"41.24 kPa\""),
            std::string::npos)
      << text;
  EXPECT_TRUE(to_write.loss_factor.low <= to_write.loss_factor.nominal &&
              to_write.loss_factor.nominal <= to_write.loss_factor.high);
  // Half a unit of the fourth digit, at most 5e-4 of the value, is all that rounding moves.
  EXPECT_NEAR(to_write.E_kPa.high, card.E_kPa.high, 5e-4 * card.E_kPa.high);
  EXPECT_EQ(to_write.E_kPa.source, "measured");
  EXPECT_TRUE(parse_foam_card(text, "own.toml"));
}

TEST(FoamCardFile, SceneNamesACardByItsPath) {
  const fs::path folder = fs::path(testing::TempDir()) / ("foam_card_" + std::to_string(getpid()));
  fs::create_directories(folder);
  FoamCard own = *find_foam("pu-22");
  own.name = "the roll in the corner", own.lambda = {0.25, 0.22, 0.29, "measured", false};
  std::ofstream(folder / "own.toml") << foam_card_text(own);
  std::ofstream(folder / "part.nc") << "G21\nM30\n";
  const std::string rest =
      "program = \"part.nc\"\ncutter = { diameter = \"6 mm\", flute_length = \"22 mm\" }\n";
  const auto scene = parse_scene("foam = \"own.toml\"\n" + rest, "s.toml", folder.string());
  ASSERT_TRUE(scene) << to_text(scene.faults().front());
  EXPECT_EQ(scene->main_foam().name, "the roll in the corner");
  EXPECT_NEAR(scene->main_foam().lambda.high, 0.29, 1e-12);

  const auto gone = parse_scene("foam = \"gone.toml\"\n" + rest, "s.toml", folder.string());
  ASSERT_FALSE(gone);
  EXPECT_EQ(gone.faults().front().what, "foam card \"gone.toml\": no such file");
  EXPECT_EQ(gone.faults().front().line, 1);

  // A fault in the card is told with the card's own place, not the scene's.
  std::ofstream(folder / "own.toml")
      << "kind = \"polyurethane\"\ndensity = \"22 kg/m3\"\nmodulus = \"50 mm\"\n";
  const auto wrong = parse_scene("foam = \"own.toml\"\n" + rest, "s.toml", folder.string());
  ASSERT_FALSE(wrong);
  EXPECT_EQ(wrong.faults().front().file, (folder / "own.toml").string());
  EXPECT_EQ(wrong.faults().front().line, 3);
  fs::remove_all(folder);
}
