#include "viz/files/output_folder.hpp"

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <fcntl.h>
#include <fstream>
#include <iterator>
#include <mutex>
#include <unistd.h>

namespace snagmap {
namespace {

namespace fs = std::filesystem;

std::mutex unfinished_lock;
fs::path unfinished; // what discard_unfinished removes

void set_unfinished(const fs::path& path) {
  const std::lock_guard<std::mutex> hold(unfinished_lock);
  unfinished = path;
}

/// ".NAME.part-PID" of a process that no longer runs.
void clear_leftovers(const fs::path& parent, const std::string& prefix) {
  std::error_code error;
  for (const fs::directory_entry& entry : fs::directory_iterator(parent, error)) {
    const std::string name = entry.path().filename().string();
    if (name.rfind(prefix, 0) != 0)
      continue;
    const pid_t pid = static_cast<pid_t>(std::strtol(name.c_str() + prefix.size(), nullptr, 10));
    if (pid > 0 && pid != getpid() && kill(pid, 0) != 0 && errno == ESRCH)
      fs::remove_all(entry.path(), error);
  }
}

/// What the commands leave: a folder that holds one of these is a result.
constexpr const char* kResults[] = {"result.json", "compare.json", "narrowest.csv"};

bool replaceable(const fs::path& place) {
  std::error_code error;
  return fs::is_directory(place, error) &&
         (fs::is_empty(place, error) ||
          std::any_of(std::begin(kResults), std::end(kResults),
                      [&](const char* name) { return fs::exists(place / name, error); }));
}

} // namespace

Outcome<OutputFolder> OutputFolder::begin(const std::string& place) {
  OutputFolder folder;
  std::error_code error;
  fs::path full = fs::absolute(place, error).lexically_normal();
  if (!full.has_filename())
    full = full.parent_path(); // "out/" names out
  folder.place_ = full;
  if (fs::exists(full, error) && !replaceable(full))
    return Fault{place,
                 0,
                 0,
                 fs::is_directory(full, error) ? "is a folder that holds no result; it is left alone"
                                               : "is a file; a result is a folder",
                 "name another folder with --out",
                 ""};
  fs::create_directories(full.parent_path(), error);
  const std::string prefix = "." + full.filename().string() + ".part-";
  clear_leftovers(full.parent_path(), prefix);
  const fs::path temporary = full.parent_path() / (prefix + std::to_string(getpid()));
  fs::remove_all(temporary, error);
  if (!fs::create_directory(temporary, error))
    return Fault{place, 0, 0, "cannot be written: " + error.message(), "name another folder with --out", ""};
  folder.temporary_ = temporary;
  set_unfinished(temporary);
  return folder;
}

OutputFolder::OutputFolder(OutputFolder&& other) noexcept
    : place_(std::move(other.place_)), temporary_(std::exchange(other.temporary_, fs::path{})) {}

OutputFolder::~OutputFolder() {
  if (temporary_.empty())
    return;
  std::error_code error;
  fs::remove_all(temporary_, error);
  set_unfinished({});
}

std::optional<Fault> OutputFolder::write(const std::string& name, const std::string& content) const {
  std::ofstream out(temporary_ / name, std::ios::binary);
  out << content;
  out.close();
  if (out)
    return {};
  return Fault{(place_ / name).string(), 0, 0, "cannot be written", "is the disk full?", ""};
}

std::optional<Fault> OutputFolder::commit() {
  std::error_code error;
  // Exchanging the two names in one call leaves no moment without a result.
  const bool exchanged = fs::exists(place_, error) && renameat2(AT_FDCWD, temporary_.c_str(), AT_FDCWD,
                                                                place_.c_str(), RENAME_EXCHANGE) == 0;
  if (!exchanged) {
    if (fs::exists(place_, error))
      fs::remove_all(place_, error); // a file system that cannot exchange
    fs::rename(temporary_, place_, error);
    if (error)
      return Fault{place_.string(), 0, 0, "cannot be put in its place: " + error.message(), "", ""};
  } else {
    fs::remove_all(temporary_, error); // now the old result
  }
  temporary_.clear();
  set_unfinished({});
  return {};
}

void OutputFolder::discard_unfinished() {
  fs::path path;
  {
    const std::lock_guard<std::mutex> hold(unfinished_lock);
    path = unfinished;
  }
  std::error_code error;
  // Twice: another thread may still be adding files.
  for (int i = 0; i < 2 && !path.empty(); ++i)
    fs::remove_all(path, error);
}

} // namespace snagmap
