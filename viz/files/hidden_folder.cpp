#include "viz/files/hidden_folder.hpp"

#include "viz/files/folder_swap.hpp"

#include <algorithm>
#include <cerrno>
#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>
#include <vector>

namespace snagmap {

namespace fs = std::filesystem;

std::string prefix_beside(const fs::path& place) {
  return "." + place.filename().string() + ".part-";
}

int lock_of(const fs::path& hidden, bool create) {
  const int fd = ::open((hidden / kLockName).c_str(),
                        O_RDWR | O_CLOEXEC | O_NOFOLLOW | (create ? O_CREAT | O_EXCL : 0), 0600);
  if (fd < 0)
    return -1;
  struct stat about = {};
  if (flock(fd, LOCK_EX | LOCK_NB) == 0 && fstat(fd, &about) == 0 && about.st_nlink > 0 &&
      about.st_uid == geteuid()) // in a folder for everybody, others may lay such a thing
    return fd;
  ::close(fd);
  return -1;
}

bool say_phase(int lock, std::string_view phase) {
  return pwrite(lock, phase.data(), phase.size(), 0) == static_cast<ssize_t>(phase.size()) &&
         fsync(lock) == 0;
}

void clear_leftovers(const fs::path& folder, const std::string& prefix, const fs::path& place) {
  std::error_code error;
  std::vector<fs::path> found;
  for (fs::directory_iterator at(folder, error), end; !error && at != end; at.increment(error))
    if (at->path().filename().string().rfind(prefix, 0) == 0 &&
        at->symlink_status(error).type() == fs::file_type::directory)
      found.push_back(at->path());
  for (const fs::path& hidden : found) {
    const int lock = lock_of(hidden, false);
    if (lock < 0) {
      // A run that lives, or no hidden folder of snagmap's; an empty one is of a run killed at its first or
      // last step.
      ::rmdir(hidden.c_str());
      continue;
    }
    char words[32] = {};
    const ssize_t length = pread(lock, words, sizeof words, 0);
    const std::string_view phase(words, static_cast<std::size_t>(std::max<ssize_t>(length, 0)));
    const fs::path made = hidden / kMadeName;
    if (phase == kBuilding) {
      fs::remove_all(made, error);
    } else if (phase == kInstalling && exchange_each(made, place, true)) {
      ::close(lock);
      continue; // it cannot be finished now; nothing is lost
    } else if (phase == kInstalling || phase == kExchanging) {
      retire(made, place);
    }
    if (::rmdir(made.c_str()) == 0 || errno == ENOENT) { // else nothing is known of what is left
      ::unlink((hidden / kLockName).c_str());            // after what it speaks of
      ::rmdir(hidden.c_str());
    }
    ::close(lock);
  }
}

} // namespace snagmap
