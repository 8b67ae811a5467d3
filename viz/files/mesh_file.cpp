#include "viz/files/mesh_file.hpp"

#include "sim/record/vdb.hpp"

#include <vtkCallbackCommand.h>
#include <vtkCellArray.h>
#include <vtkExecutive.h>
#include <vtkNew.h>
#include <vtkOBJReader.h>
#include <vtkPLYReader.h>
#include <vtkPolyData.h>
#include <vtkSTLReader.h>
#include <vtkTriangleFilter.h>
#include <vtkXMLPolyDataReader.h>

#include <algorithm>
#include <cctype>
#include <cerrno>
#include <csignal>
#include <fcntl.h>
#include <filesystem>
#include <fstream>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

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

Outcome<MeshFile> read_by_ending(const std::string& file) {
  std::string ending = fs::path(file).extension().string();
  std::transform(ending.begin(), ending.end(), ending.begin(),
                 [](unsigned char c) { return std::tolower(c); });
  if (ending == ".stl") {
    vtkNew<vtkSTLReader> reader;
    reader->MergingOff(); // points are made one later, by their exact coordinates
    return read_with(*reader, file);
  }
  if (ending == ".ply") {
    vtkNew<vtkPLYReader> reader;
    return read_with(*reader, file);
  }
  if (ending == ".obj") {
    vtkNew<vtkOBJReader> reader;
    return read_with(*reader, file);
  }
  if (ending == ".vtp") {
    vtkNew<vtkXMLPolyDataReader> reader;
    return read_with(*reader, file);
  }
  return refused(file, "no mesh file that is read");
}

bool send(int to, const void* bytes, std::size_t count) {
  const char* at = static_cast<const char*>(bytes);
  while (count > 0) {
    const ssize_t n = write(to, at, count);
    if (n <= 0)
      return false;
    at += n, count -= static_cast<std::size_t>(n);
  }
  return true;
}
bool receive(int from, void* bytes, std::size_t count) {
  char* at = static_cast<char*>(bytes);
  while (count > 0) {
    const ssize_t n = read(from, at, count);
    if (n < 0 && errno == EINTR)
      continue;
    if (n <= 0)
      return false;
    at += n, count -= static_cast<std::size_t>(n);
  }
  return true;
}

template <class T> bool send_list(int to, const std::vector<T>& list) {
  const std::uint64_t count = list.size();
  return send(to, &count, sizeof count) && send(to, list.data(), list.size() * sizeof(T));
}
template <class T> bool receive_list(int from, std::vector<T>& list) {
  std::uint64_t count = 0;
  if (!receive(from, &count, sizeof count))
    return false;
  list.resize(count);
  return receive(from, list.data(), count * sizeof(T));
}

/// What the child does: the mesh, or the words of what is wrong with it.
[[noreturn]] void read_and_send(const std::string& file, std::uintmax_t size, int to) {
  signal(SIGINT, SIG_DFL); // the parent answers for both
  signal(SIGTERM, SIG_DFL);
  dup2(open("/dev/null", O_WRONLY), STDERR_FILENO); // a library's last words
  const rlimit no_core{0, 0};
  setrlimit(RLIMIT_CORE, &no_core);
  alarm(30 + static_cast<unsigned>(size >> 23)); // s; a sound file takes a small part of it
  const Outcome<MeshFile> mesh = read_by_ending(file);
  std::vector<char> words;
  if (!mesh)
    words.assign(mesh.faults().front().what.begin(), mesh.faults().front().what.end());
  const bool sent =
      send_list(to, words) && (!mesh || (send_list(to, mesh->points) && send_list(to, mesh->triangles)));
  _exit(sent ? 0 : 1);
}

} // namespace

Outcome<MeshFile> read_mesh_file(const std::string& file) {
  std::error_code error;
  const std::uintmax_t size = fs::file_size(file, error);
  if (error || !std::ifstream(file))
    return refused(file, "the mesh cannot be opened");
  if (size > kMost_bytes)
    return refused(file, "the mesh is larger than 1 GB, the most that is read");
  // VTK's readers believe what a file promises: a damaged one can end the process or keep it for ever. So
  // they read in a process of their own.
  int ends[2];
  if (pipe2(ends, O_CLOEXEC) != 0)
    return refused(file, "the mesh cannot be opened");
  const pid_t child = fork();
  if (child == 0)
    read_and_send(file, size, ends[1]);
  close(ends[1]);
  MeshFile mesh;
  std::vector<char> words;
  bool whole = child > 0 && receive_list(ends[0], words);
  if (whole && words.empty())
    whole = receive_list(ends[0], mesh.points) && receive_list(ends[0], mesh.triangles);
  close(ends[0]);
  int status = 0;
  if (child > 0)
    waitpid(child, &status, 0);
  if (!whole)
    return refused(file, "the mesh cannot be read whole");
  if (!words.empty())
    return refused(file, std::string(words.begin(), words.end()));
  return mesh;
}

StockReaders stock_readers() {
  return {read_mesh_file, read_stock_vdb};
}

} // namespace snagmap
