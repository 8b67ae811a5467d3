#include "sim/text/whole_file.hpp"

#include <atomic>
#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <fcntl.h>
#include <filesystem>
#include <sys/stat.h>
#include <unistd.h>
#include <utility>

namespace snagmap {
namespace {

namespace fs = std::filesystem;

/// A descriptor that is closed at the end.
class Open {
public:
  Open(const char* file, int flags, mode_t mode = 0) : fd_(::open(file, flags | O_CLOEXEC, mode)) {}
  ~Open() { close(); }
  Open(const Open&) = delete;
  Open& operator=(const Open&) = delete;
  int fd() const { return fd_; }
  bool close() { return fd_ < 0 || ::close(std::exchange(fd_, -1)) == 0; }

private:
  int fd_;
};

bool write_all(int to, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t n = ::write(to, bytes.data(), bytes.size());
    if (n < 0 && errno == EINTR)
      continue;
    if (n <= 0)
      return false;
    bytes.remove_prefix(static_cast<std::size_t>(n));
  }
  return true;
}

Fault cannot(const std::string& file, const char* what, int why) {
  if (why == EEXIST)
    return Fault("already exists and is not overwritten", "name another file", file);
  const char* way_out = why == ENOSPC || why == EDQUOT ? "make room there, or name another place"
                        : why == EACCES || why == EPERM || why == EROFS ? "name a place that you may write to"
                                                                        : "";
  return Fault(std::string(what) + ": " + std::strerror(why), way_out, file);
}

/// A name in the folder of `file` that nobody else has, opened for writing. The permissions are the umask's.
std::string open_beside(const fs::path& file, int& fd) {
  static std::atomic<unsigned> next{0};
  for (int tries = 0; tries < 1000; ++tries) {
    const std::string name =
        (file.parent_path() / ("." + file.filename().string() + ".part-" + std::to_string(::getpid()) + "-" +
                               std::to_string(++next)))
            .string();
    fd = ::open(name.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0666);
    if (fd >= 0 || errno != EEXIST)
      return name;
  }
  return "";
}

} // namespace

std::optional<Fault> no_plain_file(const std::string& file, const std::string& way_out) {
  std::error_code error;
  const fs::file_status status = fs::status(file, error);
  if (status.type() == fs::file_type::not_found)
    return Fault("no such file", way_out, file);
  if (error)
    return cannot(file, "cannot be read", error.value());
  if (fs::is_directory(status))
    return Fault("is a folder", "give the path of the file in it", file);
  if (!fs::is_regular_file(status))
    return Fault("is a pipe or a device, not a file", "save it as a file first", file);
  return {};
}

Outcome<std::string> read_whole_file(const std::string& file) {
  if (std::optional<Fault> fault = no_plain_file(file, ""))
    return *fault;
  const Open in(file.c_str(), O_RDONLY);
  if (in.fd() < 0)
    return cannot(file, "cannot be read", errno);
  std::string text;
  struct stat about = {};
  if (fstat(in.fd(), &about) == 0 && S_ISREG(about.st_mode))
    text.reserve(static_cast<std::size_t>(about.st_size));
  char piece[1 << 16];
  for (;;) {
    const ssize_t n = ::read(in.fd(), piece, sizeof piece);
    if (n < 0 && errno == EINTR)
      continue;
    if (n < 0)
      return cannot(file, "cannot be read", errno);
    if (n == 0)
      return text;
    text.append(piece, static_cast<std::size_t>(n));
  }
}

std::optional<Fault> write_whole_file(const std::string& file, std::string_view content, Existing existing,
                                      Disk disk) {
  std::error_code error;
  fs::path place = file;
  if (existing == Existing::replaced && fs::is_symlink(place, error))
    place = fs::weakly_canonical(place, error); // as an editor does: the link stays
  struct stat old = {};
  const bool there = ::stat(place.c_str(), &old) == 0;
  if (there && existing == Existing::replaced && !S_ISREG(old.st_mode)) {
    if (S_ISDIR(old.st_mode))
      return cannot(file, "cannot be written", EISDIR);
    Open out(place.c_str(), O_WRONLY); // a device or a pipe keeps nothing that a rename could save
    if (out.fd() < 0 || !write_all(out.fd(), content) || !out.close())
      return cannot(file, "cannot be written", errno);
    return {};
  }
  int fd = -1;
  const std::string part = open_beside(place, fd);
  if (fd < 0)
    return cannot(file, "cannot be written", errno);
  const auto fail = [&](int why) {
    ::unlink(part.c_str());
    return cannot(file, "cannot be written", why);
  };
  bool good = write_all(fd, content) && (disk == Disk::later || fsync(fd) == 0);
  if (good && there && existing == Existing::replaced)
    good = fchmod(fd, old.st_mode & 07777) == 0;
  int why = errno;
  if (::close(fd) != 0 && good)
    good = false, why = errno;
  if (!good)
    return fail(why);
  if (existing == Existing::replaced) {
    if (std::rename(part.c_str(), place.c_str()) != 0)
      return fail(errno);
  } else if (renameat2(AT_FDCWD, part.c_str(), AT_FDCWD, place.c_str(), RENAME_NOREPLACE) != 0) {
    if (errno != EINVAL && errno != ENOSYS)
      return fail(errno);
    // A file system without that call: link() too refuses a name that is taken.
    if (::link(part.c_str(), place.c_str()) != 0)
      return fail(errno);
    ::unlink(part.c_str());
  }
  if (disk == Disk::now)
    return put_on_disk(place.has_parent_path() ? place.parent_path().string() : ".");
  return {};
}

std::optional<Fault> write_whole_file(const std::string& file, const std::vector<std::uint8_t>& content,
                                      Existing existing, Disk disk) {
  return write_whole_file(
      file, std::string_view(reinterpret_cast<const char*>(content.data()), content.size()), existing, disk);
}

std::optional<Fault> put_on_disk(const std::string& file) {
  const Open in(file.c_str(), O_RDONLY);
  // Some file systems cannot be asked: what is not known to be lost is no fault.
  if (in.fd() >= 0 && fsync(in.fd()) != 0 && (errno == EIO || errno == ENOSPC || errno == EDQUOT))
    return cannot(file, "cannot be put on the disk", errno);
  return {};
}

} // namespace snagmap
