#include "viz/jobs/job.hpp"

#include <nlohmann/json.hpp>

namespace snagmap {
namespace {

using Json = nlohmann::json;

constexpr std::size_t kLongest = 200, kMostNames = 64;

template <class Kind> std::optional<Kind> named(const std::string& word, std::initializer_list<Kind> kinds) {
  for (const Kind kind : kinds)
    if (word == to_text(kind))
      return kind;
  return {};
}

bool is_name(const Json& value) {
  return value.is_string() && value.get_ref<const std::string&>().size() <= kLongest;
}

} // namespace

const char* to_text(JobKind kind) {
  switch (kind) {
  case JobKind::preview:
    return "preview";
  case JobKind::compare:
    return "compare";
  case JobKind::coupon:
    return "coupon";
  case JobKind::fit:
    return "fit";
  }
  return "";
}

const char* to_text(JobState state) {
  switch (state) {
  case JobState::waiting:
    return "waiting";
  case JobState::running:
    return "running";
  case JobState::done:
    return "done";
  case JobState::failed:
    return "failed";
  case JobState::cancelled:
    return "cancelled";
  case JobState::late:
    return "late";
  }
  return "";
}

bool is_job_id(const std::string& word) {
  return word.size() > 4 && word.size() < 14 && word.compare(0, 4, "job-") == 0 &&
         word.find_first_not_of("0123456789", 4) == std::string::npos;
}

std::string job_text(const Job& job) {
  Json names = Json::array();
  for (const auto& [ours, theirs] : job.names)
    names.push_back({ours, theirs});
  const Json json{{"id", job.id},       {"kind", to_text(job.kind)}, {"label", job.label},
                  {"quick", job.quick}, {"advise", job.advise},      {"of", job.of},
                  {"names", names}};
  return json.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

std::optional<Job> parse_job(const std::string& text) {
  const Json json = Json::parse(text, nullptr, false);
  if (!json.is_object() || !is_name(json.value("id", Json())) || !is_name(json.value("kind", Json())) ||
      !is_name(json.value("label", Json())) || !json.value("of", Json()).is_array() ||
      !json.value("names", Json()).is_array() || !json.value("quick", Json()).is_boolean() ||
      !json.value("advise", Json()).is_boolean() || json["of"].size() > kMostNames ||
      json["names"].size() > kMostNames)
    return {};
  Job job;
  job.id = json["id"], job.label = json["label"], job.quick = json["quick"], job.advise = json["advise"];
  const auto kind = named(json["kind"].get<std::string>(),
                          {JobKind::preview, JobKind::compare, JobKind::coupon, JobKind::fit});
  if (!is_job_id(job.id) || !kind)
    return {};
  job.kind = *kind;
  for (const Json& one : json["of"])
    if (!is_name(one))
      return {};
    else
      job.of.push_back(one);
  for (const Json& one : json["names"])
    if (!one.is_array() || one.size() != 2 || !is_name(one[0]) || !is_name(one[1]))
      return {};
    else
      job.names.emplace_back(one[0], one[1]);
  return job;
}

std::string end_text(const JobEnd& end) {
  return Json{{"state", to_text(end.state)}, {"status", end.status}}.dump() + "\n";
}

std::optional<JobEnd> parse_end(const std::string& text) {
  const Json json = Json::parse(text, nullptr, false);
  if (!json.is_object() || !is_name(json.value("state", Json())) ||
      !json.value("status", Json()).is_number_integer())
    return {};
  const auto state = named(json["state"].get<std::string>(),
                           {JobState::done, JobState::failed, JobState::cancelled, JobState::late});
  if (!state)
    return {};
  return JobEnd{*state, json["status"]};
}

} // namespace snagmap
