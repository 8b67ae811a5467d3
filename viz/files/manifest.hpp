// The list of what snagmap wrote into a folder: only that may ever be removed or replaced.
#pragma once

#include "models/base/fault.hpp"

#include <cstdint>
#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace snagmap {

constexpr const char* kManifestName = "snagmap-files.json";

struct ListedFile {
  std::uintmax_t bytes = 0;
  std::string sha256; ///< 64 lower-case hexadecimal digits (FIPS 180-4)
};

struct Manifest {
  std::string command;                     ///< that wrote the files, such as "preview"
  std::map<std::string, ListedFile> files; ///< by their name below the folder, "pictures/sheet.png"
};

/// The folder's own list. None when there is no such file, or one that snagmap did not write.
std::optional<Manifest> read_manifest(const std::filesystem::path& folder);
std::string manifest_text(const Manifest& manifest);

/// Whether this is the listed file, unchanged. A link is never one.
bool is_listed(const std::filesystem::path& file, const ListedFile& listed);

/// Lists every file of a folder that snagmap just filled. Fault: one cannot be read.
Outcome<Manifest> manifest_of(const std::filesystem::path& folder, const std::string& command);

/// What stands in a folder, held against its list; names below the folder, folders before what is in them.
struct Standing {
  std::vector<std::string> own;     ///< listed and unchanged
  std::vector<std::string> changed; ///< listed, but changed since
  std::vector<std::string> foreign; ///< everything else, folders and links too; never looked into
  std::vector<std::string> folders; ///< that a listed file names
};
/// `skip`: a name at the top to pass over. Fault: a folder cannot be read.
Outcome<Standing> standing_of(const std::filesystem::path& folder, const Manifest& manifest,
                              const std::string& skip = "");

} // namespace snagmap
