// A result folder that appears whole or not at all, and costs nobody a file that snagmap did not write.
#pragma once

#include "models/base/fault.hpp"

#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace snagmap {

/// What a command writes, and what may stand there already.
struct OutputKind {
  std::string command;                ///< as the list of files names it
  std::vector<std::string> over = {}; ///< further commands whose results this one replaces
  /// `whole`: an old result of these commands goes. `never`: a folder that holds anything is refused. `add`:
  /// files of the same name go, the rest of the folder stays, whatever it is.
  enum class Old { whole, never, add } old = Old::whole;
};

/// The files are made in a hidden folder. Its lock is held while the process lives: what a killed run left is
/// cleared away by the next. The folder in the place is exchanged whole, or file by file where it is the
/// current folder of a process, a mount point, another user's, or marked in a way that a new one would not
/// be; a link to a folder is followed; permissions stay. Files that are not snagmap's are kept; a file of
/// snagmap's that somebody changed is never overwritten.
class OutputFolder {
public:
  /// Checks the place and makes the hidden folder. Faults: `place` is no folder, holds something but no
  /// result, a result of another kind or one changed by hand, or cannot be written.
  static Outcome<OutputFolder> begin(const std::string& place, const OutputKind& kind);
  OutputFolder(OutputFolder&& other) noexcept;
  OutputFolder& operator=(OutputFolder&&) = delete;
  ~OutputFolder(); ///< without commit: the hidden folder goes, the old result stays

  const std::filesystem::path& path() const; ///< write here
  /// Where it will stand; after commit, where it stands.
  const std::filesystem::path& place() const;
  /// Writes a file in the hidden folder.
  std::optional<Fault> write(const std::string& name, const std::string& content) const;
  /// Lists the files, puts them on the disk, checks the place again and puts them there. When somebody
  /// changed the place meanwhile, the result is put beside it and the fault says where.
  std::optional<Fault> commit();
  /// What the user should know after a commit.
  const std::vector<std::string>& notes() const;

  /// For the end of a stopped process: waits for a commit in its last step, else removes the hidden folder.
  /// True when a result was put in its place.
  static bool discard_unfinished();

private:
  struct State;
  explicit OutputFolder(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

} // namespace snagmap
