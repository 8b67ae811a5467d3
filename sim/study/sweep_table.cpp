#include "sim/study/sweep_table.hpp"

#include "sim/study/sweep.hpp"
#include "sim/text/csv.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <tuple>

namespace snagmap {
namespace {

struct Wall {
  double width_mm, s, s_low, s_high;
};

/// Width where S, taken from each wall by `of`, crosses 1.
template <class Of> double crossing_mm(const std::vector<Wall>& walls, Of of) {
  if (of(walls.front()) < 1)
    return 0;
  for (std::size_t i = 0; i + 1 < walls.size(); ++i) {
    const double a = of(walls[i]), b = of(walls[i + 1]);
    if (a >= 1 && b < 1)
      return walls[i].width_mm *
             std::pow(walls[i + 1].width_mm / walls[i].width_mm, std::log(a) / std::log(a / b));
  }
  return std::numeric_limits<double>::infinity();
}

double number_in(const SceneValue& row, const char* column) {
  const SceneValue* value = row.find(column);
  return value ? value->number : 0;
}
std::string text_in(const SceneValue& row, const char* column) {
  const SceneValue* value = row.find(column);
  return value ? value->text : "";
}

} // namespace

Outcome<std::vector<NarrowestWall>> narrowest_walls(const std::string& table, const std::string& name) {
  const std::string head = sweep_columns();
  if (table.compare(0, head.size(), head) != 0 || table.find_first_of("\r\n") != head.size())
    return Fault("is no campaign's table", "table.csv, as `snagmap sweep` wrote it", name, 1, 1);
  const CsvTable parsed = parse_csv_rows(table, name, "row");
  if (!parsed.faults.empty())
    return parsed.faults;
  using Key = std::tuple<std::string, double, double, double, std::string>;
  std::map<Key, std::pair<NarrowestWall, std::vector<Wall>>> groups;
  for (const SceneValue& row : parsed.top.find("row")->items) {
    if (text_in(row, "program") != "wall" || !row.find("s"))
      continue;
    NarrowestWall group;
    group.foam = text_in(row, "foam"), group.cutter = text_in(row, "cutter");
    group.diameter_mm = number_in(row, "diameter_mm"),
    group.flute_length_mm = number_in(row, "flute_length_mm");
    group.pass_mm = number_in(row, "pass_mm"), group.height_mm = number_in(row, "height_mm"),
    group.length_mm = number_in(row, "length_mm");
    auto& at = groups[{group.foam, group.pass_mm, group.height_mm, group.flute_length_mm, group.cutter}];
    at.first = group;
    at.second.push_back(
        {number_in(row, "width_mm"), number_in(row, "s"), number_in(row, "s_low"), number_in(row, "s_high")});
  }
  std::vector<NarrowestWall> found;
  for (auto& [key, group] : groups) {
    auto& [narrowest, walls] = group;
    std::sort(walls.begin(), walls.end(),
              [](const Wall& a, const Wall& b) { return a.width_mm < b.width_mm; });
    narrowest.width_mm = crossing_mm(walls, [](const Wall& w) { return w.s; });
    narrowest.low_mm = crossing_mm(walls, [](const Wall& w) { return w.s_low; });
    narrowest.high_mm = crossing_mm(walls, [](const Wall& w) { return w.s_high; });
    found.push_back(narrowest);
  }
  return found;
}

std::vector<CutterRanking> cutter_rankings(const std::vector<NarrowestWall>& walls) {
  const auto known = [](double width) { return width > 0 && std::isfinite(width); };
  std::vector<CutterRanking> rankings;
  for (const NarrowestWall& a : walls)
    for (const NarrowestWall& b : walls) {
      if (a.foam != b.foam || a.pass_mm != b.pass_mm || a.height_mm != b.height_mm ||
          a.flute_length_mm <= b.flute_length_mm)
        continue;
      std::vector<double> ratios;
      for (const auto& [wide, narrow] :
           {std::pair{a.low_mm, b.low_mm}, {a.width_mm, b.width_mm}, {a.high_mm, b.high_mm}})
        if (known(wide) && known(narrow))
          ratios.push_back(wide / narrow);
      if (!known(a.width_mm) || !known(b.width_mm))
        continue;
      rankings.push_back({a.foam, a.cutter, b.cutter, a.pass_mm, a.height_mm, a.width_mm / b.width_mm,
                          *std::min_element(ratios.begin(), ratios.end()),
                          *std::max_element(ratios.begin(), ratios.end())});
    }
  return rankings;
}

} // namespace snagmap
