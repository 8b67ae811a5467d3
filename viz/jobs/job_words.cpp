// A job's kind and values as the words of a command line; the words of what a user typed are in files.
#include "viz/jobs/line.hpp"
#include "viz/jobs/results.hpp"

namespace snagmap {
namespace {

using Words = std::vector<std::string>;

Outcome<Words> scenes_of(const ServedFolder& folder, const Job& job) {
  Words scenes;
  for (const std::string& name : job.of) {
    const auto scene = scene_of_result(folder, name);
    if (!scene)
      return Fault("the scene of " + name + " is not known any more", "preview the program again");
    scenes.push_back(scene->string());
  }
  return scenes;
}

} // namespace

Outcome<Words> job_words(const ServedFolder& folder, const Job& job, std::uint64_t memory_bytes) {
  const std::string out = folder.result(job.id).string();
  Words words{to_text(job.kind)};
  const auto add = [&words](std::initializer_list<std::string> more) { words.insert(words.end(), more); };
  if (job.kind == JobKind::preview) {
    add({kJobScene, "--quiet", "--out", out});
    if (memory_bytes > 0)
      add({"--memory", std::to_string(memory_bytes)});
    if (job.quick)
      add({"--quick"});
    if (job.advise)
      add({"--advise"});
    return words;
  }
  if (job.kind == JobKind::fit) {
    const auto piece = job.of.size() == 1 ? result_named(folder.path(), job.of.front()) : std::nullopt;
    const auto walls = piece ? listed_file(folder.path(), *piece, "walls.toml") : std::nullopt;
    if (!walls)
      return Fault("the test piece is not there any more", "plan another");
    add({kJobReadings, "--piece", walls->string(), "--card", kJobCard, "--replace"});
    return words;
  }
  const Outcome<Words> scenes = scenes_of(folder, job);
  if (!scenes)
    return scenes.faults();
  words.insert(words.end(), scenes->begin(), scenes->end());
  add({"--out", out});
  return words;
}

} // namespace snagmap
