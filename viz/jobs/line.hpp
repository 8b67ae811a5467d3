// The line of jobs: some run, the rest wait for their turn in the order in which they came.
#pragma once

#include "viz/jobs/child.hpp"
#include "viz/jobs/served_folder.hpp"

#include <condition_variable>
#include <list>
#include <mutex>
#include <thread>

namespace snagmap {

struct LineLimits {
  int at_once = 1;
  std::uint64_t memory_bytes = 0; ///< a preview is refused beforehand when it would take more
  double seconds = 3600;          ///< a job's time from its start
  std::size_t longest = 500;      ///< jobs that wait
};

/// As many as cores and memory allow: two, so that a small job does not wait for a large one, one more for
/// each four cores beyond; and no more than `memory_bytes` each leave room for in `free_bytes` (0: not
/// known).
int room_for(unsigned cores, std::uint64_t free_bytes, std::uint64_t memory_bytes);

/// The program's words for a job, seen from its inputs' folder. Fault: what it works on is not there.
Outcome<std::vector<std::string>> job_words(const ServedFolder& folder, const Job& job,
                                            std::uint64_t memory_bytes);

struct JobView {
  Job job;
  JobState state = JobState::waiting;
  int status = -1;
  std::string stage;
  double share = 0;         ///< of the stage
  double stage_left_s = -1; ///< by how fast the stage went so far; -1: not known yet
  double running_s = 0;
  int place = 0; ///< in the line, from 1; 0: does not wait
};

/// One thread starts and reaps all children, so that they end with it. Jobs of the folder that had not ended
/// when the last server did go on.
class JobLine {
public:
  JobLine(ServedFolder& folder, const LineLimits& limits);
  ~JobLine(); ///< ends what runs within seconds; it goes on with the next server
  JobLine(const JobLine&) = delete;
  JobLine& operator=(const JobLine&) = delete;

  Outcome<std::string> add(Job job, const std::vector<std::pair<std::string, std::string>>& files);
  bool cancel(const std::string& id);
  /// Takes an ended job off the list, its inputs too. False while it runs or waits, or when there is none.
  bool forget(const std::string& id);
  std::vector<JobView> view() const;
  const LineLimits& limits() const { return limits_; }

private:
  struct Entry {
    JobView view;
    Child child;
    bool cancel = false, late = false;
    std::chrono::steady_clock::time_point started, stage_began, told_to_end;
    double stage_from = 0;
    std::string told; ///< progress not yet read to a line's end
  };
  void run();
  void start_next();
  void start(Entry& entry);
  void hear(Entry& entry);
  void reap(Entry& entry);
  void enforce(Entry& entry);
  void finish(Entry& entry, JobEnd end);
  void end_all();
  Entry* find(const std::string& id);
  void wake() const;

  ServedFolder& folder_;
  LineLimits limits_;
  mutable std::mutex lock_;
  std::list<Entry> entries_;
  int wake_[2] = {-1, -1};
  bool ending_ = false;
  std::thread thread_; // last: it uses all above
};

} // namespace snagmap
