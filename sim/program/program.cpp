#include "sim/program/program.hpp"

#include "sim/program/interpreter.hpp"
#include "sim/program/scanner.hpp"

#include <fmt/format.h>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <memory>

namespace snagmap {
namespace {

constexpr std::size_t kPiece =
    256 * 1024; ///< read at a time; two of these and the state are all the reader holds
constexpr std::size_t kSample = 1024 * 1024; ///< read before the length of the whole path is estimated

std::string shown(const char* begin, const char* end) {
  std::string text(begin, std::min(end, begin + 256));
  for (char& c : text)
    if (static_cast<unsigned char>(c) < 32 || c == 127)
      c = c == '\t' ? ' ' : '?';
  return text;
}

/// Lines in, faults and a path out: what does not depend on where the text comes from.
class Reader {
public:
  /// `bytes` is the size of the whole program; 0 when it is not known (a pipe).
  Reader(std::string name, double bytes, const ProgramOptions& options)
      : name_(std::move(name)), bytes_(bytes), options_(options), run_(options) {}

  /// One line without its newline; `*end` is '\n', '\r' or 0. False when no more lines are wanted.
  bool line(const char* begin, const char* end) {
    ++number_;
    read_ += static_cast<double>(end - begin) + 1;
    if (number_ == 1 && end - begin >= 3 && std::memcmp(begin, "\xEF\xBB\xBF", 3) == 0) {
      begin += 3;
      run_.notes().once("BOM", 1, "a byte order mark is passed over");
    }
    while (end > begin && end[-1] == '\r')
      --end;
    const char* p = begin;
    while (*p == ' ' || *p == '\t')
      ++p;
    if (p == end)
      return true;
    if (ended_) { // after M2 or M30: nothing is read, but it is said
      if (*p == '%' && percent_) {
        closed_ = true;
        return false;
      }
      run_.notes().once("after end", number_, "text after the end of the program is not read");
      return percent_;
    }
    const bool first = !begun_;
    begun_ = true;
    try {
      if (*p == '%')
        return percent_line(p, begin, end, first);
      scan_line(begin, end, options_.block_delete, run_.parameters(), block_);
      if (block_.deleted) {
        run_.notes().once("block delete", number_, "lines that begin with '/' are skipped");
        return true;
      }
      if (block_.semicolon || block_.message || block_.long_number_column || block_.program_number_column)
        remarks();
      run_.run(block_, number_);
    } catch (const Refusal& refusal) {
      if (run_.full()) {
        refuse(too_long());
        return false;
      }
      faults_.push_back({name_, number_, refusal.column, refusal.what, refusal.way_out, shown(begin, end)});
      run_.recover(block_);
      if (faults_.size() >= static_cast<std::size_t>(std::max(1, options_.fault_limit))) {
        faults_.push_back({name_, 0, 0,
                           fmt::format("{} faults: the rest of the program is not read", faults_.size()),
                           "mend these first", ""});
        closed_ = true;
        return false;
      }
    }
    ended_ = run_.ended();
    return true;
  }

  Outcome<Path> finish() {
    if (!ended_ && !closed_) {
      if (percent_)
        faults_.push_back({name_, number_, 0,
                           "the program does not end: it began with '%' and has no second '%'",
                           "end it by a line with '%'", ""});
      else
        faults_.push_back({name_, number_, 0,
                           begun_ ? "the program does not end: no M2 or M30, so it may have been cut short"
                                  : "the program is empty",
                           "end it by M30", ""});
    }
    if (!faults_.empty())
      return std::move(faults_);
    if (percent_ && !closed_)
      run_.notes().add("the program began with '%' and has no second '%'; it ends by M2 or M30");
    return run_.finish();
  }

