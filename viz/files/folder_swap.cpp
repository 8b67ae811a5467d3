#include "viz/files/folder_swap.hpp"

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <fcntl.h>
#include <functional>
#include <sys/stat.h>
#include <sys/xattr.h>
#include <unistd.h>

namespace snagmap {
namespace {

namespace fs = std::filesystem;

bool same_file(const struct stat& a, const struct stat& b) {
  return a.st_dev == b.st_dev && a.st_ino == b.st_ino;
}
bool look_at(const fs::path& file, struct stat& about) {
  return lstat(file.c_str(), &about) == 0;
}

/// Access lists and the like, which a new folder would not have.
bool has_marks(const fs::path& folder) {
  char names[4096];
  const ssize_t length = llistxattr(folder.c_str(), names, sizeof names);
  for (ssize_t at = 0; at < length; at += static_cast<ssize_t>(std::strlen(names + at)) + 1)
    if (std::string(names + at) != "security.selinux")
      return true;
  return length < 0 && errno == ERANGE;
}

bool is_mount_point(const fs::path& folder) {
  struct statx about = {};
  return statx(AT_FDCWD, folder.c_str(), AT_SYMLINK_NOFOLLOW, STATX_BASIC_STATS, &about) == 0 &&
         (about.stx_attributes_mask & STATX_ATTR_MOUNT_ROOT) != 0 &&
         (about.stx_attributes & STATX_ATTR_MOUNT_ROOT) != 0;
}

/// A shell whose folder is exchanged would stand in one that is gone. Other users' processes are not seen.
bool somebody_stands_in(const fs::path& folder) {
  std::error_code error;
  for (fs::directory_iterator at("/proc", error), end; !error && at != end; at.increment(error)) {
    std::error_code unseen;
    const fs::path where = fs::read_symlink(at->path() / "cwd", unseen);
    if (!unseen &&
        std::mismatch(folder.begin(), folder.end(), where.begin(), where.end()).first == folder.end())
      return true;
  }
  return false;
}

/// The folder's owner, group and permissions for another one.
bool copy_owner(const struct stat& from, const fs::path& to) {
  struct stat now = {};
  if (!look_at(to, now))
    return false;
  if ((now.st_uid != from.st_uid || now.st_gid != from.st_gid) &&
      lchown(to.c_str(), from.st_uid, from.st_gid) != 0)
    return false;
  return chmod(to.c_str(), from.st_mode & 07777) == 0;
}

/// A second name for a file, or a folder of second names.
bool link_tree(const fs::path& from, const fs::path& to, dev_t device) {
  struct stat about = {};
  if (!look_at(from, about) || about.st_dev != device)
    return false;
  if (!S_ISDIR(about.st_mode))
    return linkat(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), 0) == 0;
  if (has_marks(from) || is_mount_point(from) || mkdir(to.c_str(), 0700) != 0)
    return false;
  std::error_code error;
  for (fs::directory_iterator at(from, error), end; !error && at != end; at.increment(error))
    if (!link_tree(at->path(), to / at->path().filename(), device))
      return false;
  const timespec times[2] = {about.st_atim, about.st_mtim};
  return !error && copy_owner(about, to) && utimensat(AT_FDCWD, to.c_str(), times, 0) == 0;
}

/// Takes second names away again: what has no first one at `first` stays.
void unlink_tree(const fs::path& second, const fs::path& first) {
  struct stat a = {}, b = {};
  if (!look_at(second, a))
    return;
  if (!S_ISDIR(a.st_mode)) {
    if (look_at(first, b) && same_file(a, b))
      ::unlink(second.c_str());
    return;
  }
  std::error_code error;
  std::vector<fs::path> inside;
  for (fs::directory_iterator at(second, error), end; !error && at != end; at.increment(error))
    inside.push_back(at->path().filename());
  for (const fs::path& name : inside)
    unlink_tree(second / name, first / name);
  ::rmdir(second.c_str());
}

bool exchange(const fs::path& a, const fs::path& b) {
  if (renameat2(AT_FDCWD, a.c_str(), AT_FDCWD, b.c_str(), RENAME_EXCHANGE) == 0)
    return true;
  struct stat about = {};
  if ((errno != EINVAL && errno != ENOSYS) || !look_at(b, about) || !S_ISREG(about.st_mode))
    return false;
  // A file system without that call: b is never without a file.
  const fs::path aside = a.string() + ".old";
  if (::link(b.c_str(), aside.c_str()) != 0)
    return false;
  if (std::rename(a.c_str(), b.c_str()) != 0) {
    ::unlink(aside.c_str());
    return false;
  }
  return std::rename(aside.c_str(), a.c_str()) == 0;
}

/// What a replaced file's user made of its permissions stays.
void keep_mode(const fs::path& made, const fs::path& old) {
  struct stat about = {};
  if (look_at(old, about) && S_ISREG(about.st_mode))
    chmod(made.c_str(), about.st_mode & 07777);
}

/// Moves to the first name that is free.
std::string move_kept(const fs::path& from, const fs::path& place, const std::string& name) {
  std::error_code error;
  fs::create_directories((place / name).parent_path(), error);
  for (int n = 0; n < 1000; ++n) {
    const std::string tried = n == 0 ? name : n == 1 ? name + ".kept" : name + ".kept-" + std::to_string(n);
    if (move_to_free_name(from, place / tried))
      return tried;
    if (errno != EEXIST && errno != ENOTEMPTY)
      break;
  }
  return "";
}

void retire_part(const fs::path& folder, const fs::path& place, const fs::path& below,
                 const std::optional<Manifest>& list, std::vector<std::string>& moved) {
  std::error_code error;
  std::vector<fs::path> names;
  for (fs::directory_iterator at(folder / below, error), end; !error && at != end; at.increment(error))
    names.push_back(below / at->path().filename());
  for (const fs::path& name : names) {
    struct stat here = {}, there = {};
    if (!look_at(folder / name, here) || (list && name == kManifestName))
      continue; // the list goes last: it says to whom the others belong when a kill comes between
    const bool stands = look_at(place / name, there);
    if (S_ISDIR(here.st_mode)) {
      const std::string inside = name.string() + "/";
      const auto first = list ? list->files.lower_bound(inside) : decltype(list->files.begin())();
      const bool own = list && first != list->files.end() && first->first.rfind(inside, 0) == 0;
      if (!own && !stands && !move_kept(folder / name, place, name.string()).empty()) {
        moved.push_back(name.string());
        continue;
      }
      retire_part(folder, place, name, list, moved);
      ::rmdir((folder / name).c_str());
      continue;
    }
    const auto listed =
        list ? list->files.find(name.string()) : std::map<std::string, ListedFile>::const_iterator();
    const bool own = list && listed != list->files.end() && is_listed(folder / name, listed->second);
    if (own || (stands && same_file(here, there)))
      ::unlink((folder / name).c_str());
    else if (const std::string to = move_kept(folder / name, place, name.string()); !to.empty())
      moved.push_back(to);
  }
}

} // namespace

