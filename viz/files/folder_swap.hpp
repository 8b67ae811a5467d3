// Putting a finished folder into the place of an old one, and what was not snagmap's with it.
#pragma once

#include "models/base/fault.hpp"
#include "viz/files/manifest.hpp"

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace snagmap {

/// Whether the two folders can change names in one call without anybody noticing but by what is in the
/// folder: it is the user's own, no mount point, no process stands in it, its group and marks (access lists)
/// can be given to another.
bool can_exchange(const std::filesystem::path& place);

/// Exchanges `made` with the old folder at `place` in one call. What is not snagmap's is in both beforehand
/// (hard links), so it is in its place at every moment. False, and nothing changed, where the file system or
/// the folder does not allow that.
bool exchange_whole(const std::filesystem::path& made, const std::filesystem::path& place,
                    const Standing& old);

/// Moves the listed files of `made` into `place` one by one, each whole, the list last; what they replace,
/// and what only the old list names (`replace_all`), goes to `made` in exchange. Begins where a killed run
/// left off. A step that fails undoes those before it, and is the fault.
std::optional<Fault> exchange_each(const std::filesystem::path& made, const std::filesystem::path& place,
                                   bool replace_all);

/// Removes what the folder's own list names, unchanged, and what is a second name of a file at `place`;
/// everything else is moved to `place`, beside a name that is taken as NAME.kept. Returns what was moved.
std::vector<std::string> retire(const std::filesystem::path& folder, const std::filesystem::path& place);

/// Gives the folder a name beside `place` that is free, NAME-2 and so on; empty when there is none.
std::filesystem::path put_beside(const std::filesystem::path& made, const std::filesystem::path& place);

/// renameat2 that leaves an existing target alone; errno when false.
bool move_to_free_name(const std::filesystem::path& from, const std::filesystem::path& to);

} // namespace snagmap
