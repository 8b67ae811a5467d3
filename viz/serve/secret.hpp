// What lets a person in: random words that only the address the command prints holds.
#pragma once

#include <string>

namespace snagmap {

/// 128 bits of the system's generator, as 32 hexadecimal digits. Throws when it has none.
std::string random_secret();
/// Whether both are equal, in a time that does not tell where they differ.
bool same_secret(const std::string& a, const std::string& b);

} // namespace snagmap
