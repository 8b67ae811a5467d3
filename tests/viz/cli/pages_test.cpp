// Manual pages and shell completions say what --help says, and nothing is left out of them.
#include "tests/viz/real_program.hpp"

#include <algorithm>
#include <regex>
#include <set>

using namespace snagmap::testing;

namespace {

class Pages : public RealProgram {
protected:
  void SetUp() override {
    RealProgram::SetUp();
    ASSERT_EQ(std::system("'" SNAGMAP_ROOT "/scripts/package/describe' '" SNAGMAP_BINARY "' pages"), 0);
  }
  /// What a line of --help's lists begins with: options with and without a short name, and commands.
  static std::set<std::string> named(const std::string& help, const std::string& pattern) {
    std::set<std::string> names;
    const std::regex line("(^|\n)  (-[a-zA-Z],)?(" + pattern + ")");
    for (std::sregex_iterator at(help.begin(), help.end(), line), end; at != end; ++at)
      names.insert((*at)[3]);
    return names;
  }
  std::string without(std::string text, char c) {
    text.erase(std::remove(text.begin(), text.end(), c), text.end());
    return text;
  }
};

} // namespace

TEST_F(Pages, NameEveryOptionOfTheHelp) {
  const std::string help = run("--help").out;
  const std::string list = help.substr(help.find("Subcommands:"));
  std::set<std::string> commands = named(list, "[a-z]+");
  ASSERT_GE(commands.size(), 10u);
  commands.insert("");
  const std::string bash = slurp("pages/snagmap.bash"), zsh = slurp("pages/_snagmap"),
                    fish = slurp("pages/snagmap.fish");
  for (const std::string& command : commands) {
    const std::string page =
        without(slurp("pages/snagmap" + (command.empty() ? "" : "-" + command) + ".1"), '\\');
    EXPECT_NE(bash.find(command), std::string::npos) << command;
    const auto options = named(run(command + " --help").out, "--[a-z-]+");
    EXPECT_FALSE(options.empty()) << command;
    for (const std::string& option : options) {
      EXPECT_NE(page.find("fB" + option + "fR"), std::string::npos) << command << " " << option;
      EXPECT_NE(bash.find(" " + option), std::string::npos) << command << " " << option;
      EXPECT_NE(zsh.find("'" + option + "["), std::string::npos) << command << " " << option;
      EXPECT_NE(fish.find("-l " + option.substr(2) + " "), std::string::npos) << command << " " << option;
    }
  }
}

TEST_F(Pages, CompleteCommandsOptionsAndChoicesInBash) {
  const auto completed = [&](const std::string& words, int count) {
    const std::string line = "bash -c '. pages/snagmap.bash; COMP_WORDS=(" + words +
                             "); COMP_CWORD=" + std::to_string(count) +
                             "; _snagmap; echo ${COMPREPLY[@]}' >completed.txt";
    EXPECT_EQ(std::system(line.c_str()), 0);
    return slurp("completed.txt");
  };
  EXPECT_EQ(completed("snagmap narr", 1), "narrowest\n");
  EXPECT_EQ(completed("snagmap preview --al", 2), "--alarm\n");
  EXPECT_EQ(completed("snagmap preview --alarm s", 3), "snags\n");
  EXPECT_EQ(completed("snagmap cards --al", 2), "\n"); // an option of another command
}
