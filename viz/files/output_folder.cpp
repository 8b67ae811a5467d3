#include "viz/files/output_folder.hpp"

#include "sim/text/whole_file.hpp"
#include "viz/files/folder_swap.hpp"
#include "viz/files/hidden_folder.hpp"
#include "viz/files/manifest.hpp"

#include <algorithm>
#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <fcntl.h>
#include <fmt/format.h>
#include <mutex>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>
#include <utility>

namespace snagmap {
namespace {

namespace fs = std::filesystem;

constexpr const char* kOtherOut = "name another folder with --out";

/// What discard_unfinished removes; held by a commit while it must not be disturbed.
std::mutex unfinished_lock;
fs::path unfinished, unfinished_place, unfinished_parent;
bool committed = false;

/// Folders on the way to a result that did not come about: from the place's own up to `last`.
void remove_parents(const fs::path& place, const fs::path& last) {
  for (fs::path up = place.parent_path(); !last.empty() && ::rmdir(up.c_str()) == 0 && up != last;)
    up = up.parent_path();
}

fs::path trimmed(const fs::path& path) {
  return path.has_filename() ? path : path.parent_path(); // "out/" names out
}

Fault fault_at(const std::string& place, std::string what, std::string way_out = kOtherOut) {
  return Fault(std::move(what), std::move(way_out), place);
}

std::string some_of(const std::vector<std::string>& names) {
  std::string words;
  for (std::size_t i = 0; i < std::min<std::size_t>(3, names.size()); ++i)
    words += (i > 0 ? ", " : "") + names[i];
  return names.size() > 3 ? words + fmt::format(" and {} more", names.size() - 3) : words;
}

/// Whether the place may take the result, as it stands now.
std::optional<Fault> refusal(const std::string& said, const fs::path& place, const OutputKind& kind,
                             const std::string& skip) {
  struct stat about = {};
  if (lstat(place.c_str(), &about) != 0)
    return errno == ENOENT
               ? std::nullopt
               : std::optional(fault_at(said, std::string("cannot be used: ") + std::strerror(errno)));
  if (S_ISLNK(about.st_mode))
    return fault_at(said, "is a link that leads nowhere");
  if (!S_ISDIR(about.st_mode))
    return fault_at(said, "is a file; a result is a folder");
  if (access(place.c_str(), R_OK | W_OK | X_OK) != 0)
    return fault_at(said, std::string("cannot be written: ") + std::strerror(errno));
  std::error_code error;
  const auto holds_something = [&] {
    for (fs::directory_iterator at(place, error), end; !error && at != end; at.increment(error))
      if (at->path().filename() != skip)
        return true;
    return false;
  };
  if (kind.old == OutputKind::Old::add || !holds_something())
    return error ? std::optional(fault_at(said, "cannot be read: " + error.message())) : std::nullopt;
  if (kind.old == OutputKind::Old::never)
    return fault_at(said, "already exists and is not overwritten");
  const std::optional<Manifest> list = read_manifest(place);
  if (!list) {
    const bool older = fs::exists(place / "result.json", error) ||
                       fs::exists(place / "compare.json", error) ||
                       fs::exists(place / "narrowest.csv", error);
    return fault_at(said, "is a folder that holds no result; it is left alone",
                    older ? std::string(kOtherOut) + "; a result of an earlier version has no " +
                                kManifestName + ": remove it yourself"
                          : kOtherOut);
  }
  if (list->command != kind.command &&
      std::find(kind.over.begin(), kind.over.end(), list->command) == kind.over.end())
    return fault_at(said, fmt::format("holds the result of `snagmap {}`, which `snagmap {}` does not replace",
                                      list->command, kind.command));
  const Outcome<Standing> standing = standing_of(place, *list, skip);
  if (!standing)
    return standing.faults().front();
  if (!standing->changed.empty())
    return fault_at(said,
                    "was changed since snagmap wrote it, and is left alone: " + some_of(standing->changed),
                    "rename or move what was changed, or name another folder with --out");
  return {};
}

} // namespace

struct OutputFolder::State {
  std::string said; ///< the place in the user's words
  fs::path place, hidden, made, first_made_parent;
  OutputKind kind;
  int lock = -1;
  bool only_ours = true; ///< what is made holds nothing but what this run wrote
  std::vector<std::string> notes;

