#include "viz/files/gltf.hpp"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <cmath>
#include <cstring>
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

} // namespace

std::vector<std::uint8_t> gltf_binary(const Mesh& mesh, const std::vector<Colour>& colours) {
  std::vector<float> places, normals;
  std::vector<std::uint16_t> paint;
  std::vector<std::uint32_t> corners;
  float low[3] = {1e30f, 1e30f, 1e30f}, high[3] = {-1e30f, -1e30f, -1e30f};
  std::map<std::tuple<std::uint32_t, int, int, int, std::uint32_t>, std::uint32_t> known;
  for (std::size_t i = 0; i < mesh.triangles.size(); ++i) {
    const Vec3 n = unit(area_vector(mesh, mesh.triangles[i]));
    const Colour c = colours[i];
    for (const std::uint32_t v : mesh.triangles[i]) {
      // Directions are told apart to a 64th: flat parts share corners, sharp edges do not.
      const auto coarse = [](double x) { return static_cast<int>(std::lround(64 * x)); };
      const auto key =
          std::make_tuple(v, coarse(n.x), coarse(n.y), coarse(n.z), c.r << 16u | c.g << 8u | c.b);
      const auto [at, fresh] = known.try_emplace(key, static_cast<std::uint32_t>(places.size() / 3));
      corners.push_back(at->second);
      if (!fresh)
        continue;
      const Vec3 p = mesh.points[v];
      const float place[3] = {static_cast<float>(p.x / 1000), static_cast<float>(p.z / 1000),
                              static_cast<float>(-p.y / 1000)};
      for (int k = 0; k < 3; ++k) {
        places.push_back(place[k]);
        low[k] = std::min(low[k], place[k]);
        high[k] = std::max(high[k], place[k]);
      }
      normals.insert(normals.end(),
                     {static_cast<float>(n.x), static_cast<float>(n.z), static_cast<float>(-n.y)});
      paint.insert(paint.end(), {linear(c.r), linear(c.g), linear(c.b), 65535});
    }
  }
  std::vector<std::uint8_t> body;
  nlohmann::ordered_json views = nlohmann::ordered_json::array();
  const auto section = [&](const auto& values, int target) {
    const std::size_t at = body.size();
    put(body, values);
    views.push_back({{"buffer", 0},
                     {"byteOffset", at},
                     {"byteLength", values.size() * sizeof(values[0])},
                     {"target", target}});
  };
  constexpr int kVertices = 34962, kIndices = 34963, kFloat = 5126, kShort = 5123, kInt = 5125;
  section(places, kVertices);
  section(normals, kVertices);
  section(paint, kVertices);
  section(corners, kIndices);
  const std::size_t n = places.size() / 3;
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
        {{"bufferView", 3}, {"componentType", kInt}, {"count", corners.size()}, {"type", "SCALAR"}}}},
      {"bufferViews", views},
      {"buffers", {{{"byteLength", body.size()}}}}};
  std::string head = json.dump();
  head.resize((head.size() + 3) / 4 * 4, ' ');
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
