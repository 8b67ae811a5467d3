#include "sim/text/table.hpp"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <tuple>

namespace snagmap {
using Kind = SceneValue::Kind;

std::string with_unit(double value, Dimension dimension) {
  if (dimension == Dimension::share)
    return fmt::format("{} %", value * 100);
  return fmt::format("{} {}", value, base_unit(dimension));
}

std::string nearest(const std::string& word, const std::vector<std::string>& names) {
  const int allowed = std::max(2, static_cast<int>(word.size()) / 3);
  std::string best;
  int fewest = allowed + 1;
  for (const std::string& name : names) {
    const int edits = edit_distance(word, name);
    // A word changed throughout is no misspelling of a short name.
    if (edits < fewest && edits < static_cast<int>(std::max(word.size(), name.size())))
      best = name, fewest = edits;
  }
  return best;
}

std::vector<Fault> sorted_by_place(std::vector<Fault> faults) {
  std::stable_sort(faults.begin(), faults.end(), [](const Fault& a, const Fault& b) {
    return std::tie(a.line, a.column) < std::tie(b.line, b.column);
  });
  return faults;
}

void SceneReading::add(int line, int column, std::string what, std::string way_out) {
  if (faults.size() < kMostFaults)
    faults.push_back(Fault(std::move(what), std::move(way_out), file, line, column, scene_line(text, line)));
  else if (faults.size() == kMostFaults)
    faults.push_back(Fault(fmt::format("more than {} faults: the others are not told", kMostFaults),
                           "is this the right file?", file));
}

void SceneReading::fault(const SceneValue& at, std::string what, std::string way_out) {
  add(at.line, at.column, std::move(what), std::move(way_out));
}

void SceneReading::fault_at_key(const SceneValue& at, std::string what, std::string way_out) {
  add(at.key_line, at.key_column, std::move(what), std::move(way_out));
}

SceneTable::SceneTable(SceneReading& reading, const SceneValue& table, std::string name)
    : reading_(reading), table_(table), name_(std::move(name)) {}

const SceneValue* SceneTable::find(const std::string& key) {
  if (std::find(known_.begin(), known_.end(), key) == known_.end())
    known_.push_back(key);
  return table_.find(key);
}

void SceneTable::wrong_type(const SceneValue& value, const std::string& label, const std::string& wanted) {
  reading_.fault(value, fmt::format("{} is {}; {} belongs here", label, shown(value), wanted), "");
}

std::optional<std::string> SceneTable::text(const std::string& key) {
  const SceneValue* value = find(key);
  if (!value)
    return {};
  if (value->kind == Kind::text && !value->text.empty())
    return value->text;
  wrong_type(*value, key, "text in quotes");
  return {};
}

std::optional<bool> SceneTable::flag(const std::string& key) {
  const SceneValue* value = find(key);
  if (!value)
    return {};
  if (value->kind == Kind::boolean)
    return value->flag;
  wrong_type(*value, key, "true or false");
  return {};
}

std::optional<int> SceneTable::whole(const std::string& key, int low, int high) {
  const SceneValue* value = find(key);
  if (!value)
    return {};
  if (value->kind != Kind::integer) {
    wrong_type(*value, key, fmt::format("a whole number from {} to {}", low, high));
    return {};
  }
  if (value->number >= low && value->number <= high)
    return static_cast<int>(value->number);
  reading_.fault(*value, fmt::format("{} = {} is out of range", key, shown(*value)),
                 fmt::format("allowed: {} to {}", low, high));
  return {};
}

std::optional<double> SceneTable::number(const std::string& key, double low, double high) {
  const SceneValue* value = find(key);
  if (!value)
    return {};
  if (value->kind != Kind::integer && value->kind != Kind::real) {
    wrong_type(*value, key, fmt::format("a number without unit from {} to {}", low, high));
    return {};
  }
  if (value->number >= low && value->number <= high)
    return value->number;
  reading_.fault(*value, fmt::format("{} = {} is out of range", key, shown(*value)),
                 fmt::format("allowed: {} to {}", low, high));
  return {};
}

std::optional<double> SceneTable::quantity_of(const SceneValue& value, const std::string& label,
                                              Range range) {
  if (value.kind == Kind::integer || value.kind == Kind::real) {
    reading_.fault(value, fmt::format("{} = {}: a bare number has no unit", label, shown(value)),
                   fmt::format("write it as text with its unit: \"{} {}\"", shown(value),
                               range.dimension == Dimension::share ? "%" : base_unit(range.dimension)));
    return {};
  }
  if (value.kind != Kind::text) {
    wrong_type(value, label, fmt::format("{} as text with its unit", to_text(range.dimension)));
    return {};
  }
  const Outcome<double> parsed = parse_quantity(value.text, range.dimension);
  if (!parsed) {
    const Fault& fault = parsed.faults().front();
    reading_.fault(value, label + ": " + fault.what, fault.way_out);
    return {};
  }
  if (*parsed >= range.low && *parsed <= range.high)
    return *parsed;
  reading_.fault(value, fmt::format("{} = {} is out of range", label, shown(value)),
                 fmt::format("allowed: {} to {}", with_unit(range.low, range.dimension),
                             with_unit(range.high, range.dimension)));
  return {};
}

std::optional<double> SceneTable::quantity(const std::string& key, Range range) {
  const SceneValue* value = find(key);
  return value ? quantity_of(*value, key, range) : std::nullopt;
}

std::optional<std::vector<double>> SceneTable::quantities(const std::string& key, Range range,
                                                          std::size_t least, std::size_t most) {
  const SceneValue* value = find(key);
  if (!value)
    return {};
  const std::string count = least == most ? fmt::format("{}", least) : fmt::format("{} or {}", least, most);
  if (value->kind != Kind::list || value->items.size() < least || value->items.size() > most) {
    wrong_type(*value, key,
               fmt::format("a list of {}, each {} with its unit,", count, to_text(range.dimension)));
    return {};
  }
  std::vector<double> numbers;
  for (std::size_t i = 0; i < value->items.size(); ++i)
    if (auto number = quantity_of(value->items[i], fmt::format("{}, item {}", key, i + 1), range))
      numbers.push_back(*number);
  if (numbers.size() != value->items.size())
    return {};
  return numbers;
}

std::optional<std::vector<std::string>> SceneTable::texts(const std::string& key) {
  const SceneValue* value = find(key);
  if (!value)
    return {};
  std::vector<std::string> words;
  if (value->kind == Kind::list)
    for (const SceneValue& item : value->items)
      if (item.kind == Kind::text && !item.text.empty())
        words.push_back(item.text);
  if (value->kind == Kind::list && words.size() == value->items.size())
    return words;
  wrong_type(*value, key, "a list of texts in quotes");
  return {};
}

std::optional<std::size_t> SceneTable::choice(const std::string& key, const std::vector<std::string>& words) {
  const SceneValue* value = find(key);
  if (!value)
    return {};
  if (value->kind == Kind::text) {
    const auto found = std::find(words.begin(), words.end(), value->text);
    if (found != words.end())
      return static_cast<std::size_t>(found - words.begin());
  }
  reading_.fault(*value, fmt::format("{} = {} is not known", key, shown(*value)),
                 fmt::format("one of: \"{}\"", fmt::join(words, "\", \"")));
  return {};
}

double SceneTable::quantity_or(const std::string& key, Range range, double fallback, const std::string& why) {
  if (has(key))
    return quantity(key, range).value_or(fallback);
  assume(key, {{fallback, range.dimension}}, why::Source{why});
  return fallback;
}

int SceneTable::whole_or(const std::string& key, int low, int high, int fallback, const std::string& why) {
  if (has(key))
    return whole(key, low, high).value_or(fallback);
  assume(key, fmt::format("{}", fallback), why);
  return fallback;
}

bool SceneTable::flag_or(const std::string& key, bool fallback, const std::string& why) {
  if (has(key))
    return flag(key).value_or(fallback);
  assume(key, fallback ? "true" : "false", why);
  return fallback;
}

std::size_t SceneTable::choice_or(const std::string& key, const std::vector<std::string>& words,
                                  std::size_t fallback, const std::string& why) {
  if (has(key))
    return choice(key, words).value_or(fallback);
  assume(key, '"' + words[fallback] + '"', why);
  return fallback;
}

void SceneTable::quiet(const std::vector<std::string>& keys) {
  said_.insert(said_.end(), keys.begin(), keys.end());
}

void SceneTable::assume(const std::string& key, const std::string& word, const std::string& source) {
  said_.push_back(key);
  reading_.assumed.push_back({"", name_, key, word, {}, why::Source{source}});
}

void SceneTable::assume(const std::string& key, std::vector<Amount> amounts, AssumedWhy why) {
  said_.push_back(key);
  reading_.assumed.push_back({"", name_, key, "", std::move(amounts), std::move(why)});
}

void SceneTable::fault(const std::string& key, std::string what, std::string way_out) {
  const SceneValue* value = find(key);
  reading_.fault(value ? *value : table_, std::move(what), std::move(way_out));
}

void SceneTable::missing(const std::string& key, const std::string& way_out) {
  missing_.push_back({key, way_out});
  said_.push_back(key);
}

void SceneTable::finish() {
  std::vector<std::string> meant; // missing keys that stand there misspelt: one fault says it
  const std::string where = name_.empty() ? "" : " in " + name_;
  for (const SceneValue& item : table_.items) {
    if (std::find(known_.begin(), known_.end(), item.key) != known_.end())
      continue;
    const std::string near = nearest(item.key, known_);
    meant.push_back(near);
    std::vector<std::string> sorted = known_;
    std::sort(sorted.begin(), sorted.end());
    reading_.fault_at_key(item, fmt::format("unknown key \"{}\"{}", item.key, where),
                          near.empty() ? fmt::format("known here: {}", fmt::join(sorted, ", "))
                                       : fmt::format("did you mean \"{}\"?", near));
  }
  for (const auto& [key, way_out] : missing_) {
    if (std::find(meant.begin(), meant.end(), key) != meant.end())
      continue;
    // The top level has no line of its own.
    if (name_.empty())
      reading_.faults.push_back(Fault(key + " is missing", way_out, reading_.file));
    else
      reading_.fault(table_, key + " is missing" + where, way_out);
  }
  for (const std::string& key : known_)
    if (std::none_of(table_.items.begin(), table_.items.end(),
                     [&](const SceneValue& item) { return item.key == key; }) &&
        std::find(said_.begin(), said_.end(), key) == said_.end())
      assume(key, kUnstated, "not given");
}

} // namespace snagmap
