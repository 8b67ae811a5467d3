// What is said of a program's reading, one sentence a kind. {0}, {1}, {2}: the remark's words.
#include "viz/words/note_words.hpp"

#include <fmt/args.h>
#include <fmt/format.h>

namespace snagmap {
namespace {

constexpr std::size_t kMostWords = 3; // of any sentence

const char* sentence(RemarkKind kind) {
  switch (kind) {
  case RemarkKind::byte_order_mark:
    return "a byte order mark is passed over";
  case RemarkKind::text_after_end:
    return "text after the end of the program is not read";
  case RemarkKind::skipped_lines:
    return "lines that begin with '/' are skipped";
  case RemarkKind::program_name:
    return "O names the program; it changes nothing";
  case RemarkKind::starts_over:
    return "M99 in the main program starts it over for ever; it is read once, up to here";
  case RemarkKind::homes_first:
    return "$H homes the machine before the work: the tip is taken to stand at the start place after it";
  case RemarkKind::sender_lines:
    return "lines that begin with '$' or '?' speak to the sender; they are passed over";
  case RemarkKind::late_percent:
    return "'%' stands after the first comment; what is before it is passed over";
  case RemarkKind::one_percent:
    return "the program began with '%' and has no second '%'; it ends by M2 or M30";
  case RemarkKind::no_end:
    return "the program has no M2 or M30: its end may be cut off";
  case RemarkKind::semicolon_comments:
    return "';' comments are no part of the standard; they are passed over";
  case RemarkKind::long_block_numbers:
    return "block numbers of more than 5 digits are no part of the standard; they are passed over";
  case RemarkKind::late_block_number:
    return "N after other words is passed over, as GRBL does; LinuxCNC refuses it";
  case RemarkKind::colon_block_number:
    return "':' and a number before words is read as N, as some controls have it";
  case RemarkKind::nested_comment:
    return "'(' inside a comment is text, as GRBL has it: the first ')' ends the comment; LinuxCNC refuses "
           "it";
  case RemarkKind::open_comment:
    return "a comment without ')' ends with its line, as GRBL has it; LinuxCNC refuses it";
  case RemarkKind::long_line:
    return "a line of over 256 characters with its comments; controls may cut it off";
  case RemarkKind::message:
    return "message{0}";
  case RemarkKind::feed_with_units:
    return "F stands with a change of units: it is read in the units before, as the order of doing has it";
  case RemarkKind::dwell_by_x:
    return "G4 X is read as seconds, as some controls have it; LinuxCNC and GRBL take P";
  case RemarkKind::long_dwell:
    return "G4 {0} is taken as seconds; some controls mean milliseconds";
  case RemarkKind::change_without_tool:
    return "M6 without a T word: the only cutter is meant";
  case RemarkKind::second_tool:
    return "{0} after {1}, and one cutter only is described: it is taken for both";
  case RemarkKind::empty_spindle:
    return "T0 M6 empties the spindle by the standard; the only cutter is meant";
  case RemarkKind::spindle_and_coolant:
    return "{0} starts the spindle and the coolant, as some controls have it";
  case RemarkKind::anticlockwise:
    return "M4 turns the spindle anticlockwise: a right-hand cutter does not cut that way";
  case RemarkKind::no_speed:
    return "the spindle is started without a speed (S)";
  case RemarkKind::coolant:
    return "coolant is switched on; nothing is modelled for it";
  case RemarkKind::spindle_held:
    return "M19 turns the spindle to an angle and holds it there: it stands still";
  case RemarkKind::owners_code:
    return "{0} is a code of the machine's owner; nothing is modelled";
  case RemarkKind::output_code:
    return "{0} switches an output; nothing is modelled";
  case RemarkKind::overrides:
    return "feed and speed overrides are a matter of the operator; nothing is modelled";
  case RemarkKind::foreign_units:
    return "{0} is read as {1}, {2}, as some controls have it";
  case RemarkKind::units_change:
    return "the program changes its units; pictures and tables keep the first";
  case RemarkKind::units_assumed:
    return "the program names no units (G20, G21): millimetres are assumed";
  case RemarkKind::joined_moves:
    return "G64 Q lets LinuxCNC join short moves; every move is kept here";
  case RemarkKind::path_deviation:
    return "G64 P is no part of the standard: P is read as the path deviation at corners";
  case RemarkKind::centres_absolute:
    return "G90.1 is no part of the standard: I J K are read as places of the centre";
  case RemarkKind::centres_from_start:
    return "G91.1 is no part of the standard: I J K are read from the start point";
  case RemarkKind::ended_function:
    return "{0} ends a function that is not read; it changes nothing";
  case RemarkKind::first_cutter:
    return "the program names no tool: the first cutter is assumed";
  case RemarkKind::tool_not_changed:
    return "{0} is picked, but no M6 changes to it: the cutter does not change during the program";
  case RemarkKind::axis_at_zero:
    return "{0} stands at 0 throughout: the axis is passed over";
  case RemarkKind::motion_without_axes:
    return "{0} without axis words sets the motion and moves nothing";
  case RemarkKind::axes_after_cycle:
    return "axis words after G80 move by {0}, the motion before the cycle, as some controls do; LinuxCNC and "
           "GRBL refuse them";
  case RemarkKind::motion_at_start:
    return "axis words before any motion code move by G0, the state in which GRBL begins; LinuxCNC refuses "
           "them";
  case RemarkKind::cycle_end_beside_motion:
    return "G80 ends any cycle, and {0} on its line is the motion";
  case RemarkKind::motion_beside_home:
    return "{0} beside {1}: the axis words are those of the way home, as many controls have it; LinuxCNC and "
           "GRBL refuse the line";
  case RemarkKind::straight_rapids:
    return "rapid moves are taken as straight lines; a control may let each axis run at its own speed";
  case RemarkKind::start_assumed:
    return "the tip is taken to start at {place}";
  case RemarkKind::full_circle:
    return "{0} without {1} and {2}: read as a full circle, as LinuxCNC does; GRBL refuses it";
  case RemarkKind::no_arc:
    return "{0} with radius zero moves nothing in its plane, as GRBL has it; LinuxCNC refuses it";
  case RemarkKind::zero_off_the_plane:
    return "{0} of 0 on an arc in plane {1} is passed over";
  case RemarkKind::offset_off_the_plane:
    return "{0} on an arc in plane {1} is passed over, as GRBL does";
  case RemarkKind::worst_arc:
    return "worst arc, its radii at start and end differ by {length}; the arc cut passes through both ends";
  case RemarkKind::rounded_arcs:
    return "{0} arcs are rounded so far that their radii differ by over {length}: the file writes {1} "
           "decimals";
  case RemarkKind::rounded_arcs_inch:
    return "{0} arcs are rounded so far that their radii differ by over {length}: the file writes {1} "
           "decimals of an inch";
  case RemarkKind::radius_of_only_cutter:
    return "{0}: the radius of the only cutter is taken";
  case RemarkKind::radius_unknown:
    return "{0}: the cutter is not known yet, so the contour itself stands for its way";
  case RemarkKind::compensated:
    return "{0} offsets the contour by {length}, the cutter's radius, as LinuxCNC does; corners are looked "
           "at one by one, so a gouge between moves far apart is not found";
  case RemarkKind::returns_to_r:
    return "{0} before any G98 or G99 returns to R, as LinuxCNC does; other controls return to where the "
           "cycle began, so write the one that is meant";
  case RemarkKind::backs_off:
    return "G73 is no part of the standard: after each peck the cutter backs off {length}";
  case RemarkKind::thread_left_out:
    return "{0}: the hole is drilled in the preview, the thread is not";
  case RemarkKind::retract_by_hand:
    return "G88: the retract by hand is taken as a stop and a rapid";
  case RemarkKind::length_off:
    return "G49 ends the tool length: Z is still read as the height of the tip";
  case RemarkKind::length_without_h:
    return "G43 without H takes the length of the tool in the spindle";
  case RemarkKind::length_before_tool:
    return "{0} before any T is taken as the length of the cutter in use";
  case RemarkKind::length_of_another:
    return "{0} corrects tool {1} by the length of another";
  case RemarkKind::first_system:
    return "work system {0} is the first used: its origin is the sheet's zero";
  case RemarkKind::zero_stays:
    return "{0} takes back the G92 of line {1}, which placed the zero: the numbers before it are not known, "
           "so the zero is taken to stay";
  case RemarkKind::place_named:
    return "{0} names the present place, which is {place} from the sheet's zero";
  case RemarkKind::origin_is_zero:
    return "G10 sets the origin of work system {0}: it is the sheet's zero";
  case RemarkKind::origin_moved:
    return "G10 moves the origin of work system {0}; the sheet stays where it is";
  case RemarkKind::tool_set:
    return "G10 L1 sets tool {0}; its shape stays that of its card";
  case RemarkKind::zero_moved:
    return "G52 moves the work zero in every work system; controls differ in how long it lasts";
  case RemarkKind::touched_off:
    return "{0} is taken as touching off, since the start is not given: the tip stands at {place} from the "
           "sheet's zero";
  case RemarkKind::machine_zero_assumed:
    return "G53: the machine's zero is not given and is taken as the start place {place}";
  case RemarkKind::home_stored:
    return "{0} stores the present place, {place} from the sheet's zero";
  case RemarkKind::home_straight:
    return "{0} with an axis letter alone: that axis goes home straight from where it stands";
  case RemarkKind::home_assumed:
    return "{0}: home is not given and is taken as {place}";
  case RemarkKind::some_axes_home:
    return "{0}: only the axes named go home";
  case RemarkKind::code_not_written:
    return "{0} is not written";
  case RemarkKind::optional_stop:
    return "{0} stops only when the operator asks for it: here it is M0, a stop each time";
  case RemarkKind::pallet_change:
    return "{0} changes the pallet: here it is M0, a stop alone";
  case RemarkKind::thread_again:
    return "{0} cuts a thread: here it is a plain move down and up; write the cycle again";
  case RemarkKind::compensation_not_written:
    return "{0} is not written: the moves are those of the cutter's centre";
  case RemarkKind::system_changed:
    return "{0} changes the work system: the places of all moves are written in the first one, by the "
           "origins that the scene gives";
  case RemarkKind::machine_place:
    return "{0} goes to a place of the machine: here it is a move to the place where the scene has it, or "
           "where the tip starts; write the {0} line again";
  case RemarkKind::own_length_written:
    return "{0} for tool {1} is written as {2}, the tool's own length";
  case RemarkKind::zero_not_written:
    return "{0} is not written: set the work offset to the sheet's zero and clear G92 (G92.1) before this "
           "program";
  case RemarkKind::origin_not_written:
    return "{0} is not written: set that work offset at the machine";
  case RemarkKind::tool_not_written:
    return "{0} is not written: set that tool at the machine";
  case RemarkKind::zero_move_not_written:
    return "{0} is not written: set the work offset to the sheet's zero";
  case RemarkKind::home_not_written:
    return "{0} is not written: store that place at the machine";
  }
  return "";
}

/// To a millionth where it is a rest, as of an arc's radii.
std::string small_length(double mm, const Shown& shown) {
  if (mm >= 0.1)
    return shown.short_length(mm);
  return shown.inch ? shown.length(mm < 5e-7 ? 0 : mm) : fmt::format("{:.6f} mm", mm);
}

} // namespace

std::string words_of(const note::Remark& remark, const Shown& shown) {
  fmt::dynamic_format_arg_store<fmt::format_context> words;
  for (std::size_t n = 0; n < kMostWords; ++n)
    words.push_back(n < remark.words.size() ? remark.words[n] : std::string());
  const Vec3 at = remark.place_mm.value_or(Vec3{});
  words.push_back(
      fmt::arg("place", fmt::format("X{} Y{} Z{} {}", shown.exact_number(at.x), shown.exact_number(at.y),
                                    shown.exact_number(at.z), shown.unit())));
  words.push_back(fmt::arg("length", small_length(remark.length_mm.value_or(0), shown)));
  return (remark.line > 0 ? fmt::format("line {}: ", remark.line) : "") +
         fmt::vformat(sentence(remark.about), words);
}

} // namespace snagmap
