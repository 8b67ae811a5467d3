#include "viz/jobs/served_folder.hpp"

#include "models/base/plain_text.hpp"
#include "sim/text/whole_file.hpp"

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <fcntl.h>
#include <stdexcept>
#include <sys/file.h>
#include <sys/stat.h>
#include <thread>
#include <unistd.h>

namespace snagmap {
namespace {

namespace fs = std::filesystem;

Fault unusable(const std::string& place, const std::string& why) {
  return Fault("cannot be served: " + why, "name another folder", place);
}

int number_of(const std::string& name) {
  return is_job_id(name) ? std::stoi(name.substr(4)) : 0;
}

int greatest_in(const fs::path& folder) {
  int greatest = 0;
  std::error_code error;
  for (fs::directory_iterator at(folder, error), end; !error && at != end; at.increment(error))
    greatest = std::max(greatest, number_of(at->path().filename().string()));
  return greatest;
}

void replace_all(std::string& text, const std::string& from, const std::string& to) {
  for (std::size_t at = 0; (at = text.find(from, at)) != std::string::npos; at += to.size())
    text.replace(at, from.size(), to);
}

} // namespace

Outcome<ServedFolder> ServedFolder::open(const std::string& place) {
  std::error_code error;
  fs::create_directories(place, error);
  const fs::path path = fs::canonical(place, error);
  if (error || !fs::is_directory(path, error))
    return unusable(place, error ? error.message() : "it is no folder");
  const fs::path hidden = path / kInputsName;
  // What lies there may be a user's own program: nobody else's to read.
  if (mkdir(hidden.c_str(), 0700) != 0 && errno != EEXIST)
    return unusable(place, std::strerror(errno));
  if (fs::symlink_status(hidden, error).type() != fs::file_type::directory)
    return unusable(place, std::string(kInputsName) + " in it is no folder");
  const int lock = ::open((hidden / "lock").c_str(), O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0600);
  if (lock < 0)
    return unusable(place, std::strerror(errno));
  // A child that a killed server had just forked holds it for a moment longer.
  bool ours = false;
  for (int tries = 0; tries < 20 && !(ours = flock(lock, LOCK_EX | LOCK_NB) == 0); ++tries)
    std::this_thread::sleep_for(std::chrono::milliseconds(50));
  if (!ours) {
    ::close(lock);
    return Fault("is served already by another process", "open that page, or name another folder", place);
  }
  ServedFolder folder(path, lock);
  folder.last_ = std::max(greatest_in(path), greatest_in(hidden));
  return folder;
}

ServedFolder::ServedFolder(ServedFolder&& other) noexcept
    : path_(std::move(other.path_)), lock_(std::exchange(other.lock_, -1)), last_(other.last_) {}

ServedFolder::~ServedFolder() {
  if (lock_ >= 0)
    ::close(lock_);
}

fs::path ServedFolder::inputs(const std::string& id) const {
  if (!is_job_id(id))
    throw std::invalid_argument("no job's name");
  return path_ / kInputsName / id;
}

std::optional<Fault> ServedFolder::keep(Job& job,
                                        const std::vector<std::pair<std::string, std::string>>& files) {
  fs::path folder;
  do {
    job.id = "job-" + std::to_string(++last_);
    folder = inputs(job.id);
    if (last_ > 99'999'999)
      return unusable(path_.string(), "no number is left");
  } while (fs::exists(fs::symlink_status(result(job.id))) ||
           (mkdir(folder.c_str(), 0700) != 0 && errno == EEXIST));
  for (const auto& [name, content] : files)
    if (auto fault = write_whole_file((folder / name).string(), content, Existing::kept, Disk::later))
      return fault;
  return write_whole_file((folder / kJobFile).string(), job_text(job), Existing::kept);
}

std::optional<Fault> ServedFolder::keep_end(const std::string& id, const JobEnd& end) const {
  return write_whole_file((inputs(id) / kEndFile).string(), end_text(end));
}

std::optional<JobEnd> ServedFolder::end_of(const std::string& id) const {
  const Outcome<std::string> text = read_whole_file((inputs(id) / kEndFile).string());
  return text ? parse_end(*text) : std::nullopt;
}

std::optional<Job> ServedFolder::job(const std::string& id) const {
  const Outcome<std::string> text = read_whole_file((inputs(id) / kJobFile).string());
  std::optional<Job> job = text ? parse_job(*text) : std::nullopt;
  return job && job->id == id ? job : std::nullopt;
}

std::vector<Job> ServedFolder::jobs() const {
  std::vector<std::string> names;
  std::error_code error;
  for (fs::directory_iterator at(path_ / kInputsName, error), end; !error && at != end; at.increment(error))
    if (is_job_id(at->path().filename().string()))
      names.push_back(at->path().filename().string());
  std::sort(names.begin(), names.end(), [](const std::string& a, const std::string& b) {
    return std::make_pair(a.size(), a) < std::make_pair(b.size(), b);
  });
  std::vector<Job> jobs;
  for (const std::string& name : names)
    if (std::optional<Job> one = job(name))
      jobs.push_back(std::move(*one));
    else
      forget(name);
  return jobs;
}

void ServedFolder::forget(const std::string& id) const {
  std::error_code error;
  fs::remove_all(inputs(id), error);
}

std::string ServedFolder::said(const Job& job, const char* file, std::size_t most) const {
  const Outcome<std::string> text = read_whole_file((inputs(job.id) / file).string());
  std::string said = text ? *text : "";
  if (said.size() > most)
    said.erase(0, said.size() - most);
  replace_all(said, inputs(job.id).string() + "/", "");
  for (const auto& [ours, theirs] : job.names)
    replace_all(said, ours, theirs);
  while (!said.empty() && (said.back() == '\n' || said.back() == ' '))
    said.pop_back();
  return plain_lines(said);
}

} // namespace snagmap