  bool inside() const { return hidden.parent_path() == place; }
  std::string skip() const { return inside() ? hidden.filename().string() : std::string(); }
  void remove_hidden() {
    std::error_code error;
    ::unlink((hidden / kLockName).c_str());
    ::rmdir(hidden.c_str());
    if (lock >= 0)
      ::close(std::exchange(lock, -1));
    remove_parents(place, first_made_parent);
  }
  std::optional<Fault> install(const Manifest& fresh);
};

OutputFolder::OutputFolder(std::unique_ptr<State> state) : state_(std::move(state)) {}
OutputFolder::OutputFolder(OutputFolder&&) noexcept = default;
const fs::path& OutputFolder::path() const {
  return state_->made;
}
const fs::path& OutputFolder::place() const {
  return state_->place;
}
const std::vector<std::string>& OutputFolder::notes() const {
  return state_->notes;
}

Outcome<OutputFolder> OutputFolder::begin(const std::string& place, const OutputKind& kind) {
  auto state = std::make_unique<State>();
  state->said = place, state->kind = kind;
  std::error_code error;
  const fs::path full = trimmed(fs::absolute(place, error).lexically_normal());
  if (error)
    return fault_at(place, "cannot be used: " + error.message());
  // A link to a folder is followed, as by any other program; the folder it leads to is the place.
  state->place = fs::exists(full, error) ? fs::canonical(full, error)
                                         : fs::weakly_canonical(full.parent_path(), error) / full.filename();
  if (error)
    return fault_at(place, "cannot be used: " + error.message());
  const fs::path parent = state->place.parent_path();
  clear_leftovers(parent, prefix_beside(state->place), state->place);
  if (fs::is_directory(state->place, error))
    clear_leftovers(state->place, kPrefixInside, state->place);
  if (auto fault = refusal(place, state->place, kind, ""))
    return *fault;
  const bool stands = fs::is_directory(state->place, error);
  if (!stands) {
    for (fs::path up = parent; up != up.root_path() && !fs::exists(up, error); up = up.parent_path())
      state->first_made_parent = up;
    fs::create_directories(parent, error);
    if (error)
      return fault_at(place, "cannot be made: " + error.message());
  }
  const bool beside = !stands || (kind.old != OutputKind::Old::add && can_exchange(state->place));
  for (int tries = 0; tries < 10 && state->lock < 0; ++tries) { // another run may clear it while it is empty
    std::string name = beside ? (parent / (prefix_beside(state->place) + "XXXXXX")).string()
                              : (state->place / (std::string(kPrefixInside) + "XXXXXX")).string();
    if (!mkdtemp(name.data()))
      return fault_at(place, std::string("cannot be written: ") + std::strerror(errno));
    state->hidden = name, state->made = state->hidden / kMadeName;
    state->lock = lock_of(state->hidden, true);
    if (state->lock < 0 && errno != ENOENT)
      break;
  }
  if (state->lock < 0 || !say_phase(state->lock, kBuilding) || mkdir(state->made.c_str(), 0777) != 0) {
    const int why = errno;
    ::rmdir(state->made.c_str());
    state->remove_hidden();
    return fault_at(place, std::string("cannot be written: ") + std::strerror(why));
  }
  const std::lock_guard<std::mutex> hold(unfinished_lock);
  unfinished = state->hidden, unfinished_place = state->place;
  unfinished_parent = state->first_made_parent, committed = false;
  return OutputFolder(std::move(state));
}

OutputFolder::~OutputFolder() {
  if (!state_ || state_->hidden.empty())
    return;
  const std::lock_guard<std::mutex> hold(unfinished_lock);
  std::error_code error;
  if (state_->only_ours)
    fs::remove_all(state_->made, error);
  else
    retire(state_->made, state_->place);
  state_->remove_hidden();
  unfinished.clear();
}

std::optional<Fault> OutputFolder::write(const std::string& name, const std::string& content) const {
  auto fault = write_whole_file((state_->made / name).string(), content, Existing::replaced, Disk::later);
  if (fault)
    fault->file = (state_->place / name).string();
  return fault;
}

/// Under the lock of the place: checks it again, and lets the new folder take it. A refusal is put beside.
std::optional<Fault> OutputFolder::State::install(const Manifest& fresh) {
  std::optional<Fault> no = refusal(said, place, kind, skip());
  std::error_code error;
  const bool stands = fs::is_directory(place, error);
  const std::optional<Manifest> list = stands ? read_manifest(place) : std::nullopt;
  Standing old;
  if (stands && !no) {
    const Outcome<Standing> standing = standing_of(place, list.value_or(Manifest{}), skip());
    if (standing)
      old = *standing;
    else
      no = standing.faults().front();
  }
  // Only an unchanged file of ours makes way; a folder never makes way for a file.
  std::vector<std::string> taken;
  for (const auto& [name, file] : fresh.files)
    for (fs::path part = name; stands && !part.empty(); part = part.parent_path()) {
      const bool is_name = part == name, folder = fs::is_directory(fs::symlink_status(place / part, error));
      const bool there = fs::exists(fs::symlink_status(place / part, error));
      if (there && (is_name ? std::find(old.own.begin(), old.own.end(), name) == old.own.end() : !folder))
        taken.push_back(part.string());
    }
  if (!no && stands && !list && fs::exists(fs::symlink_status(place / kManifestName, error)))
    taken.push_back(kManifestName);
  if (!no && !taken.empty())
    no = fault_at(said, "holds a file of the same name that is not snagmap's: " + some_of(taken));
  if (no) {
    if (kind.old == OutputKind::Old::add)
      return no;
    const fs::path other = put_beside(made, place);
    if (other.empty())
      return no;
    place = other;
    no->what += fmt::format("; the new result stands in {}", other.string());
    return no;
  }
  if (!stands && move_to_free_name(made, place))
    return {};
  if (!stands)
    return fault_at(said, std::string("cannot be put in its place: ") + std::strerror(errno));
  only_ours = false;
  const auto phase_fault = [&] {
    return fault_at(said, std::string("cannot be put in its place: ") + std::strerror(errno));
  };
  if (!say_phase(lock, kExchanging))
    return phase_fault();
  if (kind.old == OutputKind::Old::add || inside() || !exchange_whole(made, place, old)) {
    if (!say_phase(lock, kInstalling))
      return phase_fault();
    if (auto fault = exchange_each(made, place, kind.old != OutputKind::Old::add))
      return fault;
    say_phase(lock, kExchanging);
  }
  put_on_disk(place.string());
  put_on_disk(place.parent_path().string());
  for (const std::string& name : retire(made, place))
    notes.push_back(name + " in the result folder is not snagmap's and was kept");
  return {};
}

std::optional<Fault> OutputFolder::commit() {
  State& s = *state_;
  std::error_code error;
  std::vector<fs::path> folders;
  for (fs::recursive_directory_iterator at(s.made, error), end; !error && at != end; at.increment(error))
    if (at->is_directory(error))
      folders.push_back(at->path());
  for (auto folder = folders.rbegin(); folder != folders.rend(); ++folder)
    ::rmdir(folder->c_str()); // those that nothing was drawn into
  Outcome<Manifest> fresh = manifest_of(s.made, s.kind.command);
  if (!fresh)
    return fresh.faults().front();
  Manifest listed = *fresh;
  if (s.kind.old == OutputKind::Old::add)
    if (const auto old = read_manifest(s.place))
      listed.files.insert(old->files.begin(), old->files.end());
  if (auto fault = write(kManifestName, manifest_text(listed)))
    return fault;
  for (fs::recursive_directory_iterator at(s.made, error), end; !error && at != end; at.increment(error))
    if (auto fault = put_on_disk(at->path().string()))
      return fault;
  if (auto fault = put_on_disk(s.made.string()))
    return fault;

  const std::lock_guard<std::mutex> hold(unfinished_lock);
  // Runs that end at one time take their turns.
  const int turn = ::open(s.place.parent_path().c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (turn >= 0)
    flock(turn, LOCK_EX);
  auto fault = s.install(*fresh);
  const bool standing =
      fs::exists(s.place / kManifestName, error) && !fs::exists(s.made / kManifestName, error);
  if (standing) {
    put_on_disk(s.place.parent_path().string());
    s.first_made_parent.clear();
    s.remove_hidden();
    s.hidden.clear();
    unfinished.clear();
    committed = true;
  }
  if (turn >= 0)
    ::close(turn);
  return fault;
}

bool OutputFolder::discard_unfinished() {
  const std::lock_guard<std::mutex> hold(unfinished_lock);
  std::error_code error;
  // Twice: another thread may still be adding files.
  for (int i = 0; i < 2 && !unfinished.empty(); ++i)
    fs::remove_all(unfinished / kMadeName, error);
  if (!unfinished.empty())
    fs::remove_all(unfinished, error);
  if (!unfinished.empty())
    remove_parents(unfinished_place, unfinished_parent);
  unfinished.clear();
  return committed;
}

} // namespace snagmap