  void refuse(Fault fault) {
    faults_.push_back(std::move(fault));
    closed_ = true;
  }
  /// After a first part of the program: makes room for the path it will give, or refuses it at once.
  bool make_room() {
    if (!faults_.empty())
      return true; // no path will come of it
    if (estimated_moves() * sizeof(Move) > 1.1 * static_cast<double>(options_.path_limit_bytes)) {
      refuse(too_long());
      return false;
    }
    run_.reserve(
        std::min(static_cast<std::size_t>(estimated_moves()), options_.path_limit_bytes / sizeof(Move)));
    return true;
  }

private:
  /// As dense as what was read, and 2 % for the rest being denser.
  double estimated_moves() const {
    return 1.02 * static_cast<double>(run_.move_count()) * std::max(1.0, bytes_ / std::max(1.0, read_));
  }
  Fault too_long() const {
    const double moves = estimated_moves();
    return {name_,
            number_,
            0,
            fmt::format("the path would take about {:.0f} MB ({:.0f} moves), more than the {:.0f} MB allowed",
                        moves * sizeof(Move) / 1e6, moves,
                        static_cast<double>(options_.path_limit_bytes) / 1e6),
            "split the program",
            ""};
  }
  bool percent_line(const char* p, const char* begin, const char* end, bool first) {
    const char* rest = p + 1;
    while (*rest == ' ' || *rest == '\t')
      ++rest;
    block_.clear();
    if (rest != end)
      throw Refusal{static_cast<int>(rest - begin) + 1,
                    "text after '%': a percent sign stands alone on its line",
                    "put the text on the next line"};
    if (first) {
      percent_ = true;
      return true;
    }
    if (!percent_)
      throw Refusal{static_cast<int>(p - begin) + 1, "'%' in the middle: the program did not begin with one",
                    "begin the program with '%', or remove this one"};
    closed_ = true;
    return false;
  }

  void remarks() {
    if (block_.semicolon)
      run_.notes().once(";", number_, "';' comments are no part of the standard; they are passed over");
    if (block_.long_number_column)
      run_.notes().once(
          "long N", number_,
          "block numbers of more than 5 digits are no part of the standard; they are passed over");
    if (block_.program_number_column)
      run_.notes().once("O", number_, "O names the program; it changes nothing");
    if (block_.message && messages_ < 10) {
      ++messages_;
      run_.notes().add(fmt::format("line {}: message{}", number_, shown(block_.message, block_.message_end)));
    }
  }

  std::string name_;
  double bytes_, read_ = 0;
  const ProgramOptions& options_;
  Interpreter run_;
  Block block_;
  std::vector<Fault> faults_;
  int number_ = 0, messages_ = 0;
  bool begun_ = false, percent_ = false, ended_ = false, closed_ = false;
};

} // namespace

Outcome<Path> parse_program(const std::string& text, const std::string& name, const ProgramOptions& options) {
  Reader reader(name, static_cast<double>(text.size()), options);
  const char* p = text.data();
  const char* end = p + text.size();
  while (p < end) {
    const char* stop = static_cast<const char*>(std::memchr(p, '\n', static_cast<std::size_t>(end - p)));
    if (!stop)
      stop = end; // the string's own final 0 ends the line
    if (!reader.line(p, stop))
      break;
    p = stop + 1;
  }
  return reader.finish();
}

Outcome<Path> read_program(const std::string& file, const ProgramOptions& options) {
  struct Close {
    void operator()(std::FILE* f) const { std::fclose(f); }
  };
  const std::unique_ptr<std::FILE, Close> in(std::fopen(file.c_str(), "rb"));
  if (!in)
    return Fault{file,
                 0,
                 0,
                 fmt::format("cannot be opened: {}", std::strerror(errno)),
                 "check the name of the program file",
                 ""};
  std::setvbuf(in.get(), nullptr, _IONBF, 0);
  double size = 0; // bytes; 0: not known (a pipe)
  if (std::fseek(in.get(), 0, SEEK_END) == 0) {
    size = static_cast<double>(std::max(0l, std::ftell(in.get())));
    std::rewind(in.get());
  }
  Reader reader(file, size, options);
  // A line is cut short at kPiece characters: far over the longest allowed, so it is refused all the same.
  std::vector<char> buffer(2 * kPiece + 1);
  std::size_t held = 0;
  double taken = 0;
  bool more = true, skipping = false, sampled = false;
  while (more) {
    const std::size_t got = std::fread(buffer.data() + held, 1, kPiece, in.get());
    if (got == 0 && std::ferror(in.get())) {
      reader.refuse({file, 0, 0, fmt::format("cannot be read: {}", std::strerror(errno)),
                     "check that it is a plain file", ""});
      break;
    }
    taken += static_cast<double>(got);
    const char* p = buffer.data();
    const char* end = p + held + got;
    buffer[held + got] = 0;
    while (p < end) {
      const char* stop = static_cast<const char*>(std::memchr(p, '\n', static_cast<std::size_t>(end - p)));
      if (!stop) {
        if (got > 0 && static_cast<std::size_t>(end - p) < kPiece)
          break; // the rest of the line is still to come
        stop = end;
      }
      const bool whole = stop < end;
      if (!skipping && !(more = reader.line(p, stop)))
        break;
      skipping = !whole;
      p = whole ? stop + 1 : end;
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
  return reader.finish();
}

} // namespace snagmap
