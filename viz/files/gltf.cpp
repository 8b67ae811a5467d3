#include "viz/files/gltf.hpp"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <limits>
#include <map>
#include <string>
#include <tuple>

namespace snagmap {
namespace {

template <class T> void put(std::vector<std::uint8_t>& bytes, const std::vector<T>& values) {
  const std::size_t at = bytes.size(), size = values.size() * sizeof(T);
  bytes.resize(at + (size + 3) / 4 * 4, 0);
  if (size)
    std::memcpy(bytes.data() + at, values.data(), size);
}
void put_word(std::vector<std::uint8_t>& bytes, std::uint32_t word) {
  for (int i = 0; i < 4; ++i)
    bytes.push_back(static_cast<std::uint8_t>(word >> 8 * i));
}

/// Colours of glTF are linear (section 3.7.2.1); screens' are sRGB (IEC 61966-2-1).
std::uint16_t linear(std::uint8_t value) {
  const double v = value / 255.0;
  return static_cast<std::uint16_t>(65535 * (v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4)) +
                                    0.5);
}

/// Corners as glTF has them: metres, Y up.
struct Corners {
  std::vector<float> places, normals; ///< three a corner
  std::vector<std::uint16_t> paint;   ///< linear, four a corner
  std::vector<std::uint32_t> indices; ///< three a triangle
  std::size_t count() const { return places.size() / 3; }
};

std::array<float, 3> turned(Vec3 p, double scale) {
  return {static_cast<float>(p.x / scale), static_cast<float>(p.z / scale), static_cast<float>(-p.y / scale)};
}

/// Flat parts share corners, sharp edges and edges of colours do not: a corner is its point, its direction to
/// a 64th, and its colour.
Corners corners_of(const Mesh& mesh, const std::vector<Colour>& colours) {
  Corners corners;
  std::map<std::tuple<std::uint32_t, int, int, int, std::uint32_t>, std::uint32_t> known;
  const auto coarse = [](double x) { return static_cast<int>(std::lround(64 * x)); };
  for (std::size_t i = 0; i < mesh.triangles.size(); ++i) {
    const Vec3 n = unit(area_vector(mesh, mesh.triangles[i]));
    const Colour c = colours[i];
    for (const std::uint32_t v : mesh.triangles[i]) {
      const auto key =
          std::make_tuple(v, coarse(n.x), coarse(n.y), coarse(n.z), c.r << 16u | c.g << 8u | c.b);
      const auto [at, fresh] = known.try_emplace(key, static_cast<std::uint32_t>(corners.count()));
      corners.indices.push_back(at->second);
      if (!fresh)
        continue;
      for (const float x : turned(mesh.points[v], 1000))
        corners.places.push_back(x);
      for (const float x : turned(n, 1))
        corners.normals.push_back(x);
      corners.paint.insert(corners.paint.end(), {linear(c.r), linear(c.g), linear(c.b), 65535});
    }
  }
  return corners;
}

/// The buffer, and the views that cut it into its parts.
struct Body {
  std::vector<std::uint8_t> bytes;
  nlohmann::ordered_json views = nlohmann::ordered_json::array();

  template <class T> void add(const std::vector<T>& values, int target) {
    views.push_back({{"buffer", 0},
                     {"byteOffset", bytes.size()},
                     {"byteLength", values.size() * sizeof(T)},
                     {"target", target}});
    put(bytes, values);
  }
};

Body body_of(const Corners& corners) {
  constexpr int kVertices = 34962, kIndices = 34963;
  Body body;
  body.add(corners.places, kVertices);
  body.add(corners.normals, kVertices);
  body.add(corners.paint, kVertices);
  body.add(corners.indices, kIndices);
  return body;
}

/// What the parts of the buffer are: one mesh of one material, its least and greatest place.
std::string head_of(const Corners& corners, const Body& body) {
  constexpr int kFloat = 5126, kShort = 5123, kInt = 5125;
  constexpr float kMost = std::numeric_limits<float>::max();
  float low[3] = {kMost, kMost, kMost}, high[3] = {-kMost, -kMost, -kMost};
  for (std::size_t i = 0; i < corners.places.size(); ++i) {
    low[i % 3] = std::min(low[i % 3], corners.places[i]);
    high[i % 3] = std::max(high[i % 3], corners.places[i]);
  }
  const std::size_t n = corners.count();
  const nlohmann::ordered_json json = {
      {"asset", {{"version", "2.0"}, {"generator", "snagmap " SNAGMAP_VERSION}}},
      {"scene", 0},
      {"scenes", {{{"nodes", {0}}}}},
      {"nodes", {{{"mesh", 0}, {"name", "sheet"}}}},
      {"materials",
       {{{"name", "foam"}, {"pbrMetallicRoughness", {{"metallicFactor", 0.0}, {"roughnessFactor", 0.9}}}}}},
      {"meshes",
       {{{"name", "sheet"},
         {"primitives",
          {{{"attributes", {{"POSITION", 0}, {"NORMAL", 1}, {"COLOR_0", 2}}},
            {"indices", 3},
            {"material", 0}}}}}}},
      {"accessors",
       {{{"bufferView", 0},
         {"componentType", kFloat},
         {"count", n},
         {"type", "VEC3"},
         {"min", low},
         {"max", high}},
        {{"bufferView", 1}, {"componentType", kFloat}, {"count", n}, {"type", "VEC3"}},
        {{"bufferView", 2}, {"componentType", kShort}, {"normalized", true}, {"count", n}, {"type", "VEC4"}},
        {{"bufferView", 3}, {"componentType", kInt}, {"count", corners.indices.size()}, {"type", "SCALAR"}}}},
      {"bufferViews", body.views},
      {"buffers", {{{"byteLength", body.bytes.size()}}}}};
  std::string head = json.dump();
  head.resize((head.size() + 3) / 4 * 4, ' ');
  return head;
}

} // namespace

std::vector<std::uint8_t> gltf_binary(const Mesh& mesh, const std::vector<Colour>& colours) {
  const Corners corners = corners_of(mesh, colours);
  const Body parts = body_of(corners);
  const std::string head = head_of(corners, parts);
  const std::vector<std::uint8_t>& body = parts.bytes;
  std::vector<std::uint8_t> out;
  out.reserve(28 + head.size() + body.size());
  put_word(out, 0x46546C67); // "glTF"
  put_word(out, 2);
  put_word(out, static_cast<std::uint32_t>(28 + head.size() + body.size()));
  put_word(out, static_cast<std::uint32_t>(head.size()));
  put_word(out, 0x4E4F534A); // "JSON"
  out.insert(out.end(), head.begin(), head.end());
  put_word(out, static_cast<std::uint32_t>(body.size()));
  put_word(out, 0x004E4942); // "BIN"
  out.insert(out.end(), body.begin(), body.end());
  return out;
}

} // namespace snagmap
