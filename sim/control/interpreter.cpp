#include "sim/control/interpreter.hpp"

#include "models/base/constants.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <memory>

namespace snagmap {
namespace {

constexpr std::uint32_t kOtherAxes =
    letter_bit('A') | letter_bit('B') | letter_bit('C') | letter_bit('U') | letter_bit('V') | letter_bit('W');
constexpr int kFirstSystem = 5221, kSystemStep = 20; // parameters of the work origins
constexpr double kToldArc_mm = 0.001;                // what no machine moves by is no news
constexpr double kTightArc_mm = 0.002;               // NIST RS274/NGC version 3, from memory

bool takes_axes(int one_line_code) {
  return one_line_code == 100 || one_line_code == 280 || one_line_code == 300 || one_line_code == 520 ||
         one_line_code == 920;
}

} // namespace

void Remarks::once(note::Remark remark) {
  if (std::none_of(all_.begin(), all_.end(), [&](const note::Remark& r) { return r.about == remark.about; }))
    add(std::move(remark));
}
void Remarks::once_of_words(note::Remark remark) {
  if (std::none_of(all_.begin(), all_.end(),
                   [&](const note::Remark& r) { return r.about == remark.about && r.words == remark.words; }))
    add(std::move(remark));
}

Interpreter::Interpreter(const ProgramOptions& options)
    : options_(options), parameters_(std::make_unique<Parameters>()),
      most_moves_(options.path_limit_bytes / sizeof(Move)) {
  parameters_->live = this;
  lengths_mm_ = options.tool_length_mm;
  at_.at = {options.start_mm.x, options.start_mm.y, options.start_mm.z};
  start_ = at_;
  placed_ = options.start_assumed ? 0 : 7;
  tip_ = options.start_mm;
  machine_zero_ = options.machine_zero_mm.value_or(options.start_mm);
  auto& value = parameters_->value;
  const auto set = [&](int first, Vec3 place) { // machine coordinates
    value[first] = place.x - machine_zero_.x;
    value[first + 1] = place.y - machine_zero_.y;
    value[first + 2] = place.z - machine_zero_.z;
  };
  const Vec3 home = options.home_mm.value_or(options.start_mm);
  set(5161, home);
  set(5181, options.second_home_mm.value_or(home));
  known_systems_ = 1u << 1;
  for (int system = 1; system <= 9; ++system) {
    const auto given = options.work_origin_mm.find(system);
    const bool known = given != options.work_origin_mm.end();
    if (known)
      known_systems_ |= 1u << system;
    set(kFirstSystem + kSystemStep * (system - 1), known ? given->second : Vec3{});
  }
  select_system(1, 1);
}

std::optional<double> Interpreter::numbered(int index) const {
  if (index == 5400)
    return mounted_.value_or(0);
  if (index >= 5420 && index <= 5422)
    return (at_[index - 5420] - shift_[index - 5420]) / scale_;
  if (index >= 5423 && index <= 5428)
    return 0; // further axes stand still
  return {};
}

/// LinuxCNC, G-code overview, Predefined Named Parameters.
std::optional<double> Interpreter::named(const std::string& name) const {
  const auto place = [&](int axis) { return (at_[axis] - shift_[axis]) / scale_; };
  const std::pair<const char*, double> known[] = {
      {"_x", place(X)},
      {"_y", place(Y)},
      {"_z", place(Z)},
      {"_a", 0},
      {"_b", 0},
      {"_c", 0},
      {"_u", 0},
      {"_v", 0},
      {"_w", 0},
      {"_metric", scale_ == 1},
      {"_imperial", scale_ != 1},
      {"_absolute", !incremental_},
      {"_incremental", incremental_},
      {"_inverse_time", inverse_time_},
      {"_units_per_minute", !inverse_time_ && !feed_per_turn_},
      {"_units_per_rev", feed_per_turn_},
      {"_feed", feed_mm_min_ / scale_},
      {"_rpm", rpm_},
      {"_spindle_on", spindle_on_},
      {"_current_tool", mounted_.value_or(0)},
      {"_selected_tool", picked_.value_or(0)},
      {"_plane", plane_ == ArcPlane::xy   ? 170
                 : plane_ == ArcPlane::zx ? 180
                                          : 190},
      {"_coord_system", system_ <= 6 ? 530 + 10 * system_ : 584 + system_},
      {"_motion_mode", motion_.value_or(-1)},
      {"_call_level", static_cast<double>(parameters_->local.size()) - 1},
  };
  for (const auto& [own, value] : known)
    if (name == own)
      return value;
  return {};
}

void Interpreter::run(const Block& block, int line) {
  line_ = line;
  used_ = letter_bit('F') | letter_bit('S') | letter_bit('T');
  if (block.present & kOtherAxes)
    for (const char letter : {'A', 'B', 'C', 'U', 'V', 'W'}) {
      if (block.has(letter) && block[letter] == 0) {
        used_ |= letter_bit(letter);
        remark(RemarkKind::axis_at_zero, {std::string(1, letter)});
      } else if (block.has(letter)) {
        throw Refusal{block.column_of(letter),
                      fmt::format("{} word: rotary and further linear axes are not read", letter),
                      "post the program for a 3-axis mill (X Y Z)"};
      }
    }
  const bool more_codes = (block.groups & ~(1u << static_cast<int>(GroupG::motion))) != 0;
  if (more_codes || block.m_count > 0 ||
      (block.present &
       ~(kAxisLetters | letter_bit('F') | letter_bit('I') | letter_bit('J') | letter_bit('K'))))
    switches(block);
  else if (block.has('F'))
    take_feed(block);
  if (more_codes)
    modes(block);
  const int one_line = block.has(GroupG::one_line) ? block[GroupG::one_line].code : -1;
  if (compensation_.on())
    refuse_under_compensation(block);
  const bool taken = takes_axes(one_line) || (one_line == 40 && dwells_by_x(block));
  if (block.ends_cycle)
    remark(RemarkKind::cycle_end_beside_motion, {g_name(block[GroupG::motion].code)});
  const bool two_wants = taken && block.has(GroupG::motion) && block[GroupG::motion].code != 800 &&
                         ((block.present | block.bare) & kAxisLetters);
  if (two_wants && (one_line == 280 || one_line == 300) && block[GroupG::motion].code <= 10 &&
      options_.dialect == Dialect::either)
    remark(RemarkKind::motion_beside_home, {g_name(block[GroupG::motion].code), g_name(one_line)});
  else if (two_wants)
    throw Refusal{block[GroupG::one_line].column,
                  fmt::format("{} and {} on one line: both want the axis words",
                              g_name(block[GroupG::motion].code), g_name(one_line)),
                  "write them on two lines"};
  if (one_line >= 0 && one_line != 40 && one_line != 530)
    one_line_code(block, one_line);
  motion(block, taken);
  refuse_unused(block);
  if (block.m_count > 0)
    stops(block);
}

void Interpreter::recover(const Block& block) {
  failed_ = true;
  compensation_.forget();
  path_.moves.clear();
  path_.moves.shrink_to_fit();
  if (block.has(GroupG::motion)) {
    motion_ = block[GroupG::motion].code;
    if (motion_ <= 30)
      plain_motion_ = motion_;
  }
  if (block.has('T') && block['T'] >= 0 && block['T'] < 1e6)
    picked_ = static_cast<int>(block['T']);
  if (block.has('F') && block['F'] > 0)
    feed_known_ = true, feed_mm_min_ = 1; // for no complaint that follows from this
  // The line may have moved any axis, so no later arc can be checked against this place until it is written
  // anew.
  lost_ = 7;
  for (int i = 0; i < block.m_count; ++i)
    if (block.m[i].code == 2 || block.m[i].code == 30)
      ended_ = true;
}

/// A word that nothing used is no comment: it may be half of a move.
void Interpreter::refuse_unused(const Block& block) const {
  const std::uint32_t left = block.present & ~used_;
  if (left == 0)
    return;
  int first = 0;
  char letter = 'A';
  for (char c = 'A'; c <= Block::kAngle; ++c)
    if ((left & letter_bit(c)) && (first == 0 || block.column_of(c) < first)) {
      first = block.column_of(c);
      letter = c;
    }
  if (letter == 'E')
    throw Refusal{first, "E word: it feeds the extruder of a 3D printer, and this is a mill",
                  "post the program for a mill"};
  if (letter >= Block::kRadius)
    throw Refusal{first,
                  fmt::format("{} word without a move to use it", letter == Block::kRadius ? '@' : '^'),
                  "polar words belong to G0, G1 and cycles"};
  throw Refusal{first, fmt::format("{} word with nothing on its line to use it", letter),
                "write the code it belongs to on the same line"};
}

void Interpreter::stops(const Block& block) {
  for (int i = 0; i < block.m_count; ++i) {
    const int code = block.m[i].code;
    if (code == 0 || code == 1 || code == 60)
      stand(MoveKind::stop, 0);
    if (code == 1 || code == 60)
      restore(code == 1 ? RemarkKind::optional_stop : RemarkKind::pallet_change, {fmt::format("M{}", code)});
    if (code == 2 || code == 30)
      ended_ = true;
  }
}

Path Interpreter::finish() {
  if (compensation_.on()) {
    certain_.clear();
    compensation_.end(certain_);
    for (const Move& own : certain_)
      push_as_it_is(own);
  }
  const Vec3 s{start_[X], start_[Y], start_[Z]};
  path_.start_mm = s;
  remarks_.add({RemarkKind::straight_rapids, 0, {}, {}, {}});
  remarks_.add({RemarkKind::start_assumed, 0, {}, s, {}});
  if (!units_given_)
    remarks_.add({RemarkKind::units_assumed, 0, {}, {}, {}});
  if (!changed_ever_ && !picked_)
    remarks_.add({RemarkKind::first_cutter, 0, {}, {}, {}});
  else if (!changed_ever_)
    remarks_.add({RemarkKind::tool_not_changed, picked_line_, {fmt::format("T{}", *picked_)}, {}, {}});
  if (worst_mismatch_mm_ >= kToldArc_mm)
    remarks_.add({RemarkKind::worst_arc, worst_mismatch_line_, {}, {}, worst_mismatch_mm_});
  if (worst_mismatch_mm_ > kTightArc_mm)
    remarks_.add({path_.inch ? RemarkKind::rounded_arcs_inch : RemarkKind::rounded_arcs,
                  0,
                  {std::to_string(mismatched_arcs_), std::to_string(decimals_)},
                  {},
                  kTightArc_mm});
  path_.notes = remarks_.take();
  path_.words.restore = restore_.take();
  // Room left by growth or by an estimate that was too high: the path takes what its moves need.
  if (path_.moves.capacity() > path_.moves.size() + path_.moves.size() / 16)
    path_.moves.shrink_to_fit();
  return std::move(path_);
}

} // namespace snagmap
