// The field lists of the cards: no property stands twice or bears on nothing by mistake, and what is written
// of a card reads back whole. That none is missing is asserted where the lists stand.
#include "models/cards/card_fields.hpp"
#include "sim/preview/same.hpp"
#include "sim/scene/card_text.hpp"
#include "sim/scene/foam_card.hpp"
#include "sim/scene/scene.hpp"

#include <cmath>
#include <cstddef>
#include <filesystem>
#include <fstream>
#include <gtest/gtest.h>
#include <set>

using namespace snagmap;

namespace {

void change(std::string& value) {
  value += "!";
}
void change(bool& value) {
  value = !value;
}
void change(int& value) {
  ++value;
}
void change(double& value) {
  value = value * 1.25 + 1;
}
void change(Banded& value) {
  value.high = value.high > value.nominal ? 0.25 * value.nominal + 0.75 * value.high : value.high + 0.01;
}
void change(FoamKind& value) {
  value = value == FoamKind::eva ? FoamKind::polystyrene : FoamKind::eva;
}
void change(TipShape& value) {
  value = value == TipShape::ball ? TipShape::flat : TipShape::ball;
}
void change(std::array<double, 3>& value) {
  value[2] += 1;
}
void change(std::vector<std::string>& value) {
  value.push_back("one more");
}
void change(std::vector<ProfilePiece>& value) {
  value.push_back({0, 0, 1, 2, false, 0, 0, Zone::flutes});
}

template <class Card> void no_member_stands_twice() {
  Card card;
  std::set<const void*> members;
  std::set<std::string> keys, in_result;
  for_each_field<Card>([&](const auto& field) {
    EXPECT_TRUE(members.insert(&(card.*field.member)).second) << members.size();
    EXPECT_TRUE(!field.key || keys.insert(field.key).second);
    EXPECT_TRUE(!field.in_result || in_result.insert(field.in_result).second);
  });
}

/// A scene with the cutter and the machine as they are written.
Outcome<Scene> scene_with(const CutterCard& cutter, const MachineCard& machine) {
  const auto folder = std::filesystem::path(::testing::TempDir());
  std::ofstream(folder / "card_fields.nc") << "G21 G90\nG1 X10 F600\nM30\n";
  return parse_scene("program = \"card_fields.nc\"\nfoam = \"pu-22\"\n[cutter]\n" + cutter_text(cutter) +
                         "[machine]\n" + machine_text(machine),
                     "s.toml", folder.string());
}

template <class Card> void expect_same_keys(const Card& read, const Card& meant) {
  for_each_field<Card>([&](const auto& field) {
    using Value = std::decay_t<decltype(read.*field.member)>;
    if (!field.key)
      return;
    if constexpr (std::is_same_v<Value, std::vector<ProfilePiece>>) {
      ASSERT_EQ((read.*field.member).size(), (meant.*field.member).size());
      for (std::size_t i = 0; i < (read.*field.member).size(); ++i)
        EXPECT_TRUE(parts_of((read.*field.member)[i]) == parts_of((meant.*field.member)[i])) << i;
    } else if constexpr (std::is_same_v<Value, Banded>) {
      EXPECT_NEAR((read.*field.member).nominal, (meant.*field.member).nominal, 1e-14) << field.key;
    } else {
      EXPECT_EQ(read.*field.member, meant.*field.member) << field.key;
    }
  });
}

} // namespace

TEST(CardFields, NoMemberOfACardStandsTwice) {
  no_member_stands_twice<FoamCard>();
  no_member_stands_twice<CutterCard>();
  no_member_stands_twice<MachineCard>();
}

TEST(CardFields, EveryCutterAndMachineReadsBackAsItIsWritten) {
  std::vector<CutterCard> cutters = cutter_cards();
  CutterCard own = cutters.front();
  own.own_profile = {{0, 0, 3, 0, false, 0, 0, Zone::flutes},
                     {3, 0, 4, 1, true, 3, 1, Zone::flutes},
                     {4, 1, 4, 20, false, 0, 0, Zone::neck}};
  own.least_chip_mm = 0, own.helix_deg = -17.5;
  cutters.push_back(own);
  for (const CutterCard& cutter : cutters)
    for (const MachineCard& machine : {machine_cards().front(), machine_cards().back()}) {
      const auto scene = scene_with(cutter, machine);
      ASSERT_TRUE(scene) << to_text(scene.faults().front()) << "\n" << cutter_text(cutter);
      expect_same_keys(scene->cutters.front(), cutter);
      expect_same_keys(scene->machine, machine);
      EXPECT_EQ(scene->machine.spindle_min_rpm, machine.spindle_min_rpm);
      EXPECT_EQ(scene->machine.spindle_max_rpm, machine.spindle_max_rpm);
    }
}

TEST(CardFields, AChangeOfWhatBearsOnTheResultIsSeen) {
  Scene scene;
  scene.layers = {{*find_foam("pu-22"), 20}};
  scene.cutters = {cutter_cards().front()};
  scene.machine = machine_cards().front();
  int seen = 0;
  for_each_field<FoamCard>([&](const auto& field) {
    Scene other = scene;
    change(other.layers[0].foam.*field.member);
    EXPECT_EQ(same_judging(scene, other), field.bears == Bears::words);
    seen += field.bears == Bears::judging;
  });
  for_each_field<CutterCard>([&](const auto& field) {
    Scene other = scene;
    change(other.cutters[0].*field.member);
    EXPECT_EQ(same_bodies(scene.cutters, other.cutters), field.bears != Bears::record);
    EXPECT_EQ(same_judging(scene, other), field.bears != Bears::judging);
  });
  for_each_field<MachineCard>([&](const auto& field) {
    Scene other = scene;
    change(other.machine.*field.member);
    EXPECT_EQ(same_machine(scene.machine, other.machine), field.bears != Bears::motion);
  });
  EXPECT_EQ(seen, 14); // name, kind, open cells, density and the ten bands
}

TEST(CardFields, EveryWrittenPropertyOfFoamIsInItsText) {
  const FoamCard card = *find_foam("pu-22");
  for_each_field<FoamCard>([&](const auto& field) {
    if (!field.key)
      return;
    FoamCard other = card;
    change(other.*field.member);
    const auto back = parse_foam_card(foam_card_text(other), "own.toml");
    ASSERT_TRUE(back) << to_text(back.faults().front());
    EXPECT_NE(foam_card_text(*back), foam_card_text(card)) << field.key;
  });
}
