// A file of a result as an answer: shown where that is harmless, saved otherwise, never run as part of the
// page.
#pragma once

#include <filesystem>

namespace httplib {
struct Response;
}

namespace snagmap {

/// What every answer has: this policy, the type as stated, no copy kept, nothing told to other pages.
void safe_headers(httplib::Response& to, const char* policy);
/// False when the file cannot be read. A report's own script runs in a sandbox without an origin, which
/// reaches neither this page nor any network; what no browser shows, or with `save`, is saved.
bool answer_file(const std::filesystem::path& file, bool save, httplib::Response& to);

} // namespace snagmap
