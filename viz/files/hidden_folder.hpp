// The hidden folder in which a result is made: its lock, what it says of itself, and what killed runs left of
// theirs.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>

namespace snagmap {

constexpr const char* kLockName = "lock"; // in the hidden folder, beside what is made
constexpr const char* kMadeName = "new";
// What the lock file says of the folder that is made, in words of one length: one write turns one into
// another, and a kill leaves no third.
constexpr std::string_view kBuilding = "building..\n";   // everything in it was written by the run
constexpr std::string_view kExchanging = "exchanging\n"; // it is the new one or the old one, whole
constexpr std::string_view kInstalling = "installing\n"; // some files are the new ones, some the old ones

/// How the names of hidden folders begin, beside a place and in it.
std::string prefix_beside(const std::filesystem::path& place);
constexpr const char* kPrefixInside = ".snagmap.part-";

/// Locks the hidden folder for as long as the process lives; -1 when another process has it.
int lock_of(const std::filesystem::path& hidden, bool create);
/// On the disk when it returns; false: it could not be written.
bool say_phase(int lock, std::string_view phase);
/// Clears what runs that no longer live left beside the place or in it.
void clear_leftovers(const std::filesystem::path& folder, const std::string& prefix,
                     const std::filesystem::path& place);

} // namespace snagmap
