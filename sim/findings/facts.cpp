#include "sim/findings/facts.hpp"

namespace snagmap {

namespace fact {

const char* to_text(ThicknessNotRun::Why why) {
  switch (why) {
  case ThicknessNotRun::Why::solid:
    return "solid";
  case ThicknessNotRun::Why::too_wide:
    return "too-wide";
  case ThicknessNotRun::Why::not_cut:
    return "not-cut";
  }
  return "";
}

const char* to_text(Sheet sheet) {
  switch (sheet) {
  case Sheet::least:
    return "least";
  case Sheet::nominal:
    return "nominal";
  case Sheet::most:
    return "most";
  }
  return "";
}

const char* to_text(AtSeam what) {
  switch (what) {
  case AtSeam::floor:
    return "floor";
  case AtSeam::step:
    return "layer-step";
  case AtSeam::flute_end:
    return "flute-end";
  }
  return "";
}

} // namespace fact
} // namespace snagmap
