#include "viz/data_files.hpp"

#include "viz/gltf.hpp"
#include "viz/raster.hpp"
#include "viz/surfaces.hpp"
#include "viz/zones.hpp"

#include <vtkCellArray.h>
#include <vtkCellData.h>
#include <vtkDoubleArray.h>
#include <vtkFloatArray.h>
#include <vtkIntArray.h>
#include <vtkNew.h>
#include <vtkPoints.h>
#include <vtkPolyData.h>
#include <vtkXMLPolyDataWriter.h>

#include <cmath>
#include <filesystem>
#include <limits>

namespace snagmap {
namespace {

template <class Array> Array* add(vtkPolyData* data, const char* name, std::size_t size) {
  vtkNew<Array> array;
  array->SetName(name);
  array->SetNumberOfValues(static_cast<vtkIdType>(size));
  data->GetCellData()->AddArray(array);
  return array;
}

void fill(vtkPolyData* data, const Preview& preview, const Mesh& mesh, const std::vector<int>& zones, const Zones& finder) {
  vtkNew<vtkPoints> points;
  points->SetDataTypeToDouble();
  points->SetNumberOfPoints(static_cast<vtkIdType>(mesh.points.size()));
  for (std::size_t i = 0; i < mesh.points.size(); ++i)
    points->SetPoint(static_cast<vtkIdType>(i), mesh.points[i].x, mesh.points[i].y, mesh.points[i].z);
  vtkNew<vtkCellArray> cells;
  for (const Triangle& t : mesh.triangles) {
    const vtkIdType ids[3] = {t[0], t[1], t[2]};
    cells->InsertNextCell(3, ids);
  }
  data->SetPoints(points);
  data->SetPolys(cells);
  const std::size_t n = mesh.triangles.size();
  auto* const level = add<vtkIntArray>(data, "level", n);
  auto* const s = add<vtkFloatArray>(data, "S", n);
  auto* const lean = add<vtkFloatArray>(data, "lean_mm", n);
  auto* const thickness = add<vtkFloatArray>(data, "thickness_mm", n);
  auto* const line = add<vtkIntArray>(data, "program_line", n);
  auto* const time = add<vtkFloatArray>(data, "time_s", n);
  constexpr float kNone = std::numeric_limits<float>::quiet_NaN();
  for (std::size_t i = 0; i < n; ++i) {
    const auto id = static_cast<vtkIdType>(i);
    const PathSample* const found = zones[i] >= 0 ? &preview.samples[static_cast<std::size_t>(zones[i])] : nullptr;
    level->SetValue(id, found ? static_cast<int>(finder.level(zones[i])) : -1);
    s->SetValue(id, found ? found->s : kNone);
    lean->SetValue(id, found && found->s < 1 ? found->lean_mm : kNone);
    thickness->SetValue(id, found ? found->w_mm : kNone);
    line->SetValue(id, found ? preview.path.moves[found->move].line : 0);
    time->SetValue(id, found ? found->time_s : kNone);
  }
  data->GetCellData()->SetActiveScalars("S");
}

std::optional<Fault> write_vtp(vtkPolyData* data, const std::string& file) {
  vtkNew<vtkXMLPolyDataWriter> writer;
  writer->SetInputData(data);
  writer->SetDataModeToAppended();
  writer->EncodeAppendedDataOff();
  writer->WriteToOutputStringOn();  // VTK's own file output would fail without a word to the caller
  writer->Write();
  return write_file(file, writer->GetOutputString());
}

/// The triangles kept, with only the points they use.
Mesh part(const Mesh& mesh, const std::vector<int>& zones, std::vector<int>& kept_zones) {
  Mesh out;
  std::vector<std::int64_t> index(mesh.points.size(), -1);
  for (std::size_t i = 0; i < zones.size(); ++i) {
    if (zones[i] < 0) continue;
    Triangle t{};
    for (std::size_t c = 0; c < 3; ++c) {
      std::int64_t& at = index[mesh.triangles[i][c]];
      if (at < 0) {
        at = static_cast<std::int64_t>(out.points.size());
        out.points.push_back(mesh.points[mesh.triangles[i][c]]);
      }
      t[c] = static_cast<std::uint32_t>(at);
    }
    out.triangles.push_back(t);
    kept_zones.push_back(zones[i]);
  }
  return out;
}

} // namespace

Outcome<std::vector<std::string>> write_data_files(const Preview& preview, const std::string& folder, double cell_mm) {
  const Vec3 size = preview.scene.sheet.high - preview.scene.sheet.low;
  SkinOptions options;
  options.cell_mm = cell_mm > 0 ? cell_mm : std::max(preview.record->voxel_mm(), std::sqrt(size.x * size.y / 60000));
  const Zones finder(preview);
  options.keep_fine = [&finder](Vec2 low, Vec2 high) { return finder.any(low, high); };
  const Mesh skin = Skin(preview, options).whole(preview.record->end());
  const std::vector<int> zones = finder.of(skin);
  std::vector<int> found_zones;
  const Mesh found = part(skin, zones, found_zones);
  vtkNew<vtkPolyData> zone_data, stock_data;
  fill(zone_data, preview, found, found_zones, finder);
  fill(stock_data, preview, skin, zones, finder);
  std::vector<Colour> colours(zones.size(), kFoam);
  for (std::size_t i = 0; i < zones.size(); ++i)
    if (zones[i] >= 0) colours[i] = snag_colour(preview.samples[static_cast<std::size_t>(zones[i])].s);
  const std::vector<std::uint8_t> glb = gltf_binary(skin, colours);
  if (auto fault = write_vtp(zone_data, folder + "/zones.vtp")) return *fault;
  if (auto fault = write_vtp(stock_data, folder + "/stock.vtp")) return *fault;
  if (auto fault = write_file(folder + "/sheet.glb", glb.data(), glb.size())) return *fault;
  std::vector<std::string> names{"zones.vtp", "stock.vtp", "sheet.glb"};
  if (!preview.scene.file.empty()) {
    // Apart from result.json, which must not differ from machine to machine.
    const std::string place = std::filesystem::absolute(preview.scene.file).lexically_normal().string();
    if (auto fault = write_file(folder + "/" + kSceneFileName, place + "\n")) return *fault;
    names.push_back(kSceneFileName);
  }
  return names;
}

} // namespace snagmap