bool move_to_free_name(const fs::path& from, const fs::path& to) {
  if (renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), RENAME_NOREPLACE) == 0)
    return true;
  if (errno != EINVAL && errno != ENOSYS)
    return false;
  struct stat about = {};
  if (look_at(to, about)) {
    errno = EEXIST;
    return false;
  }
  return std::rename(from.c_str(), to.c_str()) == 0;
}

bool can_exchange(const fs::path& place) {
  struct stat about = {}, up = {};
  return look_at(place, about) && look_at(place.parent_path(), up) && about.st_uid == geteuid() &&
         about.st_dev == up.st_dev && access(place.parent_path().c_str(), W_OK | X_OK) == 0 &&
         !is_mount_point(place) && !has_marks(place) && !somebody_stands_in(place);
}

bool exchange_whole(const fs::path& made, const fs::path& place, const Standing& old) {
  struct stat about = {}, fresh = {};
  if (!can_exchange(place) || !look_at(place, about) || !look_at(made, fresh))
    return false;
  for (const std::string& name : old.own)
    keep_mode(made / name, place / name);
  bool good = true;
  std::error_code error;
  for (const std::string& name : old.foreign) {
    fs::create_directories((made / name).parent_path(), error);
    good = good && link_tree(place / name, made / name, about.st_dev);
  }
  good = good && copy_owner(about, made) &&
         renameat2(AT_FDCWD, made.c_str(), AT_FDCWD, place.c_str(), RENAME_EXCHANGE) == 0;
  if (!good) {
    for (const std::string& name : old.foreign)
      unlink_tree(made / name, place / name);
    chmod(made.c_str(), 0700);
  }
  return good;
}

std::optional<Fault> exchange_each(const fs::path& made, const fs::path& place, bool replace_all) {
  const std::optional<Manifest> fresh = read_manifest(made), old = read_manifest(place);
  if (!fresh)
    return {}; // all of it was moved before
  std::vector<std::function<void()>> undo;
  std::error_code error;
  const auto failed = [&](const std::string& name) {
    const int why = errno;
    for (auto step = undo.rbegin(); step != undo.rend(); ++step)
      (*step)();
    return Fault(std::string("cannot be put in its place: ") + std::strerror(why),
                 "the old files stand as they were; name another folder with --out", (place / name).string());
  };
  const auto take_in = [&](const std::string& name) {
    const fs::path from = made / name, to = place / name;
    fs::create_directories(to.parent_path(), error);
    struct stat about = {};
    if (look_at(to, about)) {
      keep_mode(from, to);
      if (!exchange(from, to))
        return false;
      undo.push_back([from, to] { exchange(from, to); });
      return true;
    }
    if (!move_to_free_name(from, to))
      return false;
    undo.push_back([from, to] { move_to_free_name(to, from); });
    return true;
  };
  for (const auto& [name, file] : fresh->files)
    if (is_listed(made / name, file) && !take_in(name)) // else it was moved before
      return failed(name);
  if (replace_all && old)
    for (const auto& [name, file] : old->files) {
      if (fresh->files.count(name) || !is_listed(place / name, file))
        continue;
      const fs::path from = place / name, to = made / name;
      fs::create_directories(to.parent_path(), error);
      if (!move_to_free_name(from, to))
        return failed(name);
      undo.push_back([from, to] { move_to_free_name(to, from); });
      for (fs::path up = from.parent_path(); up != place; up = up.parent_path())
        if (::rmdir(up.c_str()) != 0)
          break;
    }
  if (!take_in(kManifestName))
    return failed(kManifestName);
  return {};
}

std::vector<std::string> retire(const fs::path& folder, const fs::path& place) {
  std::vector<std::string> moved;
  const std::optional<Manifest> list = read_manifest(folder);
  retire_part(folder, place, {}, list, moved);
  if (list)
    ::unlink((folder / kManifestName).c_str());
  ::rmdir(folder.c_str());
  return moved;
}

fs::path put_beside(const fs::path& made, const fs::path& place) {
  for (const fs::path& first : {place, place / (place.filename().string() + "-result")})
    for (int n = 2; n < 100; ++n) {
      const fs::path tried = first.string() + "-" + std::to_string(n);
      if (move_to_free_name(made, tried))
        return tried;
      if (errno != EEXIST && errno != ENOTEMPTY)
        break;
    }
  return {};
}

} // namespace snagmap
