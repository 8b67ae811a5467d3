// Files read whole and written whole: no reader ever meets half of one.
#pragma once

#include "models/base/fault.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace snagmap {

/// Why a file cannot be read from its begin to its end: it is not there, or is a folder, a pipe or a device,
/// which would make the reader wait. None for a plain file.
std::optional<Fault> no_plain_file(const std::string& file, const std::string& way_out);

/// Every byte of a plain file. The fault names the cause as the system gives it.
Outcome<std::string> read_whole_file(const std::string& file);

/// What becomes of a file that already bears the name.
enum class Existing { replaced, kept };
/// Whether the call waits until the bytes are on the disk.
enum class Disk { now, later };

/// Writes under another name in the same folder and renames: the file is the old one or the new one, whole. A
/// new file's permissions follow the user's umask, a replaced one's stay; a link is followed. With `kept` an
/// existing file stays as it is and the call is a fault, without a moment in between.
std::optional<Fault> write_whole_file(const std::string& file, std::string_view content,
                                      Existing existing = Existing::replaced, Disk disk = Disk::now);
std::optional<Fault> write_whole_file(const std::string& file, const std::vector<std::uint8_t>& content,
                                      Existing existing = Existing::replaced, Disk disk = Disk::now);

/// Waits until a file, or the names in a folder, are on the disk.
std::optional<Fault> put_on_disk(const std::string& file);

} // namespace snagmap
