// What other programs read must be what was found: read back with VTK's own readers.
#include "viz/files/data_files.hpp"

#include "tests/viz/preview_fixture.hpp"
#include "viz/draw/colours.hpp"
#include "viz/skin/surfaces.hpp"

#include <vtkCellData.h>
#include <vtkCompositeDataIterator.h>
#include <vtkDataArray.h>
#include <vtkGLTFReader.h>
#include <vtkImageData.h>
#include <vtkMassProperties.h>
#include <vtkMultiBlockDataSet.h>
#include <vtkNew.h>
#include <vtkPointData.h>
#include <vtkPolyData.h>
#include <vtkSmartPointer.h>
#include <vtkXMLImageDataReader.h>
#include <vtkXMLPolyDataReader.h>

#include <filesystem>

using namespace snagmap;

namespace {

vtkSmartPointer<vtkPolyData> read_vtp(const std::string& file) {
  vtkNew<vtkXMLPolyDataReader> reader;
  reader->SetFileName(file.c_str());
  reader->Update();
  return reader->GetOutput();
}

struct DataFiles : testing::Test {
  static void SetUpTestSuite() {
    folder = (std::filesystem::temp_directory_path() / ("snagmap-data-" + std::to_string(getpid()))).string();
    std::filesystem::create_directories(folder);
    preview = new Preview(fixture_preview());
    const auto written = write_data_files(*preview, folder);
    ASSERT_TRUE(written);
    ASSERT_EQ(*written, (std::vector<std::string>{"zones.vtp", "stock.vtp", "sheet.glb", "map.vti"}));
  }
  static void TearDownTestSuite() {
    std::filesystem::remove_all(folder);
    delete preview;
  }
  static std::string folder;
  static Preview* preview;
};
std::string DataFiles::folder;
Preview* DataFiles::preview = nullptr;

} // namespace

TEST_F(DataFiles, StockIsClosedAndHoldsTheFoamThatIsLeft) {
  const auto stock = read_vtp(folder + "/stock.vtp");
  vtkNew<vtkMassProperties> mass;
  mass->SetInputData(stock);
  const double r = 3.175, removed = 2 * (32 * 40 - (4 - M_PI) * r * r) * kFixtureDepth_mm,
               block = 90.0 * 60 * 40;
  EXPECT_NEAR(mass->GetVolume(), block - removed, 0.005 * removed);
}

TEST_F(DataFiles, ZonesCarryTheirSamplesNumbers) {
  const auto zones = read_vtp(folder + "/zones.vtp");
  ASSERT_GT(zones->GetNumberOfCells(), 100);
  const auto array = [&](const char* name) { return zones->GetCellData()->GetArray(name); };
  for (const char* name : {"level", "S", "lean_mm", "thickness_mm", "program_line", "time_s"})
    ASSERT_NE(array(name), nullptr) << name;
  double most = 0;
  for (vtkIdType i = 0; i < zones->GetNumberOfCells(); ++i) {
    const double s = array("S")->GetTuple1(i), level = array("level")->GetTuple1(i),
                 lean = array("lean_mm")->GetTuple1(i);
    most = std::max(most, s);
    EXPECT_FLOAT_EQ(array("thickness_mm")->GetTuple1(i), kFixtureWeb_mm);
    EXPECT_EQ(level, s >= 1 ? 3 : s >= 0.5 ? 2 - 1 : 0) << s;
    EXPECT_EQ(std::isnan(lean), s >= 1);
    // Every painted triangle lies on the web.
    double bounds[6];
    zones->GetCellBounds(i, bounds);
    EXPECT_GE(bounds[0],
              -kFixtureWeb_mm / 2 - 0.5 - 0.5); // corners are rounded: half a millimetre off, and half a cell
    EXPECT_LE(bounds[1], kFixtureWeb_mm / 2 + 1.5);
    EXPECT_GE(bounds[4], -kFixtureDepth_mm - 1e-3);
  }
  EXPECT_FLOAT_EQ(most, preview->spots.front().answer.s);
}

