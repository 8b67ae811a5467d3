// The one CSV writer, read back by Python's csv module; and the reader, fed by it.
#include "models/base/plain_text.hpp"
#include "sim/study/compare.hpp"
#include "sim/study/narrowest.hpp"
#include "sim/text/csv.hpp"
#include "tests/python.hpp"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>
#include <random>

using namespace snagmap;
using snagmap::python;

namespace {

using Rows = std::vector<std::vector<std::string>>;

Rows read_by_python(const std::string& csv) {
  return nlohmann::json::parse(python("import csv, json, sys\n"
                                      "print(json.dumps(list(csv.reader(open(sys.argv[1], newline='', "
                                      "encoding='utf-8'), strict=True))))\n",
                                      csv))
      .get<Rows>();
}

/// What may never stand first in a cell that is no number (OWASP, "CSV Injection").
bool would_run(const std::string& cell) {
  const std::size_t first = cell.find_first_not_of(" \t\r\n");
  if (first == std::string::npos || std::string("=+-@").find(cell[first]) == std::string::npos)
    return false;
  char* end = nullptr;
  std::strtod(cell.c_str(), &end);
  return *end != '\0';
}

std::vector<std::string> awkward() {
  return {"soft, grey",
          "22 kg \"special\"",
          "a;b",
          "-0.5",
          "+3",
          "=1+1",
          "-2+3+cmd|' /C x'!A0",
          "@SUM(A1)",
          "\t=1",
          "\r=1",
          "a\nb",
          "",
          " x ",
          "'quoted'",
          "\xef\xbc\x9d"
          "1",
          "1e-3",
          "caf\xc3\xa9",
          "\xff",
          "'=1",
          "#1",
          "-"};
}

} // namespace

TEST(Csv, EveryCellReadsBackInPythonAsItsPlainTextAndNoneRuns) {
  const std::vector<std::string> cells = awkward();
  const Rows rows = read_by_python(csv_row({"a", "b"}) + csv_row(cells));
  ASSERT_EQ(rows.size(), 2u);
  ASSERT_EQ(rows[1].size(), cells.size());
  for (std::size_t i = 0; i < cells.size(); ++i) {
    const std::string& back = rows[1][i];
    EXPECT_FALSE(would_run(back)) << back;
    EXPECT_TRUE(back == plain_text(cells[i]) || back == "'" + plain_text(cells[i])) << back;
  }
  for (const std::size_t number : {3u, 4u, 15u}) // numbers stay numbers
    EXPECT_EQ(rows[1][number], cells[number]);
}

TEST(Csv, RandomRowsReadBackInPythonAndInOurReader) {
  std::mt19937 random(11);
  const std::string letters = "ab ,;\"'=-+@1.\n\r\t#\\";
  std::string csv = csv_row({"n", "x", "y"});
  Rows meant{{"n", "x", "y"}};
  for (int i = 0; i < 500; ++i) {
    std::vector<std::string> row{std::to_string(i)};
    for (int k = 0; k < 2; ++k) {
      row.emplace_back();
      for (unsigned n = random() % 8; n > 0; --n)
        row.back() += letters[random() % letters.size()];
    }
    csv += csv_row(row);
    meant.push_back(row);
  }
  const Rows rows = read_by_python(csv);
  ASSERT_EQ(rows.size(), meant.size());
  const CsvTable table = parse_csv_rows(csv, "t.csv", "row");
  ASSERT_TRUE(table.faults.empty()) << to_text(table.faults.front());
  const std::vector<SceneValue>& ours = table.top.items.front().items;
  ASSERT_EQ(ours.size() + 1, meant.size());
  for (std::size_t i = 1; i < meant.size(); ++i)
    for (std::size_t k = 1; k < 3; ++k) {
      const std::string plain = plain_text(meant[i][k]);
      EXPECT_TRUE(rows[i][k] == plain || (rows[i][k] == "'" + plain && !would_run(rows[i][k]))) << rows[i][k];
      const SceneValue* cell = ours[i - 1].find(meant[0][k]);
      const std::size_t first = plain.find_first_not_of(' '), last = plain.find_last_not_of(' ');
      const std::string trimmed = first == std::string::npos ? "" : plain.substr(first, last - first + 1);
      EXPECT_EQ(cell ? cell->text : "", trimmed);
    }
}

TEST(Csv, FoamNamesWithCommasAndQuotesKeepTheColumnsOfNarrowestAndCompare) {
  NarrowestTable table;
  FoamCard foam = *find_foam("pu-22");
  foam.name = "soft, \"grey\"";
  table.spec.foams = {foam};
  table.rows = {{0, 22, 25, 19.5, 15, 24}};
  const Rows narrow = read_by_python(narrowest_csv(table));
  ASSERT_EQ(narrow.size(), 2u);
  EXPECT_EQ(narrow[1],
            (std::vector<std::string>{foam.name, "22.000", "25.000", "19.500", "15.000", "24.000"}));

  Comparison both;
  both.cases.resize(2);
  both.cases[0].name = "=HYPERLINK(\"x\")", both.cases[0].foam = foam.name, both.cases[0].cutter = "6, long";
  both.cases[0].program = "a\"b.nc";
  const Rows compared = read_by_python(compare_csv(both));
  ASSERT_EQ(compared.size(), 3u);
  EXPECT_EQ(compared[1].size(), compared[0].size());
  EXPECT_EQ(compared[2].size(), compared[0].size());
  EXPECT_EQ(std::vector<std::string>(compared[1].begin(), compared[1].begin() + 4),
            (std::vector<std::string>{"'=HYPERLINK(\"x\")", foam.name, "6, long", "a\"b.nc"}));
}
