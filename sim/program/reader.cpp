#include "sim/program/reader.hpp"

#include "sim/language/scanner.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstring>

namespace snagmap {
namespace {

std::string shown(const char* begin, const char* end) {
  std::string text(begin, std::min(end, begin + 256));
  for (char& c : text)
    if (static_cast<unsigned char>(c) < 32 || c == 127)
      c = c == '\t' ? ' ' : '?';
  return text;
}

bool ends_by_percent(const std::string& text) {
  const std::size_t last = text.find_last_not_of(" \t\r\n");
  return last != std::string::npos && last > 0 && text[last] == '%';
}

} // namespace

bool ProgramReader::line(const char* begin, const char* end) {
  ++number_;
  read_ += static_cast<double>(end - begin) + 1;
  if (number_ == 1 && end - begin >= 3 && std::memcmp(begin, "\xEF\xBB\xBF", 3) == 0) {
    begin += 3;
    remark(RemarkKind::byte_order_mark, 1);
  }
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
    if (*p != '%')
      remark(RemarkKind::text_after_end, number_);
    return percent_;
  }
  return act(begin, p, end, number_, number_, name_);
}

void ProgramReader::run_from_here(std::string text, const std::string& folder) {
  wants_text_ = false;
  second_percent_ = ends_by_percent(text);
  Flow flow(name_, std::move(text), folder, options_, run_.parameters());
  flow_ = &flow;
  flow.start_at(number_);
  std::string shown_line;
  try {
    while (const Flow::Line* line = flow.next()) {
      number_ = line->main_line;
      const char* p = line->begin;
      while (*p == ' ' || *p == '\t')
        ++p;
      if (p == line->end)
        continue;
      if (!act(line->begin, p, line->end, line->number, line->main_line, *line->file))
        break;
      if (ended_)
        break;
    }
  } catch (const Flow::Stop& stop) {
    const Flow::Line& at = flow.line();
    faults_.add(*at.file, at.number, stop.refusal, shown(at.begin, at.end));
    closed_ = true;
  }
  flow_ = nullptr;
}

Outcome<Path> ProgramReader::finish() {
  if (!ended_ && !closed_)
    unfinished();
  if (!faults_.empty())
    return faults_.take();
  if (percent_ && !closed_ && ended_ && !second_percent_)
    remark(RemarkKind::one_percent, 0);
  return run_.finish();
}

void ProgramReader::refuse(Fault fault) {
  faults_.add(std::move(fault));
  closed_ = true;
}

