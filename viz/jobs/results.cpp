#include "viz/jobs/results.hpp"

#include "sim/text/whole_file.hpp"
#include "viz/files/data_files.hpp"
#include "viz/files/output_folder.hpp"

#include <algorithm>
#include <sys/stat.h>
#include <unistd.h>

namespace snagmap {
namespace {

namespace fs = std::filesystem;

bool is_plain_folder(const fs::path& path) {
  std::error_code error;
  return fs::symlink_status(path, error).type() == fs::file_type::directory;
}

} // namespace

std::optional<SavedResult> result_named(const fs::path& served, const std::string& name) {
  if (name.empty() || name[0] == '.' || name.find_first_of(std::string("/\\\0", 3)) != std::string::npos ||
      !is_plain_folder(served / name))
    return {};
  std::optional<Manifest> list = read_manifest(served / name);
  struct stat about = {};
  if (!list || lstat((served / name / kManifestName).c_str(), &about) != 0)
    return {};
  return SavedResult{name, std::move(*list), about.st_mtime};
}

std::vector<SavedResult> results_in(const fs::path& served) {
  std::vector<SavedResult> results;
  std::error_code error;
  for (fs::directory_iterator at(served, error), end; !error && at != end; at.increment(error))
    if (auto result = result_named(served, at->path().filename().string()))
      results.push_back(std::move(*result));
  std::sort(results.begin(), results.end(), [](const SavedResult& a, const SavedResult& b) {
    return std::make_tuple(b.made, b.name.size(), b.name) < std::make_tuple(a.made, a.name.size(), a.name);
  });
  return results;
}

std::optional<fs::path> listed_file(const fs::path& served, const SavedResult& result,
                                    const std::string& name) {
  if (result.list.files.count(name) == 0 && name != kManifestName)
    return {};
  std::error_code error;
  const fs::path file = served / result.name / name;
  if (fs::symlink_status(file, error).type() != fs::file_type::regular || fs::canonical(file, error) != file)
    return {};
  return file;
}

Outcome<std::vector<std::string>> delete_result(const fs::path& served, const SavedResult& result) {
  const fs::path folder = served / result.name;
  const Outcome<Standing> standing = standing_of(folder, result.list);
  if (!standing)
    return standing.faults();
  std::vector<std::string> stays = standing->changed;
  stays.insert(stays.end(), standing->foreign.begin(), standing->foreign.end());
  // Under a hidden name first: a kill in the middle leaves no half result where results are looked for.
  fs::path at = folder;
  if (stays.empty()) {
    at = served / ("." + result.name + ".deleted");
    std::error_code error;
    fs::rename(folder, at, error);
    if (error)
      return Fault("cannot be deleted: " + error.message(), "is the folder yours?", folder.string());
  }
  ::unlink((at / kManifestName).c_str());
  for (const std::string& name : standing->own)
    ::unlink((at / name).c_str());
  for (auto up = standing->folders.rbegin(); up != standing->folders.rend(); ++up)
    ::rmdir((at / *up).c_str());
  ::rmdir(at.c_str());
  return stays;
}

std::optional<fs::path> scene_of_result(const ServedFolder& folder, const std::string& name) {
  std::error_code error;
  if (is_job_id(name)) {
    const fs::path own = folder.inputs(name) / kJobScene;
    if (fs::is_regular_file(own, error))
      return own;
  }
  const auto result = result_named(folder.path(), name);
  const auto file = result ? listed_file(folder.path(), *result, kSceneFileName) : std::nullopt;
  if (!file)
    return {};
  const Outcome<std::string> text = read_whole_file(file->string());
  const fs::path scene = text ? fs::path(text->substr(0, text->find('\n'))) : fs::path();
  // Absolute, so that it is never taken for an option.
  if (!scene.is_absolute() || scene.extension() != ".toml" || !fs::is_regular_file(scene, error))
    return {};
  return scene;
}

std::optional<Fault> put_fit_in_place(const ServedFolder& folder, const Job& job) {
  const fs::path inputs = folder.inputs(job.id);
  Outcome<OutputFolder> place =
      OutputFolder::begin(folder.result(job.id).string(), {"fit", {}, OutputKind::Old::never});
  if (!place)
    return place.faults().front();
  for (const auto& [from, to] :
       {std::pair{kJobCard, kJobCard}, {kJobReadings, kJobReadings}, {kOutFile, "fit.txt"}}) {
    const Outcome<std::string> text = read_whole_file((inputs / from).string());
    if (!text)
      return text.faults().front();
    if (auto fault = place->write(to, *text))
      return fault;
  }
  return place->commit();
}

} // namespace snagmap
