#include "viz/words/page_words.hpp"

#include "models/base/plain_text.hpp"
#include "viz/words/clock.hpp"

#include <fmt/format.h>
#include <map>

namespace snagmap {

std::string stage_words(const std::string& stage) {
  static const std::map<std::string, const char*> words{{"", "Starting"},
                                                        {"read the program", "Reading the program"},
                                                        {"plan the motion", "Planning the motion"},
                                                        {"cut", "Cutting the sheet"},
                                                        {"watch", "Looking beside the cutter"},
                                                        {"judge", "Judging the webs"},
                                                        {"verify", "Solving the webs that decide"},
                                                        {"check the job", "Checking the rest of the job"},
                                                        {"surfaces", "Making the sheet's surfaces"},
                                                        {"volume", "Writing the volume"},
                                                        {"pictures", "Drawing the pictures"}};
  const auto found = words.find(stage);
  if (found != words.end())
    return found->second;
  // "the job: cut" says first of what
  const std::size_t end = stage.rfind(": ");
  const auto part = end == std::string::npos ? words.end() : words.find(stage.substr(end + 2));
  return part != words.end() ? plain_text(stage.substr(0, end + 2)) + part->second : plain_text(stage);
}

std::string job_state_words(const std::string& state, int place) {
  if (state == "waiting")
    return place <= 1 ? "next in line" : fmt::format("number {} in line", place);
  if (state == "failed")
    return "gave no result";
  if (state == "late")
    return "took too long and was ended";
  return state;
}

std::string job_time_words(double running_s, double stage_left_s) {
  const std::string so_far = clock_text(running_s) + " so far";
  return stage_left_s < 0 ? so_far
                          : so_far + fmt::format("; this stage about {} more", clock_text(stage_left_s));
}

std::string result_kind_words(const std::string& command) {
  static const std::map<std::string, const char*> words{
      {"preview", "Preview"},        {"preview --quick", "Quick preview"}, {"compare", "Comparison"},
      {"coupon", "Test piece"},      {"fit", "Foam card of your own"},     {"narrowest", "Narrowest webs"},
      {"bench", "Tests on a bench"}, {"tooth", "What the teeth do"}};
  const auto found = words.find(command);
  return found != words.end() ? found->second : plain_text(command);
}

std::string own_card_words(const std::string& result) {
  return "your own card, " + plain_text(result);
}

std::string cutter_words(const CutterCard& card) {
  const std::string size =
      fmt::format("{:g} mm {}, flutes {:g} mm", card.diameter_mm, to_text(card.tip), card.flute_length_mm);
  return size + (card.flutes == 1 ? ", single" : "") + (card.helix_deg < 0 ? ", down-cut" : "");
}

std::string serve_words(const std::string& address, const std::string& folder, int at_once, bool open) {
  std::string words =
      fmt::format("Open in a browser: {}\nResults go to {}; {} run at once. Ctrl-C ends the page "
                  "and what runs; jobs in line go on with the next start.\n",
                  address, plain_text(folder), at_once == 1 ? "one job" : fmt::format("{} jobs", at_once));
  if (open)
    words += "Others in this network can reach the page if they get the address, and what is sent is not "
             "encrypted: only in a network you trust.\n";
  return words;
}

} // namespace snagmap
