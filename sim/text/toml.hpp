// Text of a scene as a tree of values with their places; the TOML library stays behind scene_toml.cpp.
#pragma once

#include "models/base/fault.hpp"

#include <string>
#include <vector>

namespace snagmap {

struct SceneValue {
  enum class Kind { text, integer, real, boolean, list, table, other };
  Kind kind = Kind::other;
  std::string key; ///< name under which it stands in a table; empty in a list
  int key_line = 0, key_column = 0;
  int line = 0, column = 0; ///< of the value, 1-based
  std::string text;
  double number = 0; ///< of integer and real
  bool flag = false;
  std::vector<SceneValue> items; ///< of a list in order; of a table in the order of the names

  const SceneValue* find(const std::string& name) const;
};

/// The value as a person would write it, for messages: text in quotes, "a list", "a table".
std::string shown(const SceneValue& value);

constexpr std::size_t kLongestScene = 4u << 20; ///< bytes
/// Bounds the depth of dotted keys, which the TOML library does not bound (it overflows its stack at 1e5).
constexpr std::size_t kLongestSceneLine = 1000;

/// Reads a file of at most kLongestScene bytes. Fault when it cannot be read or is larger.
Outcome<std::string> read_scene_text(const std::string& file);
/// Parses TOML. Faults: NUL bytes, invalid UTF-8, overlong lines, nesting over 8, any syntax error.
Outcome<SceneValue> parse_scene_text(const std::string& text, const std::string& name);
/// Line `line` (1-based) of the text, cut at 110 characters; empty when there is none.
std::string scene_line(const std::string& text, int line);

} // namespace snagmap
