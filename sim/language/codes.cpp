// The codes of the subset: which group each belongs to, and why the others known by name are refused.
// Groups after NIST RS274/NGC version 3 (NISTIR 6556), from memory.
#include "sim/language/scanner.hpp"

#include <fmt/format.h>

namespace snagmap {
namespace {

constexpr std::array<std::uint8_t, 1000> make_groups() {
  std::array<std::uint8_t, 1000> groups{};
  for (auto& group : groups)
    group = static_cast<std::uint8_t>(GroupG::unknown);
  const auto put = [&](GroupG group, std::initializer_list<int> codes) {
    for (const int code : codes)
      groups[static_cast<std::size_t>(code)] = static_cast<std::uint8_t>(group);
  };
  put(GroupG::one_line, {40, 100, 280, 281, 300, 301, 520, 530, 920, 921, 922, 923});
  put(GroupG::motion, {0, 10, 20, 30, 730, 740, 800, 810, 820, 830, 840, 850, 860, 880, 890});
  put(GroupG::plane, {170, 180, 190});
  put(GroupG::distance, {900, 910});
  put(GroupG::arc_distance, {901, 911});
  put(GroupG::feed_mode, {930, 940, 950});
  put(GroupG::units, {200, 210});
  put(GroupG::compensation, {400, 410, 411, 420, 421});
  put(GroupG::length, {430, 490});
  put(GroupG::cycle_return, {980, 990});
  put(GroupG::system, {540, 550, 560, 570, 580, 590, 591, 592, 593});
  put(GroupG::path, {610, 611, 640});
  put(GroupG::cancelled, {80, 150, 500, 670, 690, 970});
  put(GroupG::refused,
      {50,  51,  52,  53,  60,  70,  120, 130, 160, 171, 181, 191, 310, 330, 331, 382, 383, 384, 385, 431,
       432, 440, 450, 460, 470, 480, 510, 541, 600, 650, 660, 661, 680, 711, 712, 720, 750, 760, 870, 960});
  return groups;
}
constexpr std::array<std::uint8_t, 1000> kGroupOfG = make_groups();

constexpr const char* kWriteOut = "let the post-processor write plain G0, G1, G2 and G3 moves";
constexpr const char* kCompensated =
    "let the CAM program put out the cutter's centre line (compensation in computer)";
constexpr NamedRefusal kRefusedG[] = {
    {50, "splines are not read", kWriteOut},
    {51, "splines are not read", kWriteOut},
    {52, "splines are not read", kWriteOut},
    {53, "splines are not read", kWriteOut},
    {60, "a thread or spline of another control", kWriteOut},
    {70, "lathe diameter mode, and this is a mill", "post the program for a mill"},
    {120, "circular pocket cycles are not in the standard", kWriteOut},
    {130, "circular pocket cycles are not in the standard", kWriteOut},
    {160, "polar coordinates are not read", kWriteOut},
    {171, "planes of further linear axes (U V W) are not read", "use G17, G18 or G19"},
    {181, "planes of further linear axes (U V W) are not read", "use G17, G18 or G19"},
    {191, "planes of further linear axes (U V W) are not read", "use G17, G18 or G19"},
    {310, "a probe or skip move ends where the part is met, which the preview cannot know",
     "set the zero at the machine before the run, and post the program without probing"},
    {330, "spindle-synchronised threading is not simulated", "post the threads as a program of their own"},
    {331, "rigid tapping is not simulated", "use G84, or post the threads as a program of their own"},
    {382, "a probe move ends where the part is met, which the preview cannot know",
     "set the zero at the machine before the run, and post the program without probing"},
    {383, "a probe move ends where the part is met, which the preview cannot know",
     "set the zero at the machine before the run, and post the program without probing"},
    {384, "a probe move ends where the part is met, which the preview cannot know",
     "set the zero at the machine before the run, and post the program without probing"},
    {385, "a probe move ends where the part is met, which the preview cannot know",
     "set the zero at the machine before the run, and post the program without probing"},
    {431, "dynamic tool length is not read", "use G43 with H"},
    {432, "added tool lengths are not read", "use G43 with H"},
    {440, "negative tool length compensation is not in the standard",
     "use G43 with a length of the other sign"},
    {450, "tool offsets of another control's language are not read", kCompensated},
    {460, "tool offsets of another control's language are not read", kCompensated},
    {470, "tool offsets of another control's language are not read", kCompensated},
    {480, "tool offsets of another control's language are not read", kCompensated},
    {510, "scaling is not read", kWriteOut},
    {541, "further work systems (G54.1 P) are not read", "use G54 to G59.3"},
    {600, "single-direction positioning is not read", kWriteOut},
    {650, "macro calls of another control's language are not read", kWriteOut},
    {660, "macro calls of another control's language are not read", kWriteOut},
    {661, "macro calls of another control's language are not read", kWriteOut},
    {680, "rotated coordinates are not read", kWriteOut},
    {711, "a lathe's turning cycle", "post the program for a mill"},
    {712, "a lathe's turning cycle", "post the program for a mill"},
    {720, "a lathe's facing cycle", "post the program for a mill"},
    {750, "a lathe's grooving cycle", "post the program for a mill"},
    {760, "a threading cycle on some controls and a fine boring cycle on others", kWriteOut},
    {870, "back boring turns the spindle to a known angle, which the preview's spindle cannot", kWriteOut},
    {960, "constant surface speed belongs to lathes", "use S in turns a minute"},
};
constexpr NamedRefusal kRefusedM[] = {
    {47, "starts the program over for ever", "end it by M30"},
    {66, "waits for an input of the machine, which the preview cannot know",
     "post the program without waiting for inputs"},
};

} // namespace

GroupG group_of_g(int code) {
  return static_cast<GroupG>(kGroupOfG[static_cast<std::size_t>(code)]);
}

GroupM group_of_m(int code) {
  switch (code) {
  case 0:
  case 1:
  case 2:
  case 30:
  case 60:
    return GroupM::stop;
  case 3:
  case 4:
  case 5:
  case 13:
  case 14:
    return GroupM::spindle;
  case 6:
    return GroupM::change;
  case 7:
  case 8:
  case 9:
    return GroupM::coolant;
  case 48:
  case 49:
  case 50:
  case 51:
  case 52:
  case 53:
    return GroupM::override_switch;
  case 97:
  case 98:
  case 99:
    return GroupM::call;
  case 19:
  case 62:
  case 63:
  case 64:
  case 65:
  case 67:
  case 68:
    return GroupM::user;
  case 47:
  case 66:
    return GroupM::refused;
  case 70:
  case 71:
  case 72:
  case 73:
    return GroupM::modes;
  default:
    return code >= 100 ? GroupM::user : GroupM::unknown;
  }
}

const NamedRefusal* refusal_of_g(int code) {
  for (const NamedRefusal& entry : kRefusedG)
    if (entry.code == code)
      return &entry;
  return nullptr;
}

const NamedRefusal* refusal_of_m(int code) {
  for (const NamedRefusal& entry : kRefusedM)
    if (entry.code == code)
      return &entry;
  return nullptr;
}

std::string g_name(int code) {
  return code % 10 ? fmt::format("G{}.{}", code / 10, code % 10) : fmt::format("G{}", code / 10);
}

} // namespace snagmap
