// Reading one table of a scene: typed, bounded, every fault collected with its place.
#pragma once

#include "models/base/fault.hpp"
#include "models/base/quantity.hpp"
#include "sim/text/assumed.hpp"
#include "sim/text/note.hpp"
#include "sim/text/toml.hpp"

#include <array>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace snagmap {

/// What the whole reading shares: the text for excerpts, and what has been found so far.
struct SceneReading {
  std::string file, folder, text;
  std::vector<Fault> faults;
  std::vector<Assumed> assumed;
  std::vector<Note> notes;

  void fault(const SceneValue& at, std::string what, std::string way_out);
  void fault_at_key(const SceneValue& at, std::string what, std::string way_out);

private:
  void add(int line, int column, std::string what, std::string way_out);
};

/// Faults that are told of one text; one more says that there are others.
constexpr std::size_t kMostFaults = 100;

/// Allowed values of a quantity, in the dimension's own unit (mm, mm/min, kPa ...). Both ends allowed.
struct Range {
  Dimension dimension;
  double low = 0, high = 0;
};

/// In the order of the text, as a reader meets them.
std::vector<Fault> sorted_by_place(std::vector<Fault> faults);

/// The nearest of `names` within two edits (or a third of the word); empty when none is near.
std::string nearest(const std::string& word, const std::vector<std::string>& names);

class SceneTable {
public:
  /// `name` is how messages call it: "[sheet]"; empty for the top level.
  SceneTable(SceneReading& reading, const SceneValue& table, std::string name);

  const SceneValue* find(const std::string& key); ///< also marks the key as known
  bool has(const std::string& key) { return find(key) != nullptr; }
  std::optional<std::string> text(const std::string& key);
  std::optional<bool> flag(const std::string& key);
  std::optional<int> whole(const std::string& key, int low, int high);
  std::optional<double> number(const std::string& key, double low, double high); ///< dimensionless
  std::optional<double> quantity(const std::string& key, Range range);
  /// A list of `least` to `most` quantities.
  std::optional<std::vector<double>> quantities(const std::string& key, Range range, std::size_t least,
                                                std::size_t most);
  /// A list of texts, none of them empty.
  std::optional<std::vector<std::string>> texts(const std::string& key);
  /// Index of the word in `words`.
  std::optional<std::size_t> choice(const std::string& key, const std::vector<std::string>& words);
  /// The value, or `fallback`, noted as assumed with its reason.
  double quantity_or(const std::string& key, Range range, double fallback, const std::string& why);
  int whole_or(const std::string& key, int low, int high, int fallback, const std::string& why);
  bool flag_or(const std::string& key, bool fallback, const std::string& why);
  /// Index of the word; `fallback` is one, too.
  std::size_t choice_or(const std::string& key, const std::vector<std::string>& words, std::size_t fallback,
                        const std::string& why);

  /// Keys that assume nothing when they are left out: no number hangs on them, another key stands for them,
  /// or a note says it where it matters. Every other key that is left out must be assumed or missing.
  void quiet(const std::vector<std::string>& keys);
  void assume(const std::string& key, const std::string& word, const std::string& source);
  void assume(const std::string& key, std::vector<Amount> amounts, AssumedWhy why);
  void fault(const std::string& key, std::string what,
             std::string way_out);                                  ///< at the key's value, or the table
  void missing(const std::string& key, const std::string& way_out); ///< becomes a fault in finish()
  /// To be called last: every key that nothing asked for is a fault with the nearest known name, and so is
  /// every missing key that does not stand there misspelt. A key left out about which nothing was said is
  /// listed as assumed without its value, so that no default is silent.
  void finish();

  SceneReading& reading() { return reading_; }
  const SceneValue& value() const { return table_; }
  const std::string& name() const { return name_; }

private:
  std::optional<double> quantity_of(const SceneValue& value, const std::string& label, Range range);
  void wrong_type(const SceneValue& value, const std::string& label, const std::string& wanted);
  SceneReading& reading_;
  const SceneValue& table_;
  std::string name_;
  std::vector<std::string> known_, said_; ///< keys asked for; those whose absence is dealt with
  std::vector<std::pair<std::string, std::string>> missing_; ///< key, way out
};

/// What an assumption reads whose value nobody stated (none: a test holds it).
constexpr const char* kUnstated = "a standard value";

/// "12 mm": the number in its base unit, as short as it reads back.
std::string with_unit(double value, Dimension dimension);

} // namespace snagmap
