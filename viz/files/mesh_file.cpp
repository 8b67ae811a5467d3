#include "viz/files/mesh_file.hpp"

#include "sim/probe/vdb.hpp"

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
#include <chrono>
#include <csignal>
#include <cstring>
#include <fcntl.h>
#include <filesystem>
#include <fstream>
#include <poll.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

namespace snagmap {
namespace {

namespace fs = std::filesystem;
constexpr std::uintmax_t kMost_bytes = 1u << 30;

Fault refused(const std::string& file, std::string what) {
  return Fault(std::move(what), "export it again as a closed STL, PLY or OBJ mesh", file);
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
/// The child's answer, for as long as it may take.
class Received {
public:
  Received(int from, int seconds)
      : from_(from), end_(std::chrono::steady_clock::now() + std::chrono::seconds(seconds)) {}
  template <class T> bool list(std::vector<T>& into) {
    std::uint64_t count = 0;
    if (!bytes(&count, sizeof count) || count > 4 * kMost_bytes / sizeof(T)) // a text file's faces take more
      return false;
    into.resize(count);
    return bytes(into.data(), count * sizeof(T));
  }
  bool late() const { return late_; }

private:
  bool bytes(void* into, std::size_t count) {
    char* at = static_cast<char*>(into);
    while (count > 0) {
      const auto left =
          std::chrono::duration_cast<std::chrono::milliseconds>(end_ - std::chrono::steady_clock::now());
      late_ = left.count() <= 0;
      pollfd waited{from_, POLLIN, 0};
      if (late_)
        return false;
      const int ready = poll(&waited, 1, static_cast<int>(left.count()));
      if (ready == 0 || (ready < 0 && errno == EINTR))
        continue;
      const ssize_t n = ready > 0 ? read(from_, at, count) : -1;
      if (n < 0 && errno == EINTR)
        continue;
      if (n <= 0)
        return false;
      at += n, count -= static_cast<std::size_t>(n);
    }
    return true;
  }
  int from_;
  std::chrono::steady_clock::time_point end_;
  bool late_ = false;
};

template <class T> bool send_list(int to, const std::vector<T>& list) {
  const std::uint64_t count = list.size();
  return send(to, &count, sizeof count) && send(to, list.data(), list.size() * sizeof(T));
}
constexpr const char* kReader = "--read-a-mesh-for-the-process-that-asked"; ///< the child's first word
constexpr int kAnswerTo = 3;                                                ///< its descriptor

/// Seconds a file may take; a sound one takes a small part of it.
int limit_s(std::uintmax_t size) {
  return 30 + static_cast<int>(size >> 23);
}

/// What the child does: the mesh, or the words of what is wrong with it.
[[noreturn]] void read_and_send(const std::string& file, int to) {
  const Outcome<MeshFile> mesh = read_by_ending(file);
  std::vector<char> words;
  if (!mesh)
    words.assign(mesh.faults().front().what.begin(), mesh.faults().front().what.end());
  const bool sent =
      send_list(to, words) && (!mesh || (send_list(to, mesh->points) && send_list(to, mesh->triangles)));
  _exit(sent ? 0 : 1);
}

/// The child is this same executable, whichever it is: before its main it sees by its words that it is to
/// read. Needs nothing that another file's constructors set up.
__attribute__((constructor)) void read_if_asked(int argc, char** argv) {
  if (argc == 3 && std::strcmp(argv[1], kReader) == 0)
    read_and_send(argv[2], kAnswerTo);
}

/// Starts the child. Between fork and exec only what is safe in a process that had threads.
pid_t start_reader(const std::string& file, int answer_to, int seconds) {
  const char* words[] = {"snagmap", kReader, file.c_str(), nullptr};
  const rlimit no_core{0, 0};
  const pid_t parent = getpid(), child = fork();
  if (child != 0)
    return child;
  prctl(PR_SET_PDEATHSIG, SIGKILL);
  if (getppid() != parent)
    _exit(1);
  setpgid(0, 0); // Ctrl-C in the terminal is the parent's to answer
  setrlimit(RLIMIT_CORE, &no_core);
  alarm(static_cast<unsigned>(seconds)); // stays over exec; the parent keeps time too
  const int nowhere = open("/dev/null", O_RDWR | O_CLOEXEC);
  dup2(nowhere, STDIN_FILENO);
  dup2(nowhere, STDOUT_FILENO);
  dup2(nowhere, STDERR_FILENO); // a library's last words
  if (answer_to == kAnswerTo)
    fcntl(answer_to, F_SETFD, 0);
  else
    dup2(answer_to, kAnswerTo);
  execv("/proc/self/exe", const_cast<char* const*>(words));
  _exit(1);
}

} // namespace

Outcome<MeshFile> read_mesh_file(const std::string& file) {
  std::error_code error;
  const std::uintmax_t size = fs::file_size(file, error);
  if (error || access(file.c_str(), R_OK) != 0)
    return refused(file, "the mesh cannot be opened: " + (error ? error.message() : std::strerror(errno)));
  if (size > kMost_bytes)
    return refused(file, "the mesh is larger than 1 GB, the most that is read");
  // VTK's readers believe what a file promises: a damaged one can end the process or keep it for ever. So
  // they read in a process of their own.
  int ends[2];
  if (pipe2(ends, O_CLOEXEC) != 0)
    return refused(file, std::string("the mesh cannot be read: ") + std::strerror(errno));
  const int seconds = limit_s(size);
  const pid_t child = start_reader(file, ends[1], seconds);
  const int why = errno;
  close(ends[1]);
  if (child < 0) {
    close(ends[0]);
    return refused(file, std::string("no process to read the mesh in: ") + std::strerror(why));
  }
  Received in(ends[0], seconds);
  MeshFile mesh;
  std::vector<char> words;
  bool whole = in.list(words);
  if (whole && words.empty())
    whole = in.list(mesh.points) && in.list(mesh.triangles);
  close(ends[0]);
  if (!whole)
    kill(child, SIGKILL);
  int status = 0;
  while (waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  if (in.late() || (WIFSIGNALED(status) && WTERMSIG(status) == SIGALRM))
    return refused(file, "the mesh took more than " + std::to_string(seconds) + " s to read");
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
