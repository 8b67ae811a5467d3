#include "viz/files/data_files.hpp"

#include "sim/text/whole_file.hpp"
#include "viz/files/gltf.hpp"
#include "viz/skin/surfaces.hpp"
#include "viz/skin/zones.hpp"

#include <vtkCellArray.h>
#include <vtkCellData.h>
#include <vtkDataSet.h>
#include <vtkFloatArray.h>
#include <vtkImageData.h>
#include <vtkIntArray.h>
#include <vtkNew.h>
#include <vtkPoints.h>
#include <vtkPolyData.h>
#include <vtkXMLImageDataWriter.h>
#include <vtkXMLPolyDataWriter.h>

#include <algorithm>
#include <cmath>
#include <limits>

namespace snagmap {
namespace {

/// What was found, one value for each cell of a data set; -1, 0 or not-a-number where nothing was.
class FoundArrays {
public:
  FoundArrays(vtkDataSet* data, const Preview& preview, const Zones& finder)
      : preview_(preview), finder_(finder), level_(add<vtkIntArray>(data, "level")),
        line_(add<vtkIntArray>(data, "program_line")), s_(add<vtkFloatArray>(data, "S")),
        lean_(add<vtkFloatArray>(data, "lean_mm")), thickness_(add<vtkFloatArray>(data, "thickness_mm")),
        time_(add<vtkFloatArray>(data, "time_s")) {
    data->GetCellData()->SetActiveScalars("S");
  }
  void set(std::size_t cell, int zone) {
    constexpr float kNone = std::numeric_limits<float>::quiet_NaN();
    const auto id = static_cast<vtkIdType>(cell);
    const PathSample* const found = zone >= 0 ? &preview_.samples[static_cast<std::size_t>(zone)] : nullptr;
    level_->SetValue(id, found ? static_cast<int>(finder_.level(zone)) : -1);
    line_->SetValue(id, found ? preview_.path.moves[found->move].line : 0);
    s_->SetValue(id, found ? found->s : kNone);
    lean_->SetValue(id, found && found->s < 1 ? found->lean_mm : kNone);
    thickness_->SetValue(id, found ? found->w_mm : kNone);
    time_->SetValue(id, found ? found->time_s : kNone);
  }
  template <class Array> static Array* add(vtkDataSet* data, const char* name) {
    vtkNew<Array> array;
    array->SetName(name);
    array->SetNumberOfValues(data->GetNumberOfCells());
    data->GetCellData()->AddArray(array);
    return array;
  }

private:
  const Preview& preview_;
  const Zones& finder_;
  vtkIntArray *level_, *line_;
  vtkFloatArray *s_, *lean_, *thickness_, *time_;
};

void fill(vtkPolyData* data, const Preview& preview, const Mesh& mesh, const std::vector<int>& zones,
          const Zones& finder) {
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
  FoundArrays found(data, preview, finder);
  for (std::size_t i = 0; i < zones.size(); ++i)
    found.set(i, zones[i]);
}

/// The sheet in plan, a cell for each square: where its foam ends at the top, and the webs as seen from
/// above.
void fill_map(vtkImageData* data, const Preview& preview, const Zones& finder, double cell_mm) {
  const Box3& sheet = preview.scene.sheet;
  const int nx = std::max(1, static_cast<int>((sheet.high.x - sheet.low.x) / cell_mm)),
            ny = std::max(1, static_cast<int>((sheet.high.y - sheet.low.y) / cell_mm));
  const Vec2 size{(sheet.high.x - sheet.low.x) / nx, (sheet.high.y - sheet.low.y) / ny};
  data->SetDimensions(nx + 1, ny + 1, 1);
  data->SetOrigin(sheet.low.x, sheet.low.y, 0);
  data->SetSpacing(size.x, size.y, 1);
  FoundArrays found(data, preview, finder);
  auto* const top = FoundArrays::add<vtkFloatArray>(data, "foam_top_mm");
  for (int j = 0; j < ny; ++j)
    for (int i = 0; i < nx; ++i) {
      const Vec2 p{sheet.low.x + (i + 0.5) * size.x, sheet.low.y + (j + 0.5) * size.y};
      const auto cell =
          static_cast<std::size_t>(j) * static_cast<std::size_t>(nx) + static_cast<std::size_t>(i);
      const std::vector<Slab> foam = preview.record->column(p, preview.record->end());
      const double z = foam.empty() ? std::numeric_limits<double>::quiet_NaN() : foam.back().high_mm;
      top->SetValue(static_cast<vtkIdType>(cell), static_cast<float>(z));
      found.set(cell, foam.empty() ? -1 : finder.at({p.x, p.y, z}, {0, 0, 1}));
    }
}

template <class Writer> std::optional<Fault> write_xml(vtkDataObject* data, const std::string& file) {
  vtkNew<Writer> writer;
  writer->SetInputData(data);
  writer->SetDataModeToAppended();
  writer->EncodeAppendedDataOff();
  writer->WriteToOutputStringOn(); // VTK's own file output would fail without a word to the caller
  writer->Write();
  return write_whole_file(file, writer->GetOutputString(), Existing::replaced, Disk::later);
}

/// The triangles kept, with only the points they use.
Mesh part(const Mesh& mesh, const std::vector<int>& zones, std::vector<int>& kept_zones) {
  Mesh out;
  std::vector<std::int64_t> index(mesh.points.size(), -1);
  for (std::size_t i = 0; i < zones.size(); ++i) {
    if (zones[i] < 0)
      continue;
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

Outcome<std::vector<std::string>> write_data_files(const Preview& preview, const std::string& folder,
                                                   double cell_mm) {
  const Vec3 size = preview.scene.sheet.high - preview.scene.sheet.low;
  SkinOptions options;
  options.cell_mm =
      cell_mm > 0 ? cell_mm : std::max(preview.record->voxel_mm(), std::sqrt(size.x * size.y / 60000));
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
    if (zones[i] >= 0)
      colours[i] = snag_colour(preview.samples[static_cast<std::size_t>(zones[i])].s);
  const std::vector<std::uint8_t> glb = gltf_binary(skin, colours);
  if (auto fault = write_xml<vtkXMLPolyDataWriter>(zone_data, folder + "/zones.vtp"))
    return *fault;
  if (auto fault = write_xml<vtkXMLPolyDataWriter>(stock_data, folder + "/stock.vtp"))
    return *fault;
  if (auto fault = write_whole_file(folder + "/sheet.glb", glb, Existing::replaced, Disk::later))
    return *fault;
  vtkNew<vtkImageData> map;
  fill_map(map, preview, finder, options.cell_mm);
  if (auto fault = write_xml<vtkXMLImageDataWriter>(map, folder + "/map.vti"))
    return *fault;
  return std::vector<std::string>{"zones.vtp", "stock.vtp", "sheet.glb", "map.vti"};
}

} // namespace snagmap
