// The formula against finite elements of random webs that its fit has not seen.
//
// scripts/gamma_held_out.csv was made by tests/long/web_study_test.cpp (seed 3; the fit used seed 1),
// gamma_walls.csv by the same for walls as people cut them: our own elements, themselves checked against
// CalculiX and published cases. They are no cut test.
#include "models/web/compliance.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

using namespace snagmap;

namespace {

struct Solved {
  Web web;
  Contact contact;
  double gamma = 0;
};

std::vector<Solved> solved_webs(const std::string& file) {
  std::ifstream in(std::string(SNAGMAP_ROOT) + "/scripts/" + file);
  std::vector<Solved> webs;
  std::string line;
  std::getline(in, line);
  EXPECT_EQ(line, "number,w_mm,h_mm,d1_mm,d2_mm,end1,end2,b_p_mm,nu,rigid_floor,low_mm,high_mm,gamma");
  while (std::getline(in, line)) {
    std::vector<std::string> cell;
    std::istringstream cells(line);
    for (std::string text; std::getline(cells, text, ',');)
      cell.push_back(text);
    if (cell.size() != 13) {
      ADD_FAILURE() << line;
      continue;
    }
    const auto number = [&](std::size_t i) { return std::stod(cell[i]); };
    Solved s;
    s.web.w_mm = number(1), s.web.h_mm = number(2), s.web.d1_mm = number(3), s.web.d2_mm = number(4);
    s.web.end1 = cell[5] == "built-in" ? WebEnd::built_in : WebEnd::free; // far ends are free ends at 6 h
    s.web.end2 = cell[6] == "built-in" ? WebEnd::built_in : WebEnd::free;
    s.web.b_p_mm = number(7), s.web.nu = number(8), s.web.rigid_floor = cell[9] == "1";
    s.contact = {number(10), number(11)};
    s.gamma = number(12);
    webs.push_back(s);
  }
  return webs;
}

struct Spread {
  double within_10 = 0, within_20 = 0, low = HUGE_VAL, high = 0;
};
template <class Chosen> Spread spread(const std::vector<Solved>& webs, Chosen chosen) {
  Spread out;
  int n = 0;
  for (const Solved& s : webs) {
    if (!chosen(s.web))
      continue;
    const double ratio = gamma(s.web, s.contact).value / s.gamma;
    ++n, out.within_10 += std::abs(ratio - 1) <= 0.1, out.within_20 += std::abs(ratio - 1) <= 0.2;
    out.low = std::min(out.low, ratio), out.high = std::max(out.high, ratio);
  }
  out.within_10 *= 100.0 / n, out.within_20 *= 100.0 / n;
  return out;
}

bool is_built_in(const Web& web) {
  return web.end1 == WebEnd::built_in || web.end2 == WebEnd::built_in;
}

} // namespace

// 95 % within 10 % and all within 20 % is the target; the rest is what the table in DEVELOPERS.md says,
// rounded outward.
TEST(GammaFit, WebsItHasNotSeenAreWithinATenthMostlyAndAFifthAlways) {
  const std::vector<Solved> webs = solved_webs("gamma_held_out.csv");
  ASSERT_EQ(webs.size(), 300u);
  const Spread all = spread(webs, [](const Web&) { return true; });
  EXPECT_GE(all.within_10, 95);
  EXPECT_EQ(all.within_20, 100);
  EXPECT_GE(all.low, 0.86);
  EXPECT_LE(all.high, 1.14);
  for (const bool built_in : {false, true})
    for (const bool board : {false, true})
      EXPECT_GE(
          spread(webs, [&](const Web& w) { return w.rigid_floor == board && is_built_in(w) == built_in; })
              .within_10,
          94);
}

// 6 to 30 mm between pockets 12.7 to 50 mm deep, stub and long flutes, free and built-in ends, on foam and on
// a board.
TEST(GammaFit, WallsAsPeopleCutThemAreWithinAFifth) {
  const Spread walls = spread(solved_webs("gamma_walls.csv"), [](const Web&) { return true; });
  EXPECT_GE(walls.within_10, 90);
  EXPECT_EQ(walls.within_20, 100);
}

TEST(GammaFit, HeldOutWebsAreNotThoseOfTheFit) {
  const std::vector<Solved> fitted = solved_webs("gamma_fit.csv"),
                            held_out = solved_webs("gamma_held_out.csv");
  ASSERT_GE(fitted.size(), 2000u);
  for (const Solved& a : fitted)
    for (const Solved& b : held_out)
      EXPECT_FALSE(a.web.w_mm == b.web.w_mm && a.web.h_mm == b.web.h_mm && a.web.b_p_mm == b.web.b_p_mm);
}

TEST(GammaFit, AShapeBeyondTheWebsOfTheFitIsSaidToBeOutside) {
  double most = 0; // as high as any web that the fit has seen, over its thickness
  for (const Solved& s : solved_webs("gamma_fit.csv"))
    most = std::max(most, s.web.h_mm / s.web.w_mm);
  Web web;
  web.w_mm = 4, web.d1_mm = web.d2_mm = 100, web.b_p_mm = 5, web.nu = 0.3;
  for (const bool inside : {true, false}) {
    web.h_mm = (inside ? 0.99 : 1.02) * most * web.w_mm;
    EXPECT_EQ(gamma(web, {0, web.h_mm}).clamped, !inside);
  }
}
