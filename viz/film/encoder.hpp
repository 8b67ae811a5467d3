// Frames into films by ffmpeg, a program of its own that reads them from a pipe.
#pragma once

#include "models/base/fault.hpp"
#include "viz/draw/raster.hpp"

#include <optional>
#include <string>
#include <sys/types.h>

namespace snagmap {

/// Path of ffmpeg; the fault says what to install.
Outcome<std::string> find_ffmpeg();

class Encoder {
public:
  /// Starts ffmpeg, which writes film.mp4 (H.264), film.webm (VP9) and film.gif (half as wide, ten frames a
  /// second) into `folder`. It ends with this process.
  static Outcome<Encoder> start(const std::string& folder, int width, int height, int rate);
  Encoder(Encoder&& other) noexcept;
  Encoder& operator=(Encoder&&) = delete;
  ~Encoder(); ///< without `finish`: ended
  std::optional<Fault> add(const Pixels& frame);
  /// Waits until the films are whole.
  std::optional<Fault> finish();

private:
  Encoder(pid_t process, int to, int said) : process_(process), to_(to), said_(said) {}
  Fault failed();
  pid_t process_ = -1;
  int to_ = -1, said_ = -1; ///< frames; a file with ffmpeg's last words
};

constexpr const char* kFilmNames[] = {"film.mp4", "film.webm", "film.gif"};

} // namespace snagmap
