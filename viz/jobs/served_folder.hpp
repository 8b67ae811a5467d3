// The folder a page serves: results beside each other, and in a hidden folder what the page's jobs are made
// of.
#pragma once

#include "models/base/fault.hpp"
#include "viz/jobs/job.hpp"

#include <filesystem>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace snagmap {

constexpr const char* kInputsName = ".snagmap-page"; ///< below the served folder

/// Held by one process at a time. Every name below the hidden folder is of our making.
class ServedFolder {
public:
  /// Makes the folder where there is none. Faults: cannot be used, or another process serves it.
  static Outcome<ServedFolder> open(const std::string& place);
  ServedFolder(ServedFolder&& other) noexcept;
  ServedFolder& operator=(ServedFolder&&) = delete;
  ~ServedFolder();

  const std::filesystem::path& path() const { return path_; }
  std::filesystem::path inputs(const std::string& id) const; ///< of a job; throws unless is_job_id
  std::filesystem::path result(const std::string& id) const { return path_ / id; }

  /// Gives the job an id that neither a job nor anything else in the folder has, and writes its files; the
  /// job's own file comes last, so one without it was cut short and is cleared away by `jobs`.
  std::optional<Fault> keep(Job& job, const std::vector<std::pair<std::string, std::string>>& files);
  std::optional<Fault> keep_end(const std::string& id, const JobEnd& end) const;
  std::optional<JobEnd> end_of(const std::string& id) const;
  std::optional<Job> job(const std::string& id) const;
  std::vector<Job> jobs() const; ///< by their numbers
  void forget(const std::string& id) const;
  /// What the job's process wrote, at most so much of its end, names as the user knows them.
  std::string said(const Job& job, const char* file, std::size_t most = 4096) const;

private:
  ServedFolder(std::filesystem::path path, int lock) : path_(std::move(path)), lock_(lock) {}
  std::filesystem::path path_;
  int lock_ = -1;
  int last_ = 0; ///< the greatest number given
};

constexpr const char *kJobFile = "job.json", *kEndFile = "ended.json", *kOutFile = "out.txt",
                     *kErrFile = "err.txt", *kJobScene = "scene.toml", *kJobProgram = "program.nc",
                     *kJobFoam = "foam.toml", *kJobReadings = "readings.csv", *kJobCard = "own-foam.toml";

} // namespace snagmap
