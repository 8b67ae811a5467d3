// A result folder that appears whole or not at all: written beside its place, then renamed.
#pragma once

#include "models/fault.hpp"

#include <filesystem>
#include <optional>
#include <string>

namespace snagmap {

class OutputFolder {
public:
  /// Makes a temporary folder beside `place`, and clears away those that killed runs left there.
  /// Fault when `place` is a file, or a folder that holds anything but a result: it will not be replaced.
  static Outcome<OutputFolder> begin(const std::string& place);
  OutputFolder(OutputFolder&& other) noexcept;
  OutputFolder& operator=(OutputFolder&&) = delete;
  ~OutputFolder(); ///< without commit: the temporary folder goes, the old result stays

  const std::filesystem::path& path() const { return temporary_; } ///< write here
  const std::filesystem::path& place() const { return place_; }    ///< where it will stand
  /// Writes a file in the temporary folder.
  std::optional<Fault> write(const std::string& name, const std::string& content) const;
  /// Puts the folder in its place in one step; an old result is removed afterwards.
  std::optional<Fault> commit();

  /// Removes the temporary folder of a running write, if there is one; for the end of a stopped process.
  static void discard_unfinished();

private:
  OutputFolder() = default;
  std::filesystem::path place_, temporary_;
};

} // namespace snagmap
