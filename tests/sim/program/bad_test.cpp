// Bad programs, each with its exact message. The table is tests/bad/programs.txt: '@' begins a case and names
// it, '!' sets an option, '>' lines are the faults as the user sees them, all others are the program (\0, \a,
// \t stand for those bytes). M30 is added unless the name begins with "raw:".
#include "sim/program/program.hpp"

#include <gtest/gtest.h>

#include <cstdlib>
#include <fstream>
#include <iostream>
#include <set>

using namespace snagmap;

namespace {

struct BadCase {
  std::string name, program, expected;
  ProgramOptions options;
};

std::string unescaped(const std::string& line) {
  std::string text;
  for (std::size_t i = 0; i < line.size(); ++i) {
    if (line[i] != '\\' || i + 1 == line.size()) {
      text += line[i];
      continue;
    }
    const char c = line[++i];
    text += c == '0' ? '\0' : c == 'a' ? '\a' : c == 't' ? '\t' : c;
  }
  return text;
}

std::vector<BadCase> bad_cases() {
  std::vector<BadCase> cases;
  std::ifstream in(SNAGMAP_ROOT "/tests/bad/programs.txt");
  std::string line;
  while (std::getline(in, line)) {
    if (line.rfind("@ ", 0) == 0) {
      cases.emplace_back();
      cases.back().name = line.substr(2);
      cases.back().options.start_mm = {0, 0, 20};
    } else if (line == "! tools") {
      cases.back().options.tool_index = {{1, 0}, {2, 1}};
    } else if (line == "! limit 2") {
      cases.back().options.fault_limit = 2;
    } else if (line == "! linuxcnc") {
      cases.back().options.dialect = Dialect::linuxcnc;
    } else if (line == "! grbl") {
      cases.back().options.dialect = Dialect::grbl;
    } else if (line == "! radius 3") {
      cases.back().options.cutter_radius_mm = {3};
    } else if (line.rfind("> ", 0) == 0) {
      cases.back().expected += line.substr(2) + "\n";
    } else if (!cases.empty()) {
      cases.back().program += unescaped(line) + "\n";
    }
  }
  for (BadCase& bad : cases)
    if (bad.name.rfind("raw:", 0) != 0)
      bad.program += "M30\n";
  return cases;
}

std::string all_faults(const BadCase& bad) {
  const auto path = parse_program(bad.program, "bad.nc", bad.options);
  if (path)
    return "(accepted)\n";
  std::string text;
  for (const Fault& fault : path.faults())
    text += to_text(fault) + "\n";
  return text;
}

} // namespace

TEST(BadPrograms, EachIsRefusedWithItsExactMessage) {
  const auto cases = bad_cases();
  EXPECT_GE(cases.size(), 150u);
  std::set<std::string> names;
  for (const BadCase& bad : cases) {
    EXPECT_TRUE(names.insert(bad.name).second) << "two cases named " << bad.name;
    EXPECT_EQ(all_faults(bad), bad.expected) << bad.name;
  }
}

TEST(BadPrograms, EveryMessageHasAWayOutAndACaretUnderTheLine) {
  for (const BadCase& bad : bad_cases()) {
    const auto path = parse_program(bad.program, "bad.nc", bad.options);
    ASSERT_FALSE(path) << bad.name;
    for (const Fault& fault : path.faults()) {
      EXPECT_FALSE(fault.way_out.empty()) << bad.name;
      EXPECT_LE(fault.column, static_cast<int>(fault.excerpt.size()) + 1) << bad.name;
      if (!fault.excerpt.empty()) {
        EXPECT_GE(fault.column, 1) << bad.name;
      }
    }
  }
}
