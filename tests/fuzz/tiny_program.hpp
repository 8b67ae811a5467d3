// Small jobs as people cut them, drawn at random: holes in rows, pockets beside pockets, lanes, rings and
// slopes, on the round numbers where walls meet columns and each other.
#pragma once

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdio>
#include <random>
#include <string>

namespace snagmap {

using TinyRandom = std::minstd_rand;

inline double tiny_value(TinyRandom& random) {
  static constexpr std::array<double, 24> kRound = {0,  0.1,  0.5,  1,  2,     3,    3.175, 5,
                                                    6,  6.35, 8,    10, 12,    12.7, 15,    19.05,
                                                    20, 25,   25.4, 30, 31.75, 32,   40,    50};
  const double value = kRound[random() % kRound.size()];
  return random() % 3 == 0 ? value + 1e-3 * static_cast<double>(random() % 2000) : value;
}

inline std::string tiny_word(char letter, double value) {
  char text[40];
  std::snprintf(text, sizeof text, "%c%.4g", letter, value);
  return text;
}

/// One feature as a few blocks, beginning and ending above the sheet.
inline std::string tiny_feature(TinyRandom& random) {
  const auto at = [&](char letter) { return tiny_word(letter, tiny_value(random)); };
  const double deep = -(0.5 + tiny_value(random)), wide = 0.1 + tiny_value(random),
               high = 0.1 + tiny_value(random);
  double x = tiny_value(random), y = tiny_value(random);
  const std::string down = tiny_word('Z', deep) + " F600\n";
  const auto place = [&](double px, double py) { return tiny_word('X', px) + " " + tiny_word('Y', py); };
  std::string text = "G0 Z5\n";
  switch (random() % 7) {
  case 0: { // holes
    text += random() % 2 ? "G83 Q" + std::to_string(1 + random() % 9) + " " : "G81 ";
    text += "R1 " + tiny_word('Z', deep) + " F600 " + place(x, y) + "\n";
    for (unsigned n = random() % 5; n > 0; --n)
      text += random() % 4 ? place(x += wide, y) + "\n" : place(x, y += high) + "\n";
    return text + "G80\n";
  }
  case 1: // a frame, or a pocket's rim
    text += "G0 " + place(x, y) + "\nG1 " + down + "G1 " + tiny_word('X', x + wide) + " F3000\n" +
            tiny_word('Y', y + high) + "\n" + tiny_word('X', x) + "\n" + tiny_word('Y', y) + "\n";
    return text + "G0 Z5\n";
  case 2: { // lanes
    text += "G0 " + place(x, y) + "\nG1 " + down + "F3000\n";
    const double step = 0.1 + tiny_value(random);
    for (unsigned n = 1 + random() % 6; n > 0; --n) {
      text += tiny_word('X', n % 2 ? x + wide : x) + "\n";
      text += tiny_word('Y', y += step) + "\n";
    }
    return text + "G0 Z5\n";
  }
  case 3: { // a ring or a helix
    text += "G0 " + place(x, y) + "\nG1 " + (random() % 2 ? tiny_word('Z', 0) + " F600\n" : down);
    text += random() % 2 ? "G2 " : "G3 ";
    text += place(x, y) + " " + tiny_word('Z', deep) + " " + tiny_word('I', wide) + " J0 F2000\n";
    return text + "G0 Z5\n";
  }
  case 4: // a slope
    return text + "G0 " + place(x, y) + "\nG1 Z0 F900\nG1 " + place(x + wide, y + high) + " " + down +
           "G0 Z5\n";
  case 5: // a rapid, perhaps through the foam
    return text + "G0 " + at('X') + " " + at('Y') + (random() % 4 ? "\n" : " " + tiny_word('Z', deep) + "\n");
  default: // an upright arc
    return text + "G0 " + place(x, y) + "\nG1 " + down + "G18 G2 " + tiny_word('X', x + 2 * wide) + " " +
           tiny_word('I', wide) + " K0 F2000\nG17 G0 Z5\n";
  }
}

inline std::string tiny_header(TinyRandom& random) {
  std::string text;
  for (int n = 0; n < 11; ++n)
    text += static_cast<char>('0' + random() % 20);
  return text + "\n";
}

inline std::string random_job(TinyRandom& random) {
  std::string text = tiny_header(random) + "G21 G90 G17 T1 M6\nS18000 M3\n";
  for (unsigned n = 1 + random() % 5; n > 0; --n) {
    if (random() % 8 == 0)
      text += "T" + std::to_string(1 + random() % 2) + " M6 S15000 " + (random() % 4 ? "M3\n" : "M4\n");
    text += tiny_feature(random);
  }
  return text + "M2\n";
}

/// Another job near this one: a line gone, doubled or moved, a feature more, a number or a choice exchanged.
inline std::string changed_job(std::string text, TinyRandom& random) {
  if (text.empty())
    return random_job(random);
  for (unsigned n = 1 + random() % 3; n > 0; --n) {
    const std::size_t found = text.rfind('\n', random() % text.size());
    const std::size_t start = found == std::string::npos ? 0 : found + 1;
    const std::size_t end = std::min(text.find('\n', start), text.size());
    const std::string line = text.substr(start, end - start);
    switch (random() % 6) {
    case 0:
      text.insert(start, tiny_feature(random));
      break;
    case 1:
      text.insert(start, line + "\n");
      break;
    case 2:
      if (start > 0)
        text.erase(start, end + 1 - start);
      break;
    case 3:
      text[random() % std::max<std::size_t>(1, std::min<std::size_t>(text.find('\n'), 11))] =
          static_cast<char>('0' + random() % 20);
      break;
    default: {
      const std::size_t letter = line.find_first_of("XYZIJKRFQ", line.empty() ? 0 : random() % line.size());
      if (letter == std::string::npos)
        break;
      const std::size_t tail = std::min(line.find_first_not_of("+-.0123456789", letter + 1), line.size());
      text.replace(start + letter, tail - letter,
                   tiny_word(line[letter], (random() % 4 ? 1 : -1) * tiny_value(random)));
    }
    }
    if (text.empty())
      break;
  }
  return text;
}

} // namespace snagmap
