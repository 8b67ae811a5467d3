#include "viz/words/sentences.hpp"

#include "viz/words/web_words.hpp"

#include "viz/words/advice_words.hpp"
#include "viz/words/finding_words.hpp"
#include "viz/words/note_words.hpp"
#include "viz/words/spot_words.hpp"
#include "viz/words/stop_words.hpp"

namespace snagmap {

std::string ShownSentences::words(const Fact& fact) const {
  return words_of(fact, shown_);
}
std::string ShownSentences::words(const Risk& risk) const {
  return words_of(risk, shown_);
}
std::string ShownSentences::words(const Reason& reason) const {
  return words_of(reason, shown_);
}
std::string ShownSentences::words(const Unsolved& why) const {
  return words_of(why, shown_);
}
std::string ShownSentences::words(const Note& note) const {
  return words_of(note, shown_);
}
std::string ShownSentences::words(const Assumed& assumed) const {
  return words_of(assumed, shown_);
}
std::string ShownSentences::words(const Lever& lever) const {
  return words_of(lever, shown_);
}
std::string ShownSentences::words(const Change& change) const {
  return words_of(change, shown_);
}
std::string ShownSentences::words(const Untried& why) const {
  return words_of(why, shown_);
}
std::string ShownSentences::words(const Whereabouts& place) const {
  return words_of(place, shown_);
}
std::string ShownSentences::place(const RiskStop& stop) const {
  return stop_place(stop, shown_);
}
std::vector<std::string> ShownSentences::steps(const RiskTimeline& timeline, const RiskStop& stop) const {
  return stop_steps(timeline, stop, shown_);
}
std::string ShownSentences::stops_caution() const {
  return stop_caution();
}

} // namespace snagmap
