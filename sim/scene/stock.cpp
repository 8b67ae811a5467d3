// A sheet that comes as a solid: a closed mesh, or a volume this program wrote, with pockets already in it.
#include "models/base/constants.hpp"
#include "sim/scene/sections.hpp"
#include "sim/text/whole_file.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <filesystem>
#include <fmt/format.h>

namespace snagmap {
namespace {

namespace fs = std::filesystem;
constexpr double kSideLeast_mm = 1, kSideMost_mm = 5000, kThickLeast_mm = 0.5, kThickMost_mm = 500;
/// What the layers may differ from the solid: a level set's planes are right within a tenth of its voxel.
constexpr double kLayers_mm = 0.05;

std::string ending_of(const fs::path& file) {
  std::string ending = file.extension().string();
  std::transform(ending.begin(), ending.end(), ending.begin(),
                 [](unsigned char c) { return std::tolower(c); });
  return ending;
}

bool is_mesh(const std::string& ending) {
  return ending == ".stl" || ending == ".ply" || ending == ".obj" || ending == ".vtp";
}

Outcome<StockShape> read_solid(const fs::path& file, const StockReaders& readers, double unit_mm) {
  const std::string ending = ending_of(file);
  const Fault not_read("sheets from files are not read here", "");
  if (ending == ".vdb")
    return readers.volume ? readers.volume(file.string()) : Outcome<StockShape>(not_read);
  if (!is_mesh(ending))
    return Fault("no kind of file a sheet is read from",
                 "an STL, PLY, OBJ or VTP mesh, closed, or a .vdb that snagmap wrote");
  if (!readers.mesh)
    return not_read;
  Outcome<MeshFile> mesh = readers.mesh(file.string());
  if (!mesh)
    return mesh.faults();
  for (Vec3& p : mesh->points)
    p = unit_mm * p;
  return stock_from_mesh(std::move(mesh->points), std::move(mesh->triangles));
}

/// Moves the solid to where zero and zero_on put it.
void place(SceneTable& sheet, const Scene& scene, StockShape& stock) {
  const Box3& box = stock.box;
  Vec3 shift;
  if (sheet.has("zero")) {
    shift.x = -(box.low.x + scene.zero.share_x * (box.high.x - box.low.x) + scene.zero.offset_x_mm);
    shift.y = -(box.low.y + scene.zero.share_y * (box.high.y - box.low.y) + scene.zero.offset_y_mm);
  }
  if (sheet.has("zero_on"))
    shift.z = scene.zero_on_table ? -box.low.z : -box.high.z;
  for (Vec3& p : stock.points)
    p = p + shift;
  stock.box = {box.low + shift, box.high + shift};
}

bool size_is_sound(SceneTable& sheet, const std::string& label, const Box3& box) {
  const Vec3 size = box.high - box.low;
  const auto sound = [](double v, double least, double most) { return v >= least && v <= most; };
  if (sound(size.x, kSideLeast_mm, kSideMost_mm) && sound(size.y, kSideLeast_mm, kSideMost_mm) &&
      sound(size.z, kThickLeast_mm, kThickMost_mm))
    return true;
  sheet.fault(
      "stock",
      fmt::format(
          "{}: the sheet is {:g} x {:g} x {:g} mm; allowed: {:g} to {:g} mm in plan, {:g} to {:g} mm thick",
          label, size.x, size.y, size.z, kSideLeast_mm, kSideMost_mm, kThickLeast_mm, kThickMost_mm),
      "is the mesh in inch? stock_unit = \"inch\"");
  return false;
}

/// Layers lie in the solid's box, from its underside up.
void fit_layers(SceneTable& sheet, Scene& scene) {
  const double thickness = scene.sheet.high.z - scene.sheet.low.z;
  if (scene.layers.size() == 1) {
    Layer& only = scene.layers.front();
    if (only.thickness_mm == 0)
      only.thickness_mm = thickness;
  }
  double sum = 0;
  for (const Layer& layer : scene.layers)
    sum += layer.thickness_mm;
  if (!scene.layers.empty() && std::abs(sum - thickness) > kLayers_mm)
    sheet.fault("layers",
                fmt::format("layers gives the sheet {:g} mm, stock gives it {:g} mm", sum, thickness),
                "give layers that fill the solid's box");
}

} // namespace

void read_stock(SceneTable& sheet, Scene& scene, const StockReaders& readers) {
  for (const char* key : {"size", "thickness"})
    if (sheet.has(key))
      sheet.fault(key, fmt::format("{} stands beside stock, which has its own", key), "give one of the two");
  const auto unit = sheet.choice("stock_unit", {"mm", "inch"});
  const auto name = sheet.text("stock");
  if (!name)
    return;
  const std::string label = "stock " + shown(*sheet.find("stock"));
  const fs::path given(*name), file = given.is_absolute() ? given : fs::path(sheet.reading().folder) / given;
  std::error_code error;
  if (const auto fault = no_plain_file(file.string(), "paths start at the scene's folder"))
    return sheet.fault("stock", label + ": " + fault->what, fault->way_out);
  if (ending_of(file) == ".vdb") {
    if (unit)
      sheet.fault("stock_unit", "stock_unit stands beside a volume, which is in mm", "leave it out");
  } else if (!unit && !sheet.has("stock_unit")) {
    sheet.assume("stock_unit", "\"mm\"", "a mesh says nothing of its unit");
  }
  Outcome<StockShape> solid = read_solid(file, readers, unit == std::size_t{1} ? kInch_mm : 1);
  if (!solid) {
    for (const Fault& fault : solid.faults())
      sheet.fault("stock", label + ": " + fault.what, fault.way_out);
    return;
  }
  place(sheet, scene, *solid);
  if (!size_is_sound(sheet, label, solid->box))
    return;
  scene.sheet = solid->box;
  scene.sheet_given = scene.thickness_given = true;
  if (!sheet.has("zero_on")) {
    scene.zero_on_table = std::abs(scene.sheet.low.z) < std::abs(scene.sheet.high.z);
    sheet.assume("zero_on", scene.zero_on_table ? "\"table\"" : "\"top\"",
                 "the nearer face of stock, which keeps its own height");
  }
  fit_layers(sheet, scene);
  scene.stock_file = fs::absolute(file, error).lexically_normal().string();
  scene.stock = std::make_shared<const StockShape>(std::move(*solid));
}

StockShape stock_of(const Scene& scene) {
  return scene.stock ? *scene.stock : StockShape{scene.sheet};
}

} // namespace snagmap
