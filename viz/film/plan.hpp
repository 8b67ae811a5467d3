// Which moments a film shows: from when to when, how fast, how many frames.
#pragma once

#include "models/base/fault.hpp"
#include "sim/preview/preview.hpp"

#include <optional>
#include <string>
#include <vector>

namespace snagmap {

struct FilmAsked {
  std::optional<double> from_s, to_s; ///< program time
  double speed = 0;                   ///< program seconds in a second of film; 0: the usual
  int web = -1;                       ///< the seconds round this web's worst spot, seen from near
  int width = 1280, height = 720;
};

struct FilmPlan {
  double from_s = 0, to_s = 0, speed = 1;
  int spot = -1; ///< rank in preview.spots that the film is about; -1: the whole sheet
  int width = 1280, height = 720;
  int frames() const;             ///< at kFilmRate
  double time_s(int frame) const; ///< program time of a frame; the last is to_s
};

constexpr int kFilmRate = 20; ///< frames a second: a step the eye takes for motion, in what two cores draw
constexpr double kUsualFilm_s = 20, kLongestFilm_s = 600;
constexpr double kRoundAWeb_s = 5; ///< before and after

/// "3:10" or "1:02:03", as programs' times are shown, or a quantity ("190 s").
Outcome<double> parse_clock(const std::string& text);
/// Faults: no such web, from after to, outside the program, longer than kLongestFilm_s.
Outcome<FilmPlan> plan_film(const Preview& preview, const FilmAsked& asked);

} // namespace snagmap
