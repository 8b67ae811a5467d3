#include "sim/study/sweep_run.hpp"

#include "sim/text/whole_file.hpp"
#include "sim/threads/parallel.hpp"

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <chrono>
#include <cstdio>
#include <cstring>
#include <fcntl.h>
#include <filesystem>
#include <fmt/format.h>
#include <map>
#include <mutex>
#include <sstream>
#include <sys/file.h>
#include <tbb/task_arena.h>
#include <unistd.h>

namespace snagmap {
namespace {

namespace fs = std::filesystem;

/// A file that one process at a time may write: locked until closed, and by the kernel when the process ends.
class LockedFile {
public:
  explicit LockedFile(const std::string& name)
      : fd_(open(name.c_str(), O_RDWR | O_CREAT | O_CLOEXEC | O_APPEND, 0644)) {
    if (fd_ >= 0)
      locked_ = flock(fd_, LOCK_EX | LOCK_NB) == 0;
  }
  ~LockedFile() {
    if (fd_ >= 0)
      close(fd_);
  }
  LockedFile(const LockedFile&) = delete;
  LockedFile& operator=(const LockedFile&) = delete;
  bool opened() const { return fd_ >= 0; }
  bool locked() const { return locked_; }
  bool append(const std::string& text) {
    for (std::size_t done = 0; done < text.size();) {
      const ssize_t n = write(fd_, text.data() + done, text.size() - done);
      if (n < 0 && errno == EINTR)
        continue;
      if (n <= 0)
        return false;
      done += static_cast<std::size_t>(n);
    }
    return true;
  }
  bool cut_to(std::size_t size) { return ftruncate(fd_, static_cast<off_t>(size)) == 0; }

private:
  int fd_;
  bool locked_ = false;
};

std::string head_of(const SweepPlan& plan, const Shard& shard) {
  return fmt::format("# snagmap sweep {:016x} shard {}/{}\n", plan.fingerprint, shard.index, shard.count);
}

/// The case a line of the table belongs to; npos when it is none.
std::size_t case_of(const std::string& line) {
  std::size_t number = std::string::npos;
  const char* end = line.data() + line.size();
  const auto [at, error] = std::from_chars(line.data(), end, number);
  return error == std::errc() && at != end && *at == ',' ? number : std::string::npos;
}

Fault fault_of(const fs::path& file, std::string what, std::string way_out) {
  return Fault(std::move(what), std::move(way_out), file.string());
}

/// Lines of a shard's file by case; the length of what is whole in `whole`.
std::map<std::size_t, std::string> lines_of(const std::string& text, std::size_t& whole) {
  std::map<std::size_t, std::string> lines;
  whole = 0;
  for (std::size_t begin = 0, end; (end = text.find('\n', begin)) != std::string::npos; begin = end + 1) {
    const std::string line = text.substr(begin, end + 1 - begin);
    if (const std::size_t number = case_of(line); number != std::string::npos)
      lines.emplace(number, line);
    whole = end + 1;
  }
  return lines;
}

struct ShardFiles {
  fs::path part, finished; ///< while cases are missing, and when none is
};
ShardFiles files_of(const Shard& shard, const std::string& folder) {
  const std::string base =
      (fs::path(folder) / fmt::format("shard-{}-of-{}", shard.index, shard.count)).string();
  return {base + ".part", base + ".csv"};
}

/// Numbers of a shard's cases: every count-th of the plan.
std::vector<std::size_t> cases_of(const SweepPlan& plan, const Shard& shard) {
  std::vector<std::size_t> cases;
  for (std::size_t n = shard.index - 1; n < case_count(plan); n += shard.count)
    cases.push_back(n);
  return cases;
}

/// What an earlier run left of a shard.
struct Left {
  std::map<std::size_t, std::string> lines; ///< by case
  std::size_t whole = 0;                    ///< length of the whole lines: one cut short by a kill goes
};
Outcome<Left> read_left(const fs::path& file, const std::string& head, bool complete) {
  const Outcome<std::string> text = read_whole_file(file.string());
  if (!text)
    return text.faults();
  if ((complete || text->find('\n') != std::string::npos) && text->compare(0, head.size(), head) != 0)
    return fault_of(file, "belongs to another plan or another version of it",
                    "name another folder with --out, or remove the old shards");
  Left left;
  left.lines = lines_of(*text, left.whole);
  return left;
}

/// Runs cases in parallel, appends each line to the file as it comes and adds it to `lines`. False when the
/// file takes no more.
bool run_cases(const SweepPlan& plan, const std::vector<std::size_t>& cases, LockedFile& file,
               std::map<std::size_t, std::string>& lines, SweepRun& run,
               const std::function<bool(std::size_t)>& progress) {
  std::mutex guard;
  bool written = true;
  parallel_each(cases.size(), [&](std::size_t i) {
    {
      const std::lock_guard<std::mutex> hold(guard);
      if (run.stopped || !written)
        return;
    }
    double inside = 0;
    std::string line;
    const auto begun = std::chrono::steady_clock::now();
    // A waiting inner loop must not pick up another case and stack it on top of this one.
    tbb::this_task_arena::isolate([&] { line = run_case(plan, case_at(plan, cases[i]), &inside); });
    const std::chrono::duration<double> spent = std::chrono::steady_clock::now() - begun;
    const std::lock_guard<std::mutex> hold(guard);
    written = written && file.append(line);
    lines.emplace(cases[i], line);
    ++run.ran, run.case_s += spent.count(), run.pipeline_s += inside;
    if (progress && !progress(lines.size()))
      run.stopped = true;
  });
  return written;
}

} // namespace

Outcome<Shard> parse_shard(const std::string& text) {
  Shard shard;
  const std::size_t slash = text.find('/');
  const auto whole = [](const std::string& word, std::size_t& into) {
    const auto [at, error] = std::from_chars(word.data(), word.data() + word.size(), into);
    return error == std::errc() && at == word.data() + word.size();
  };
  if (slash == std::string::npos || !whole(text.substr(0, slash), shard.index) ||
      !whole(text.substr(slash + 1), shard.count) || shard.index < 1 || shard.index > shard.count ||
      shard.count > 1000000)
    return Fault(fmt::format("\"{}\" is no shard", text), "write it as 2/8: the second of eight");
  return shard;
}

Outcome<SweepRun> run_shard(const SweepPlan& plan, const Shard& shard, const std::string& folder,
                            const std::function<bool(std::size_t)>& progress) {
  const auto start = std::chrono::steady_clock::now();
  std::error_code error;
  fs::create_directories(folder, error);
  const auto [part, finished] = files_of(shard, folder);
  LockedFile file(part.string());
  if (!file.opened())
    return fault_of(part, std::string("cannot be written: ") + std::strerror(errno),
                    "name another folder with --out");
  if (!file.locked())
    return fault_of(part, fmt::format("another process is working on shard {}/{}", shard.index, shard.count),
                    "wait for it, or give this process a shard of its own");

  std::vector<std::size_t> cases = cases_of(plan, shard);
  const std::string head = head_of(plan, shard);
  const bool complete = fs::exists(finished, error);
  Outcome<Left> left = read_left(complete ? finished : part, head, complete);
  if (complete)
    fs::remove(part, error);
  if (!left)
    return left.faults();
  SweepRun run;
  run.file = finished.string();
  run.cases = cases.size();
  run.done_before = left->lines.size();
  if (complete)
    return run;
  const Fault full = fault_of(part, "cannot be written", "is the disk full?");
  if (!file.cut_to(left->whole) || (left->whole == 0 && !file.append(head)))
    return full;

  cases.erase(
      std::remove_if(cases.begin(), cases.end(), [&](std::size_t n) { return left->lines.count(n) > 0; }),
      cases.end());
  if (!run_cases(plan, cases, file, left->lines, run, progress))
    return full;
  if (left->lines.size() == run.cases) {
    std::string all = head;
    for (const auto& [number, line] : left->lines)
      all += line;
    if (auto fault = write_whole_file(finished.string(), all))
      return *fault;
    fs::remove(part, error);
  }
  run.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  return run;
}

Outcome<std::string> merge_shards(const SweepPlan& plan, const std::string& folder) {
  std::vector<fs::path> files;
  std::error_code error;
  for (const fs::directory_entry& entry : fs::directory_iterator(folder, error)) {
    const std::string name = entry.path().filename().string();
    if (name.rfind("shard-", 0) == 0 && entry.path().extension() == ".csv")
      files.push_back(entry.path());
  }
  std::sort(files.begin(), files.end());
  const std::string head = fmt::format("# snagmap sweep {:016x} ", plan.fingerprint);
  std::vector<Fault> faults;
  std::map<std::size_t, std::pair<std::string, fs::path>> rows;
  for (const fs::path& file : files) {
    const Outcome<std::string> read = read_whole_file(file.string());
    if (!read) {
      faults.push_back(read.faults().front());
      continue;
    }
    const std::string& text = *read;
    if (text.compare(0, head.size(), head) != 0) {
      faults.push_back(
          fault_of(file, "belongs to another plan or another version of it", "move it out of the folder"));
      continue;
    }
    int line_number = 0;
    std::istringstream in(text);
    for (std::string line; std::getline(in, line);) {
      ++line_number;
      if (line[0] == '#')
        continue;
      const std::size_t number = case_of(line);
      if (number >= case_count(plan)) {
        faults.push_back(Fault("no case of the plan", "was the file changed by hand?", file.string(),
                               line_number, 1, line.substr(0, 110)));
        continue;
      }
      const auto [at, first] = rows.emplace(number, std::make_pair(line + "\n", file));
      if (!first)
        faults.push_back(Fault(
            fmt::format("case {} stands in {} too", number, at->second.second.filename().string()),
            "keep the shards of one division only", file.string(), line_number, 1, line.substr(0, 110)));
    }
  }
  std::size_t missing = 0, first_missing = 0;
  for (std::size_t n = case_count(plan); n-- > 0;)
    if (!rows.count(n))
      ++missing, first_missing = n;
  if (missing > 0)
    faults.push_back(
        fault_of(folder,
                 fmt::format("{} of {} cases are missing, the first is case {}", missing, case_count(plan),
                             first_missing),
                 "run the shards that have not finished; a shard that was stopped goes on where it was"));
  if (!faults.empty())
    return faults;
  std::string table = std::string(sweep_columns()) + "\r\n";
  for (const auto& [number, row] : rows)
    table += row.first;
  return table;
}

} // namespace snagmap
