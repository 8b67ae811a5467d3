// The results of a served folder: only what a list of ours names is shown, saved or deleted.
#pragma once

#include "viz/files/manifest.hpp"
#include "viz/jobs/served_folder.hpp"

#include <ctime>

namespace snagmap {

struct SavedResult {
  std::string name;     ///< of its folder, directly below the served one
  Manifest list;        ///< what snagmap wrote there
  std::time_t made = 0; ///< when the list was written
};

/// Every folder below `served` that has a list of ours, newest first. Links and hidden folders are none.
std::vector<SavedResult> results_in(const std::filesystem::path& served);
std::optional<SavedResult> result_named(const std::filesystem::path& served, const std::string& name);

/// The path of a listed file; nothing when the list does not name it, or it is no plain file below its folder
/// without a link on the way.
std::optional<std::filesystem::path> listed_file(const std::filesystem::path& served,
                                                 const SavedResult& result, const std::string& name);

/// Removes what the list names, unchanged; the folder goes when nothing else is in it. Returns what stays.
Outcome<std::vector<std::string>> delete_result(const std::filesystem::path& served,
                                                const SavedResult& result);

/// The scene a result was made of: the page's own copy, or the file the result names. Nothing: not known.
std::optional<std::filesystem::path> scene_of_result(const ServedFolder& folder, const std::string& name);

/// What `snagmap fit` wrote among a job's inputs, as a result of its own: card, readings and what was said.
std::optional<Fault> put_fit_in_place(const ServedFolder& folder, const Job& job);

} // namespace snagmap
