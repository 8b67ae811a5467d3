#include "viz/serve/file_answer.hpp"

#include <httplib.h>

#include <algorithm>
#include <cctype>
#include <fcntl.h>
#include <memory>
#include <sys/stat.h>
#include <unistd.h>

namespace snagmap {
namespace {

constexpr const char
    *kReportPolicy =
        "sandbox allow-scripts; default-src 'none'; script-src 'unsafe-inline' blob: data:; style-src "
        "'unsafe-inline'; img-src data: blob:; media-src data: blob:; font-src data:; connect-src data: "
        "blob:; "
        "base-uri 'none'; form-action 'none'; frame-ancestors 'self'",
    *kFilePolicy = "sandbox; default-src 'none'; style-src 'unsafe-inline'; img-src data:; "
                   "frame-ancestors 'self'";

struct Shown {
  const char* ending;
  const char* type;
  const char* policy;
};

/// What is shown; everything else is saved.
constexpr Shown kShown[] = {{".html", "text/html; charset=utf-8", kReportPolicy},
                            {".png", "image/png", kFilePolicy},
                            {".svg", "image/svg+xml", kFilePolicy},
                            {".txt", "text/plain; charset=utf-8", kFilePolicy},
                            {".csv", "text/plain; charset=utf-8", kFilePolicy},
                            {".toml", "text/plain; charset=utf-8", kFilePolicy},
                            {".json", "text/plain; charset=utf-8", kFilePolicy}};

/// A name for the browser's folder: ours are plain, and nothing else gets into the line.
std::string plain_name(const std::filesystem::path& file) {
  std::string name = file.filename().string();
  std::replace_if(
      name.begin(), name.end(),
      [](unsigned char c) { return !std::isalnum(c) && c != '.' && c != '-' && c != '_'; }, '_');
  return name;
}

} // namespace

void safe_headers(httplib::Response& to, const char* policy) {
  to.set_header("Content-Security-Policy", policy);
  to.set_header("X-Content-Type-Options", "nosniff");
  to.set_header("Cache-Control", "no-store");
  to.set_header("Referrer-Policy", "no-referrer");
  to.set_header("Cross-Origin-Resource-Policy", "same-origin");
  to.set_header("X-Frame-Options", "SAMEORIGIN");
}

bool answer_file(const std::filesystem::path& file, bool save, httplib::Response& to) {
  const int fd = ::open(file.c_str(), O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
  const std::shared_ptr<void> keeper(nullptr, [fd](void*) {
    if (fd >= 0)
      ::close(fd);
  });
  struct stat about = {};
  if (fd < 0 || fstat(fd, &about) != 0 || !S_ISREG(about.st_mode))
    return false;
  const std::string ending = file.extension().string();
  const auto shown = std::find_if(std::begin(kShown), std::end(kShown),
                                  [&](const Shown& one) { return ending == one.ending; });
  const bool saved = save || shown == std::end(kShown);
  safe_headers(to, saved ? kFilePolicy : shown->policy);
  if (saved)
    to.set_header("Content-Disposition", "attachment; filename=\"" + plain_name(file) + "\"");
  const char* type = saved ? "application/octet-stream" : shown->type;
  if (about.st_size == 0) {
    to.set_content("", type);
    return true;
  }
  to.set_content_provider(static_cast<std::size_t>(about.st_size), type,
                          [keeper, fd](std::size_t offset, std::size_t length, httplib::DataSink& sink) {
                            char bytes[1 << 16];
                            const ssize_t n =
                                pread(fd, bytes, std::min(length, sizeof bytes), static_cast<off_t>(offset));
                            return n > 0 && sink.write(bytes, static_cast<std::size_t>(n));
                          });
  return true;
}

} // namespace snagmap
