#include "sim/program/program.hpp"

#include "sim/program/reader.hpp"
#include "sim/text/whole_file.hpp"

#include <fmt/format.h>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <memory>
#include <optional>

namespace snagmap {
namespace {

constexpr std::size_t kPiece =
    256 * 1024; ///< read at a time; two of these and the state are all the reader holds
constexpr std::size_t kSample = 1024 * 1024; ///< read before the length of the whole path is estimated

constexpr double kLargestLooped = 256e6; // bytes of a program that is held in memory

std::optional<std::string> whole_text(std::FILE* in, double size) {
  if (!(size > 0 && size <= kLargestLooped) || std::fseek(in, 0, SEEK_SET) != 0)
    return {};
  std::string text(static_cast<std::size_t>(size), '\0');
  text.resize(std::fread(text.data(), 1, text.size(), in));
  return text;
}
std::string folder_of(const std::string& file) {
  const std::string folder = std::filesystem::path(file).parent_path().string();
  return folder.empty() ? "." : folder;
}

} // namespace

Outcome<Path> parse_program(const std::string& text, const std::string& name, const ProgramOptions& options) {
  ProgramReader reader(name, static_cast<double>(text.size()), options);
  const char* p = text.data();
  const char *end = p + text.size(), *stop = end; // the string's own final 0 ends the last line
  while (p < end) {
    const char* after = next_line(p, end, stop);
    if (!reader.line(p, stop))
      break;
    p = after;
  }
  if (reader.wants_text())
    reader.run_from_here(text, "");
  return reader.finish();
}

Outcome<Path> read_program(const std::string& file, const ProgramOptions& options) {
  struct Close {
    void operator()(std::FILE* f) const { std::fclose(f); }
  };
  if (std::optional<Fault> fault = no_plain_file(file, "check the name of the program file"))
    return *fault;
  const std::unique_ptr<std::FILE, Close> in(std::fopen(file.c_str(), "rb"));
  if (!in)
    return Fault(fmt::format("cannot be opened: {}", std::strerror(errno)),
                 "check the name of the program file", file);
  std::setvbuf(in.get(), nullptr, _IONBF, 0);
  std::error_code error;
  const auto size = static_cast<double>(std::filesystem::file_size(file, error));
  ProgramReader reader(file, size, options);
  // A line is cut short at kPiece characters: far over the longest allowed, so it is refused all the same.
  std::vector<char> buffer(2 * kPiece + 1);
  std::size_t held = 0;
  double taken = 0;
  bool more = true, skipping = false, sampled = false;
  while (more) {
    const std::size_t got = std::fread(buffer.data() + held, 1, kPiece, in.get());
    if (got == 0 && std::ferror(in.get())) {
      reader.refuse(Fault(fmt::format("cannot be read: {}", std::strerror(errno)),
                          "check that it is a plain file", file));
      break;
    }
    taken += static_cast<double>(got);
    const char* p = buffer.data();
    const char *end = p + held + got, *stop = end;
    buffer[held + got] = 0;
    while (p < end) {
      const char* after = next_line(p, end, stop);
      // A line, or its CR and LF, may go on in the next piece.
      const bool whole = stop < end && (after < end || *stop == '\n' || got == 0);
      if (!whole && got > 0 && static_cast<std::size_t>(end - p) < kPiece)
        break;
      if (!skipping && !(more = reader.line(p, stop)))
        break;
      skipping = !whole;
      p = whole ? after : end;
    }
    if (got == 0)
      break;
    held = static_cast<std::size_t>(end - p);
    if (p > buffer.data() && held > 0)
      std::memmove(buffer.data(), p, held);
    if (!sampled && size > taken && taken >= kSample) {
      sampled = true;
      if (!reader.make_room())
        break;
    }
  }
  if (reader.wants_text()) {
    if (const auto text = whole_text(in.get(), size))
      reader.run_from_here(*text, folder_of(file));
    else
      reader.refuse(Fault(
          "a program with loops or calls is held in memory, and this one is over 256 MB or no plain file",
          "let the post-processor write it out in full", file));
  }
  return reader.finish();
}

} // namespace snagmap
