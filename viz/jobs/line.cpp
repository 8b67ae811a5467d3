#include "viz/jobs/line.hpp"

#include "sim/text/whole_file.hpp"
#include "viz/jobs/results.hpp"

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <cstdlib>
#include <fcntl.h>
#include <poll.h>
#include <sys/wait.h>
#include <unistd.h>

namespace snagmap {
namespace {

using Clock = std::chrono::steady_clock;

constexpr double kGrace_s = 3; ///< from the wish that a job ends until it is ended

double since(Clock::time_point then) {
  return std::chrono::duration<double>(Clock::now() - then).count();
}

/// What the program takes beyond the estimate that --memory is held against: "right within about a third",
/// and pictures.
std::uint64_t hard_limit(std::uint64_t memory_bytes) {
  return memory_bytes == 0 ? 0 : memory_bytes + memory_bytes / 2 + (std::uint64_t{1} << 30);
}

} // namespace

int room_for(unsigned cores, std::uint64_t free_bytes, std::uint64_t memory_bytes) {
  int room = 2 + static_cast<int>(cores > 8 ? (cores - 8) / 4 : 0);
  if (free_bytes > 0 && memory_bytes > 0)
    room = static_cast<int>(
        std::min<std::uint64_t>(static_cast<std::uint64_t>(room), free_bytes / memory_bytes));
  return std::max(1, room);
}

JobLine::JobLine(ServedFolder& folder, const LineLimits& limits) : folder_(folder), limits_(limits) {
  for (Job& job : folder_.jobs()) {
    Entry entry;
    entry.view.job = std::move(job);
    const std::string& id = entry.view.job.id;
    if (const auto end = folder_.end_of(id))
      entry.view.state = end->state, entry.view.status = end->status;
    else if (result_named(folder_.path(), id)) // the server went between the result and its mark
      entry.view.state = JobState::done, entry.view.status = 0;
    entries_.push_back(std::move(entry));
  }
  if (pipe2(wake_, O_CLOEXEC | O_NONBLOCK) != 0)
    throw std::bad_alloc();
  thread_ = std::thread([this] { run(); });
}

JobLine::~JobLine() {
  {
    const std::lock_guard<std::mutex> hold(lock_);
    ending_ = true;
  }
  wake();
  thread_.join();
  close(wake_[0]), close(wake_[1]);
}

void JobLine::wake() const {
  const char byte = 1;
  if (write(wake_[1], &byte, 1) < 0)
    return; // full: it is awake
}

JobLine::Entry* JobLine::find(const std::string& id) {
  for (Entry& entry : entries_)
    if (entry.view.job.id == id)
      return &entry;
  return nullptr;
}

Outcome<std::string> JobLine::add(Job job, const std::vector<std::pair<std::string, std::string>>& files) {
  const std::lock_guard<std::mutex> hold(lock_);
  const auto waiting = static_cast<std::size_t>(std::count_if(
      entries_.begin(), entries_.end(), [](const Entry& e) { return e.view.state == JobState::waiting; }));
  if (waiting >= limits_.longest)
    return Fault("the line is full", "wait until some jobs are through, or cancel some");
  if (auto fault = folder_.keep(job, files))
    return *fault;
  Entry entry;
  entry.view.job = std::move(job);
  entries_.push_back(std::move(entry));
  wake();
  return entries_.back().view.job.id;
}

bool JobLine::cancel(const std::string& id) {
  const std::lock_guard<std::mutex> hold(lock_);
  Entry* entry = find(id);
  if (!entry || (entry->view.state != JobState::waiting && entry->view.state != JobState::running))
    return false;
  if (entry->view.state == JobState::waiting)
    finish(*entry, {JobState::cancelled, -1});
  else
    entry->cancel = true;
  wake();
  return true;
}

bool JobLine::forget(const std::string& id) {
  const std::lock_guard<std::mutex> hold(lock_);
  const Entry* entry = find(id);
  if (!entry || entry->view.state == JobState::waiting || entry->view.state == JobState::running)
    return false;
  folder_.forget(id);
  entries_.remove_if([&](const Entry& e) { return e.view.job.id == id; });
  return true;
}

std::vector<JobView> JobLine::view() const {
  const std::lock_guard<std::mutex> hold(lock_);
  std::vector<JobView> views;
  int place = 0;
  for (const Entry& entry : entries_) {
    views.push_back(entry.view);
    JobView& view = views.back();
    if (view.state == JobState::waiting)
      view.place = ++place;
    if (view.state != JobState::running)
      continue;
    view.running_s = since(entry.started);
    const double went = view.share - entry.stage_from;
    if (went > 0.03)
      view.stage_left_s = since(entry.stage_began) * (1 - view.share) / went;
  }
  return views;
}

void JobLine::run() {
  for (;;) {
    std::vector<pollfd> waited{{wake_[0], POLLIN, 0}};
    {
      const std::lock_guard<std::mutex> hold(lock_);
      if (ending_)
        break;
      start_next();
      for (const Entry& entry : entries_)
        if (entry.view.state == JobState::running && entry.child.progress >= 0)
          waited.push_back({entry.child.progress, POLLIN, 0});
    }
    poll(waited.data(), waited.size(), 100);
    char bytes[64];
    while (read(wake_[0], bytes, sizeof bytes) > 0) {
    }
    const std::lock_guard<std::mutex> hold(lock_);
    for (Entry& entry : entries_)
      if (entry.view.state == JobState::running) {
        hear(entry);
        enforce(entry);
        reap(entry);
      }
  }
  end_all();
}

void JobLine::start_next() {
  auto running = std::count_if(entries_.begin(), entries_.end(),
                               [](const Entry& e) { return e.view.state == JobState::running; });
  for (Entry& entry : entries_)
    if (running < limits_.at_once && entry.view.state == JobState::waiting) {
      start(entry);
      running += entry.view.state == JobState::running;
    }
}

void JobLine::start(Entry& entry) {
  const auto words = job_words(folder_, entry.view.job, limits_.memory_bytes);
  const Outcome<Child> child = words ? start_child(*words, folder_.inputs(entry.view.job.id),
                                                   {hard_limit(limits_.memory_bytes), limits_.seconds})
                                     : Outcome<Child>(words.faults());
  if (!child) {
    std::string said;
    for (const Fault& fault : child.faults())
      said += to_text(fault) + "\n";
    if (const auto fault = write_whole_file((folder_.inputs(entry.view.job.id) / kErrFile).string(), said))
      entry.view.stage = fault->what;
    finish(entry, {JobState::failed, -1});
    return;
  }
  entry.child = *child;
  entry.view.state = JobState::running;
  entry.started = entry.stage_began = Clock::now();
}

void JobLine::hear(Entry& entry) {
  char bytes[4096];
  ssize_t n = 0;
  while (entry.child.progress >= 0 && (n = read(entry.child.progress, bytes, sizeof bytes)) != 0) {
    if (n < 0 && errno == EINTR)
      continue;
    if (n < 0)
      return;
    entry.told.append(bytes, static_cast<std::size_t>(n));
    if (entry.told.size() > 1 << 16)
      entry.told.clear(); // no lines of ours
    for (std::size_t end; (end = entry.told.find('\n')) != std::string::npos; entry.told.erase(0, end + 1)) {
      const std::string line = entry.told.substr(0, end);
      const std::size_t blank = line.find(' ');
      if (blank == std::string::npos)
        continue;
      const double share = std::clamp(std::strtod(line.c_str(), nullptr), 0.0, 1.0);
      if (line.substr(blank + 1) != entry.view.stage)
        entry.view.stage = line.substr(blank + 1, 100), entry.stage_began = Clock::now(),
        entry.stage_from = share;
      entry.view.share = share;
    }
  }
  if (entry.child.progress >= 0)
    close(std::exchange(entry.child.progress, -1));
}

void JobLine::enforce(Entry& entry) {
  if (!entry.late && limits_.seconds > 0 && since(entry.started) > limits_.seconds)
    entry.late = true;
  if (!entry.late && !entry.cancel)
    return;
  if (entry.told_to_end == Clock::time_point{}) {
    entry.told_to_end = Clock::now();
    kill(-entry.child.process, SIGTERM);
  } else if (since(entry.told_to_end) > kGrace_s) {
    kill(-entry.child.process, SIGKILL);
  }
}

void JobLine::reap(Entry& entry) {
  int how = 0;
  if (waitpid(entry.child.process, &how, WNOHANG) != entry.child.process)
    return;
  kill(-entry.child.process, SIGKILL); // whoever is left of the group
  hear(entry);
  if (entry.child.progress >= 0)
    close(std::exchange(entry.child.progress, -1));
  const int status = WIFEXITED(how) ? WEXITSTATUS(how) : -1;
  constexpr int kStopTheJobStatus = 3;
  JobEnd end{JobState::failed, status};
  if (status == 0 || status == kStopTheJobStatus)
    end.state = JobState::done;
  else if (entry.cancel)
    end.state = JobState::cancelled;
  else if (entry.late)
    end.state = JobState::late;
  if (end.state == JobState::done && entry.view.job.kind == JobKind::fit)
    if (const auto fault = put_fit_in_place(folder_, entry.view.job)) {
      end.state = JobState::failed;
      entry.view.stage = fault->what;
    }
  finish(entry, end);
}

void JobLine::finish(Entry& entry, JobEnd end) {
  entry.view.state = end.state, entry.view.status = end.status;
  if (const auto fault = folder_.keep_end(entry.view.job.id, end))
    entry.view.stage = fault->what; // the disk is full: the job is asked again after a new start
}

void JobLine::end_all() {
  const std::lock_guard<std::mutex> hold(lock_);
  const auto began = Clock::now();
  const auto running = [this](const auto& act) {
    for (Entry& entry : entries_)
      if (entry.view.state == JobState::running)
        act(entry);
  };
  running([](Entry& entry) { kill(-entry.child.process, SIGTERM); });
  for (bool left = true; left;) {
    left = false;
    running([&](Entry& entry) {
      if (waitpid(entry.child.process, nullptr, WNOHANG) != 0)
        entry.view.state = JobState::waiting; // for the next server
      else
        left = true;
    });
    if (left && since(began) > kGrace_s)
      running([](Entry& entry) { kill(-entry.child.process, SIGKILL); });
    if (left)
      std::this_thread::sleep_for(std::chrono::milliseconds(10));
  }
}

} // namespace snagmap
