#include "viz/files/manifest.hpp"

#include "sim/text/whole_file.hpp"

#include <nlohmann/json.hpp>
#include <openssl/evp.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <memory>
#include <set>
#include <sys/stat.h>
#include <unistd.h>

namespace snagmap {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;

/// Size and checksum of a plain file; nothing for anything else.
std::optional<ListedFile> measured(const fs::path& file) {
  const int fd = ::open(file.c_str(), O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
  if (fd < 0)
    return {};
  struct Closer {
    int fd;
    ~Closer() { ::close(fd); }
  } const closer{fd};
  struct stat about = {};
  if (fstat(fd, &about) != 0 || !S_ISREG(about.st_mode))
    return {};
  const std::unique_ptr<EVP_MD_CTX, void (*)(EVP_MD_CTX*)> sum(EVP_MD_CTX_new(), EVP_MD_CTX_free);
  if (!sum || EVP_DigestInit_ex(sum.get(), EVP_sha256(), nullptr) != 1)
    return {};
  ListedFile listed;
  std::vector<char> piece(1 << 18);
  for (;;) {
    const ssize_t n = ::read(fd, piece.data(), piece.size());
    if (n < 0 && errno == EINTR)
      continue;
    if (n < 0)
      return {};
    if (n == 0)
      break;
    listed.bytes += static_cast<std::uintmax_t>(n);
    if (EVP_DigestUpdate(sum.get(), piece.data(), static_cast<std::size_t>(n)) != 1)
      return {};
  }
  unsigned char digest[EVP_MAX_MD_SIZE];
  unsigned length = 0;
  if (EVP_DigestFinal_ex(sum.get(), digest, &length) != 1)
    return {};
  constexpr char kDigits[] = "0123456789abcdef";
  for (unsigned i = 0; i < length; ++i)
    listed.sha256 += {kDigits[digest[i] >> 4], kDigits[digest[i] & 15]};
  return listed;
}

/// A name that stays below its folder, whatever the list says.
bool stays_below(const std::string& name) {
  const fs::path path(name);
  return !name.empty() && name.find('\0') == std::string::npos && path.is_relative() && path.has_filename() &&
         std::none_of(path.begin(), path.end(),
                      [](const fs::path& part) { return part == ".." || part == "." || part.empty(); });
}

} // namespace

std::optional<Manifest> read_manifest(const fs::path& folder) {
  const fs::path file = folder / kManifestName;
  struct stat about = {};
  constexpr off_t kMost_bytes = 16 << 20;
  if (lstat(file.c_str(), &about) != 0 || !S_ISREG(about.st_mode) || about.st_size > kMost_bytes)
    return {};
  const Outcome<std::string> text = read_whole_file(file.string());
  if (!text)
    return {};
  const Json json = Json::parse(*text, nullptr, false);
  if (!json.is_object() || json.value("written_by", Json()) != "snagmap" || !json.contains("files") ||
      !json["files"].is_array() || !json.value("command", Json()).is_string())
    return {};
  Manifest manifest;
  manifest.command = json["command"].get<std::string>();
  for (const Json& entry : json["files"]) {
    if (!entry.is_object() || !entry.value("name", Json()).is_string() ||
        !entry.value("bytes", Json()).is_number_unsigned() || !entry.value("sha256", Json()).is_string() ||
        !stays_below(entry["name"].get<std::string>()))
      return {};
    manifest.files[entry["name"].get<std::string>()] = {entry["bytes"].get<std::uintmax_t>(),
                                                        entry["sha256"].get<std::string>()};
  }
  return manifest;
}

std::string manifest_text(const Manifest& manifest) {
  std::string text = "{\n  \"written_by\": \"snagmap\",\n  \"about\": \"what snagmap wrote here; only these "
                     "files, unchanged, are ever replaced or removed\",\n  \"command\": " +
                     Json(manifest.command).dump() + ",\n  \"files\": [";
  const char* between = "\n";
  for (const auto& [name, file] : manifest.files) {
    text += between + ("    {\"name\": " + Json(name).dump(-1, ' ', false, Json::error_handler_t::replace)) +
            ", \"bytes\": " + std::to_string(file.bytes) + ", \"sha256\": " + Json(file.sha256).dump() + "}";
    between = ",\n";
  }
  return text + "\n  ]\n}\n";
}

bool is_listed(const fs::path& file, const ListedFile& listed) {
  struct stat about = {};
  if (lstat(file.c_str(), &about) != 0 || !S_ISREG(about.st_mode) ||
      static_cast<std::uintmax_t>(about.st_size) != listed.bytes)
    return false;
  const auto now = measured(file);
  return now && now->bytes == listed.bytes && now->sha256 == listed.sha256;
}

Outcome<Manifest> manifest_of(const fs::path& folder, const std::string& command) {
  Manifest manifest;
  manifest.command = command;
  std::error_code error;
  for (fs::recursive_directory_iterator at(folder, error), end; at != end; at.increment(error)) {
    if (error)
      break;
    if (!at->is_regular_file(error))
      continue;
    const std::string name = at->path().lexically_relative(folder).string();
    if (name == kManifestName)
      continue;
    const auto file = measured(at->path());
    if (!file)
      return Fault("cannot be read back", "is the disk sound?", at->path().string());
    manifest.files[name] = *file;
  }
  if (error)
    return Fault("cannot be read back: " + error.message(), "", folder.string());
  return manifest;
}

Outcome<Standing> standing_of(const fs::path& folder, const Manifest& manifest, const std::string& skip) {
  std::set<std::string> folders;
  for (const auto& [name, file] : manifest.files)
    for (fs::path up = fs::path(name).parent_path(); !up.empty(); up = up.parent_path())
      folders.insert(up.string());
  Standing standing;
  std::error_code error;
  for (fs::recursive_directory_iterator at(folder, error), end; !error && at != end; at.increment(error)) {
    const std::string name = at->path().lexically_relative(folder).string();
    const bool is_folder = at->symlink_status(error).type() == fs::file_type::directory;
    const auto listed = manifest.files.find(name);
    if (name == skip || name == kManifestName) {
      if (is_folder)
        at.disable_recursion_pending();
    } else if (is_folder && folders.count(name)) {
      standing.folders.push_back(name);
    } else if (is_folder) {
      at.disable_recursion_pending();
      standing.foreign.push_back(name);
    } else if (listed == manifest.files.end()) {
      standing.foreign.push_back(name);
    } else {
      (is_listed(at->path(), listed->second) ? standing.own : standing.changed).push_back(name);
    }
  }
  if (error)
    return Fault("cannot be read: " + error.message(), "name another folder with --out", folder.string());
  std::sort(standing.changed.begin(), standing.changed.end());
  std::sort(standing.foreign.begin(), standing.foreign.end());
  return standing;
}

} // namespace snagmap
