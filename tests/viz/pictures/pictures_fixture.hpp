// One preview for all tests of pictures, and what they look for in one.
#pragma once

#include "tests/viz/preview_fixture.hpp"
#include "viz/draw/off_screen.hpp"
#include "viz/draw/raster.hpp"
#include "viz/pictures/set.hpp"

#include <vector>

namespace snagmap::pictures {

struct Pictures : ::testing::Test {
  static void SetUpTestSuite() {
    ASSERT_FALSE(ensure_off_screen());
    preview = new Preview(fixture_preview());
  }
  static void TearDownTestSuite() { delete preview; }
  inline static Preview* preview = nullptr;
};
inline bool reddish(const Pixels& p, Vec2 at) {
  const auto i = 3 * (static_cast<std::size_t>(at.y) * static_cast<std::size_t>(p.columns) +
                      static_cast<std::size_t>(at.x));
  return p.rgb[i] > 100 && 3 * p.rgb[i + 1] < p.rgb[i] && 4 * p.rgb[i + 2] < p.rgb[i];
}

inline std::vector<Text> texts(const Drawing& drawing) {
  std::vector<Text> out;
  for (const Shape& shape : drawing.shapes)
    if (const auto* const text = std::get_if<Text>(&shape))
      out.push_back(*text);
  return out;
}

inline std::vector<Picture> all_pictures(PictureSource& source) {
  std::vector<Picture> out;
  out.push_back(sheet_picture(source));
  for (int i = 0; i < 4; ++i)
    out.push_back(spot_picture(source, source.preview.spots[static_cast<std::size_t>(i)]));
  for (const MapKind kind : {MapKind::snag, MapKind::thickness, MapKind::feed, MapKind::chip})
    out.push_back(map_picture(source, kind));
  out.push_back(tool_picture(source));
  out.push_back(hold_down_picture(source));
  out.push_back(timeline_picture(source));
  out.push_back(feed_picture(source));
  out.push_back(narrowest_picture(source));
  out.push_back(compare_picture(source, source));
  return out;
}

} // namespace snagmap::pictures
