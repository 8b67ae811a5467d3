#define TOML_EXCEPTIONS 0
#define TOML_MAX_NESTED_VALUES 8
#include "sim/scene_toml.hpp"

#include <fmt/format.h>
#include <toml++/toml.h>

#include <filesystem>
#include <fstream>

namespace snagmap {
namespace {

using Kind = SceneValue::Kind;

SceneValue converted(const toml::node& node) {
  SceneValue value;
  value.line = static_cast<int>(node.source().begin.line);
  value.column = static_cast<int>(node.source().begin.column);
  if (const auto* text = node.as_string()) {
    value.kind = Kind::text;
    value.text = text->get();
  } else if (const auto* whole = node.as_integer()) {
    value.kind = Kind::integer;
    value.number = static_cast<double>(whole->get());
  } else if (const auto* real = node.as_floating_point()) {
    value.kind = Kind::real;
    value.number = real->get();
  } else if (const auto* flag = node.as_boolean()) {
    value.kind = Kind::boolean;
    value.flag = flag->get();
  } else if (const auto* list = node.as_array()) {
    value.kind = Kind::list;
    for (const toml::node& item : *list) value.items.push_back(converted(item));
  } else if (const auto* table = node.as_table()) {
    value.kind = Kind::table;
    for (const auto& [key, item] : *table) {
      value.items.push_back(converted(item));
      value.items.back().key = key.str();
      value.items.back().key_line = static_cast<int>(key.source().begin.line);
      value.items.back().key_column = static_cast<int>(key.source().begin.column);
    }
  }
  return value;
}

/// What the TOML library cannot be trusted with, found before it sees the text.
std::vector<Fault> hostile(const std::string& text, const std::string& name) {
  int line = 1;
  std::size_t begin = 0;
  for (std::size_t i = 0; i <= text.size(); ++i) {
    if (i < text.size() && text[i] == '\0')
      return {{name, line, static_cast<int>(i - begin) + 1, "NUL byte", "a scene is plain text in UTF-8", ""}};
    if (i < text.size() && text[i] != '\n') continue;
    if (i - begin > kLongestSceneLine)
      return {{name, line, static_cast<int>(kLongestSceneLine) + 1,
               fmt::format("line of {} bytes; at most {} are read", i - begin, kLongestSceneLine),
               "break the line, a list may run over several", ""}};
    begin = i + 1;
    ++line;
  }
  return {};
}

/// The library's words for a person who writes scenes: no library names in them.
std::string plain(std::string words) {
  if (words.find("exceeded maximum nested value depth") != std::string::npos)
    return "brackets nested deeper than 8";
  // "Error while parsing X: Y": Y says it.
  if (const std::size_t colon = words.find(": "); words.rfind("Error while", 0) == 0 && colon != std::string::npos)
    words.erase(0, colon + 2);
  return "not TOML: " + words;
}

} // namespace

const SceneValue* SceneValue::find(const std::string& name) const {
  for (const SceneValue& item : items)
    if (item.key == name) return &item;
  return nullptr;
}

std::string shown(const SceneValue& value) {
  switch (value.kind) {
  case Kind::text: return value.text.size() <= 60 ? '"' + value.text + '"' : '"' + value.text.substr(0, 57) + "...\"";
  case Kind::integer:
  case Kind::real: return fmt::format("{}", value.number);
  case Kind::boolean: return value.flag ? "true" : "false";
  case Kind::list: return fmt::format("a list of {}", value.items.size());
  case Kind::table: return "a table";
  case Kind::other: break;
  }
  return "a date or time";
}

std::string scene_line(const std::string& text, int line) {
  std::size_t begin = 0;
  for (int i = 1; i < line; ++i) {
    begin = text.find('\n', begin);
    if (begin == std::string::npos) return "";
    ++begin;
  }
  std::string found = text.substr(begin, text.find('\n', begin) - begin);
  if (!found.empty() && found.back() == '\r') found.pop_back();
  return found.substr(0, 110);
}

Outcome<std::string> read_scene_text(const std::string& file) {
  std::error_code error;
  const auto status = std::filesystem::status(file, error);
  if (!std::filesystem::exists(status)) return Fault{file, 0, 0, "no such file", "give the path of a scene file", ""};
  if (std::filesystem::is_directory(status))
    return Fault{file, 0, 0, "is a folder", "give the path of the scene file in it", ""};
  std::ifstream in(file, std::ios::binary);
  std::string text(kLongestScene + 1, '\0');
  in.read(text.data(), static_cast<std::streamsize>(text.size()));
  if (in.bad() || !in.is_open()) return Fault{file, 0, 0, "cannot be read", "check its permissions", ""};
  text.resize(static_cast<std::size_t>(in.gcount()));
  if (text.size() > kLongestScene)
    return Fault{file, 0, 0, "larger than 4 MB, the most that is read of a scene",
                 "is this the program? A scene names it: program = \"part.nc\"", ""};
  return text;
}

Outcome<SceneValue> parse_scene_text(const std::string& text, const std::string& name) {
  if (auto faults = hostile(text, name); !faults.empty()) return faults;
  const toml::parse_result result = toml::parse(std::string_view(text), std::string_view(name));
  if (result) return converted(result.table());
  const auto place = result.error().source().begin;
  const int line = static_cast<int>(place.line), column = static_cast<int>(place.column);
  const std::string words = plain(std::string(result.error().description()));
  // A broken byte must not reach the terminal: show the line only when it is the syntax that is wrong.
  const bool utf8 = words.find("utf-8") != std::string::npos;
  return Fault{name, line, column, utf8 ? "not valid UTF-8" : words,
               utf8 ? "save the scene as UTF-8"
                    : "a scene is lines of key = value; a quantity is text with its unit: \"12 mm\"",
               utf8 ? "" : scene_line(text, line)};
}

} // namespace snagmap
