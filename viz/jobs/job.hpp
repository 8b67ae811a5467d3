// One piece of work the page was asked for: a kind with its values, never a line of words, so that no file of
// jobs can make the program do anything else.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace snagmap {

enum class JobKind { preview, compare, coupon, fit };
const char* to_text(JobKind kind);

struct Job {
  std::string id; ///< "job-12": the name of its inputs' folder and of its result
  JobKind kind = JobKind::preview;
  std::string label; ///< what the user calls it; shown, never a path
  bool quick = false, advise = false;
  std::vector<std::string> of; ///< results it works on, by their names in the served folder
  /// Names of our making and what the user called the files.
  std::vector<std::pair<std::string, std::string>> names;
};

/// "job-" and one to nine digits.
bool is_job_id(const std::string& word);
std::string job_text(const Job& job);
/// Nothing when the text is no job or says more than a job can be.
std::optional<Job> parse_job(const std::string& text);

enum class JobState { waiting, running, done, failed, cancelled, late };
const char* to_text(JobState state);

/// How a job ended; the exit status is the program's own, -1 when a signal ended it.
struct JobEnd {
  JobState state = JobState::failed;
  int status = -1;
};
std::string end_text(const JobEnd& end);
std::optional<JobEnd> parse_end(const std::string& text);

} // namespace snagmap