TEST_F(DataFiles, TheMapHoldsPocketsAndWebInPlan) {
  vtkNew<vtkXMLImageDataReader> reader;
  reader->SetFileName((folder + "/map.vti").c_str());
  reader->Update();
  vtkImageData* const map = reader->GetOutput();
  double bounds[6], spacing[3];
  map->GetBounds(bounds);
  map->GetSpacing(spacing);
  EXPECT_NEAR(bounds[1] - bounds[0], 90, 1e-9);
  EXPECT_NEAR(bounds[3] - bounds[2], 60, 1e-9);
  vtkDataArray* const top = map->GetCellData()->GetArray("foam_top_mm");
  vtkDataArray* const s = map->GetCellData()->GetArray("S");
  vtkDataArray* const width = map->GetCellData()->GetArray("thickness_mm");
  ASSERT_TRUE(top && s && width);
  double floor_area = 0, most = 0;
  for (vtkIdType i = 0; i < map->GetNumberOfCells(); ++i) {
    const double z = top->GetTuple1(i);
    EXPECT_TRUE(z == 0 || std::abs(z + kFixtureDepth_mm) < 1e-4) << z;
    if (z < -1)
      floor_area += spacing[0] * spacing[1];
    if (std::isnan(s->GetTuple1(i)))
      continue;
    most = std::max(most, s->GetTuple1(i));
    EXPECT_FLOAT_EQ(width->GetTuple1(i), kFixtureWeb_mm);
    double cell[6];
    map->GetCellBounds(i, cell);
    EXPECT_LE(std::max(std::abs(cell[0]), std::abs(cell[1])), kFixtureWeb_mm / 2 + 1.5);
    EXPECT_EQ(z, 0) << "the web's top";
  }
  EXPECT_FLOAT_EQ(most, preview->spots.front().answer.s);
  // Two rounded pockets; a cell's middle decides, so at most half a cell is wrong all along their edges.
  const double r = 3.175, area = 2 * (32 * 40 - (4 - M_PI) * r * r), edge = 2 * 2 * (32 + 40);
  EXPECT_NEAR(floor_area, area, edge * spacing[0] / 2);
}

TEST_F(DataFiles, TheWorstSpotsLineAndTimeAreWhereItStands) {
  const auto zones = read_vtp(folder + "/zones.vtp");
  const Spot& worst = preview->spots.front();
  const vtkIdType cells = zones->GetNumberOfCells();
  int near = 0;
  for (vtkIdType i = 0; i < cells; ++i) {
    double b[6];
    zones->GetCellBounds(i, b);
    const bool over =
        b[0] <= 4.01 && b[1] >= 3.99 && b[2] <= worst.place_mm.y + 0.05 && b[3] >= worst.place_mm.y - 0.05;
    if (!over || zones->GetCellData()->GetArray("S")->GetTuple1(i) < worst.answer.s - 1e-4)
      continue;
    ++near;
    // The wall is walked twice at this depth, by the zigzag and by the last turn: both lines have this S.
    const auto line = static_cast<std::int32_t>(zones->GetCellData()->GetArray("program_line")->GetTuple1(i));
    const auto t = zones->GetCellData()->GetArray("time_s")->GetTuple1(i);
    const bool known =
        std::any_of(preview->samples.begin(), preview->samples.end(), [&](const PathSample& s) {
          return std::abs(s.time_s - t) < 1e-3 && preview->path.moves[s.move].line == line &&
                 std::abs(s.s - worst.answer.s) < 1e-4;
        });
    EXPECT_TRUE(known) << line << " at " << t;
  }
  EXPECT_GT(near, 0);
}

TEST_F(DataFiles, GltfOpensInMetresYUpWithTheAlarmColour) {
  vtkNew<vtkGLTFReader> reader;
  reader->SetFileName((folder + "/sheet.glb").c_str());
  reader->Update();
  auto blocks = vtkSmartPointer<vtkCompositeDataIterator>::Take(reader->GetOutput()->NewIterator());
  vtkPolyData* mesh = nullptr;
  for (blocks->InitTraversal(); !blocks->IsDoneWithTraversal(); blocks->GoToNextItem())
    mesh = vtkPolyData::SafeDownCast(blocks->GetCurrentDataObject());
  ASSERT_NE(mesh, nullptr);
  double b[6];
  mesh->GetBounds(b);
  EXPECT_NEAR(b[1] - b[0], 0.090, 1e-6);
  EXPECT_NEAR(b[3] - b[2], 0.040, 1e-6);
  EXPECT_NEAR(b[5] - b[4], 0.060, 1e-6);
  vtkDataArray* const colour = mesh->GetPointData()->GetArray("COLOR_0");
  ASSERT_NE(colour, nullptr);
  int alarming = 0;
  const double red = std::pow((kAlarm.r / 255.0 + 0.055) / 1.055, 2.4);
  for (vtkIdType i = 0; i < colour->GetNumberOfTuples(); ++i) {
    double c[4];
    colour->GetTuple(i, c);
    const double scale = colour->GetDataType() == VTK_FLOAT ? 1 : 65535;
    alarming += std::abs(c[0] / scale - red) < 0.01 && c[1] / scale < 0.05;
  }
  EXPECT_GT(alarming, 20);
}

TEST_F(DataFiles, AFolderThatIsNotThereIsAFaultWithItsName) {
  const auto written = write_data_files(*preview, folder + "/nowhere");
  ASSERT_FALSE(written);
  EXPECT_EQ(written.faults().front().file, folder + "/nowhere/zones.vtp");
}