bool ProgramReader::make_room() {
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

double ProgramReader::estimated_moves() const {
  return 1.02 * static_cast<double>(run_.move_count()) * std::max(1.0, bytes_ / std::max(1.0, read_));
}

Fault ProgramReader::too_long() const {
  const double moves = estimated_moves();
  return Fault(
      fmt::format("the path would take about {:.0f} MB ({:.0f} moves), more than the {:.0f} MB allowed",
                  moves * sizeof(Move) / 1e6, moves, static_cast<double>(options_.path_limit_bytes) / 1e6),
      "split the program", name_, number_);
}

bool ProgramReader::act(const char* begin, const char* p, const char* end, int number, int main_line,
                        const std::string& file) {
  const bool first = !begun_;
  try {
    if (*p == '%')
      return percent_line(p, begin, end, first);
    if (*p == '$' || *p == '?')
      return sender_line(p, begin, end);
    scan_line(begin, end, options_.block_delete, run_.parameters(), block_);
    begun_ = begun_ || block_.words || block_.flow_column > 0;
    begun_text_ = true;
    if (block_.deleted) {
      remark(RemarkKind::skipped_lines, main_line);
      return true;
    }
    if (block_.flow_column > 0 || block_.call > 0) {
      if (!flow_ && !(block_.flow_column > 0 && names_program(begin, end)))
        return !(wants_text_ = true);
      return flow(main_line);
    }
    if (block_.semicolon || block_.message || block_.long_number_column || block_.open_comment ||
        block_.nested_comment || block_.colon || block_.late_number || block_.long_line)
      remarks(main_line);
    run_.run(block_, main_line);
  } catch (const Refusal& refusal) {
    if (run_.full()) {
      refuse(too_long());
      return false;
    }
    begun_ = begun_text_ = true;
    if (const char* what = foreign_construct(begin, end))
      faults_.add(file, number,
                  {static_cast<int>(p - begin) + 1, what,
                   "let the post-processor write plain G0, G1, G2 and G3 moves"},
                  shown(begin, end));
    else
      faults_.add(file, number, refusal, shown(begin, end));
    run_.recover(block_);
    if (flow_)
      flow_->hurry();
  }
  ended_ = run_.ended();
  return true;
}

bool ProgramReader::names_program(const char* begin, const char* end) {
  const char* p = begin + block_.flow_column;
  while (p < end && (*p == ' ' || *p == '\t' || (*p >= '0' && *p <= '9')))
    ++p;
  return p == end || *p == '(' || *p == ';';
}

bool ProgramReader::flow(int main_line) {
  if (block_.flow_column > 0) {
    if (!flow_)
      remark(RemarkKind::program_name, main_line);
    else
      flow_->o_word(block_.flow_column);
    run_.returned();
    return true;
  }
  Block rest = block_; // what stands beside the call is done first
  rest.m_count = 0;
  for (int i = 0; i < block_.m_count; ++i)
    if (block_.m[i].code != block_.call)
      rest.m[rest.m_count++] = block_.m[i];
  rest.present &= ~(letter_bit('P') | letter_bit('L'));
  run_.run(rest, main_line);
  if (flow_->m_call(block_)) {
    run_.returned();
    return true;
  }
  remark(RemarkKind::starts_over, main_line);
  closed_ = true;
  return false;
}

bool ProgramReader::sender_line(const char* p, const char* begin, const char* end) {
  block_.clear();
  begun_text_ = true;
  const auto at = [&](int i) { return p + i < end ? static_cast<char>(p[i] & ~0x20) : '\0'; };
  if (*p == '$' && at(1) == 'J')
    throw Refusal{static_cast<int>(p - begin) + 1, "$J moves the machine by hand: it is no part of a program",
                  "post the program without jogging moves", "$J"};
  if (*p == '$' && at(1) == 'H')
    remark(RemarkKind::homes_first, number_);
  else
    remark(RemarkKind::sender_lines, number_);
  return true;
}

void ProgramReader::unfinished() {
  if (!begun_text_)
    return faults_.add(Fault("the program is empty", "check the name of the file", name_, number_));
  if (!faults_.empty())
    return;
  if (!run_.clear_of_sheet())
    return faults_.add(Fault(
        fmt::format(
            "the program does not end: no M2 or M30, and the tip is left at Z{:.10g} mm, in the sheet: it "
            "may have been cut short",
            run_.tip_z_mm()),
        "check that the file is whole; end it by a retract and M30", name_, number_));
  if (options_.dialect == Dialect::linuxcnc)
    return faults_.add(Fault("the program does not end: no M2, M30 or '%', so it may have been cut short",
                             "check that the file is whole; end it by M30", name_, number_));
  remark(RemarkKind::no_end, 0);
}

bool ProgramReader::percent_line(const char* p, const char* begin, const char* end, bool first) {
  const char* rest = p + 1;
  while (*rest == ' ' || *rest == '\t')
    ++rest;
  block_.clear();
  if (rest != end)
    throw Refusal{static_cast<int>(rest - begin) + 1,
                  "text after '%': a percent sign stands alone on its line", "put the text on the next line"};
  if (first && !percent_) {
    if (begun_text_)
      remark(RemarkKind::late_percent, number_);
    percent_ = begun_text_ = true;
    return true;
  }
  if (!percent_)
    throw Refusal{static_cast<int>(p - begin) + 1, "'%' in the middle: the program did not begin with one",
                  "begin the program with '%'; if two programs stand in this file, split it"};
  closed_ = true;
  return false;
}

void ProgramReader::remarks(int line) {
  if (block_.semicolon)
    remark(RemarkKind::semicolon_comments, line);
  if (block_.long_number_column)
    remark(RemarkKind::long_block_numbers, line);
  if (block_.late_number) {
    if (options_.dialect == Dialect::linuxcnc)
      throw Refusal{block_.late_number, "N after other words: the block number stands first on its line",
                    "move it to the start of the line"};
    remark(RemarkKind::late_block_number, line);
  }
  if (block_.colon) {
    if (options_.dialect != Dialect::either)
      throw Refusal{block_.colon, "':' in place of N", "write N and the number"};
    remark(RemarkKind::colon_block_number, line);
  }
  if (block_.nested_comment) {
    if (options_.dialect == Dialect::linuxcnc)
      throw Refusal{block_.nested_comment, "'(' inside a comment: comments do not nest",
                    "use other brackets inside the comment"};
    remark(RemarkKind::nested_comment, line);
  }
  if (block_.open_comment) {
    if (options_.dialect == Dialect::linuxcnc)
      throw Refusal{block_.open_comment, "comment is not closed on its line", "write ')' at its end"};
    remark(RemarkKind::open_comment, line);
  }
  if (block_.long_line)
    remark(RemarkKind::long_line, line);
  if (block_.message && messages_ < 10) {
    ++messages_;
    run_.remarks().add({RemarkKind::message, line, {shown(block_.message, block_.message_end)}, {}, {}});
  }
}

} // namespace snagmap
