#include "viz/mesh_file.hpp"

#include <vtkCallbackCommand.h>
#include <vtkCellArray.h>
#include <vtkNew.h>
#include <vtkOBJReader.h>
#include <vtkPLYReader.h>
#include <vtkPolyData.h>
#include <vtkSTLReader.h>
#include <vtkExecutive.h>
#include <vtkTriangleFilter.h>
#include <vtkXMLPolyDataReader.h>

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <fstream>

namespace snagmap {
namespace {

namespace fs = std::filesystem;
constexpr std::uintmax_t kMost_bytes = 1u << 30;

Fault refused(const std::string& file, std::string what) {
  return {file, 0, 0, std::move(what), "export it again as a closed STL, PLY or OBJ mesh", ""};
}

/// VTK would print its complaints; they become a fault instead.
void keep_quiet(vtkObject* reader, bool& complained) {
  vtkNew<vtkCallbackCommand> note;
  note->SetClientData(&complained);
  note->SetCallback([](vtkObject*, unsigned long, void* seen, void*) { *static_cast<bool*>(seen) = true; });
  reader->AddObserver(vtkCommand::ErrorEvent, note);
  reader->AddObserver(vtkCommand::WarningEvent, note);
}

template <class Reader> Outcome<MeshFile> read_with(Reader& reader, const std::string& file) {
  bool complained = false;
  keep_quiet(&reader, complained);
  keep_quiet(reader.GetExecutive(), complained);
  reader.SetFileName(file.c_str());
  reader.Update();
  if (complained)
    return refused(file, "the mesh cannot be read whole");
  vtkNew<vtkTriangleFilter> triangles;
  keep_quiet(triangles, complained);
  triangles->PassVertsOff();
  triangles->PassLinesOff();
  triangles->SetInputConnection(reader.GetOutputPort());
  triangles->Update();
  if (complained)
    return refused(file, "the mesh cannot be read whole");
  vtkPolyData* data = triangles->GetOutput();
  MeshFile mesh;
  mesh.points.resize(static_cast<std::size_t>(data->GetNumberOfPoints()));
  for (std::size_t n = 0; n < mesh.points.size(); ++n) {
    double p[3];
    data->GetPoint(static_cast<vtkIdType>(n), p);
    mesh.points[n] = {p[0], p[1], p[2]};
  }
  vtkCellArray* faces = data->GetPolys();
  vtkIdType count;
  const vtkIdType* corner;
  for (faces->InitTraversal(); faces->GetNextCell(count, corner);)
    if (count == 3)
      mesh.triangles.push_back({static_cast<std::uint32_t>(corner[0]), static_cast<std::uint32_t>(corner[1]),
                                static_cast<std::uint32_t>(corner[2])});
  if (mesh.triangles.empty())
    return refused(file, "the mesh has no faces, or is no such file");
  return mesh;
}

/// VTK believes a PLY header and reads on past the end of the file: what it promises must be there.
bool promises_too_much(const std::string& file, std::uintmax_t bytes) {
  std::ifstream in(file, std::ios::binary);
  std::string word, name;
  if (!(in >> word) || word != "ply")
    return true;
  double promised = 0; // each element takes two bytes at least, a digit and a space
  while (in >> word && word != "end_header") {
    double count = 0;
    if (word == "element" && in >> name >> count)
      promised += 2 * count;
  }
  return word != "end_header" || promised > static_cast<double>(bytes);
}

} // namespace

Outcome<MeshFile> read_mesh_file(const std::string& file) {
  std::error_code error;
  const std::uintmax_t size = fs::file_size(file, error);
  if (error || !std::ifstream(file))
    return refused(file, "the mesh cannot be opened");
  if (size > kMost_bytes)
    return refused(file, "the mesh is larger than 1 GB, the most that is read");
  std::string ending = fs::path(file).extension().string();
  std::transform(ending.begin(), ending.end(), ending.begin(), [](unsigned char c) { return std::tolower(c); });
  if (ending == ".stl") {
    vtkNew<vtkSTLReader> reader;
    reader->MergingOff(); // points are made one later, by their exact coordinates
    return read_with(*reader, file);
  }
  if (ending == ".vtp") {
    vtkNew<vtkXMLPolyDataReader> reader;
    return read_with(*reader, file);
  }
  if (ending == ".ply") {
    if (promises_too_much(file, size))
      return refused(file, "the mesh cannot be read whole");
    vtkNew<vtkPLYReader> reader;
    return read_with(*reader, file);
  }
  if (ending == ".obj") {
    vtkNew<vtkOBJReader> reader;
    return read_with(*reader, file);
  }
  return refused(file, "no mesh file that is read");
}

} // namespace snagmap
