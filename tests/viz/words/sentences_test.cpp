// Every sentence of findings, stops, reasons, advice and notes, once in millimetres and once in inches. The
// inch is 25.4 mm exactly (NIST Special Publication 811, appendix B; by definition since 1959).
#include "viz/words/advice_words.hpp"
#include "viz/words/finding_words.hpp"
#include "viz/words/fit_words.hpp"
#include "viz/words/note_words.hpp"
#include "viz/words/spot_words.hpp"
#include "viz/words/stop_words.hpp"
#include "viz/words/web_words.hpp"

#include <gtest/gtest.h>

#include <memory>
#include <optional>
#include <regex>
#include <set>
#include <utility>

using namespace snagmap;

namespace {

const Shown kMm{false}, kInch{true};

/// Values of every member: `full` sets all that may be left out, and each enumerator has its turn.
struct Fill {
  bool full;
  int turn;
  void operator()(const char*, double& v) const { v = full ? 25.4 : 0; }
  void operator()(const char*, bool& v) const { v = full; }
  void operator()(const char*, std::string& v) const { v = "Insert"; }
  void operator()(const char*, Vec3& v) const { v = {254, 25.4, 12.7}; }
  void operator()(const char*, Fact& v) const { v = fact::ShankRubs{25.4, 3, 3}; }
  void operator()(const char*, Lever& v) const { v = lever::Skin{0.508}; }
  void operator()(const char* key, std::optional<Vec3>& v) const {
    full ? (*this)(key, v.emplace()) : v.reset();
  }
  void operator()(const char* key, std::optional<double>& v) const {
    if (!full)
      (*this)(key, v.emplace());
  }
  template <class T> void operator()(const char* key, std::vector<T>& v) const {
    v.resize(full ? 2 : 1);
    for (T& one : v)
      (*this)(key, one);
  }
  template <class T> void operator()(const char*, T& v) const {
    if constexpr (HasKeys<T>::value)
      for_each_member(v, *this);
    else if constexpr (std::is_enum_v<T>)
      v = static_cast<T>(turn);
    else
      v = static_cast<T>(full ? 7 : 0);
  }
};

/// All sentences of one kind.
template <class Values, class All> std::set<std::string> sentences_of(const Shown& shown) {
  std::set<std::string> all;
  for (const bool full : {true, false})
    for (int turn = 0; turn < 5; ++turn) {
      Values values{};
      for_each_member(values, Fill{full, turn});
      all.insert(words_of(All(values), shown));
    }
  return all;
}

struct Said {
  std::string kind;
  std::set<std::string> mm, inch;
};

std::string kind_text(const char* kind) {
  return kind;
}
template <class Kind> std::string kind_text(Kind kind) {
  return to_text(kind);
}

template <class All, std::size_t... N> std::vector<Said> all_of(std::index_sequence<N...>) {
  return {{kind_text(std::variant_alternative_t<N, All>::kind),
           sentences_of<std::variant_alternative_t<N, All>, All>(kMm),
           sentences_of<std::variant_alternative_t<N, All>, All>(kInch)}...};
}
template <class All> std::vector<Said> all_of() {
  return all_of<All>(std::make_index_sequence<std::variant_size_v<All>>());
}

std::vector<Said> everything() {
  std::vector<Said> all;
  for (const auto& some :
       {all_of<Fact>(), all_of<Risk>(), all_of<Reason>(), all_of<Unsolved>(), all_of<Lever>(),
        all_of<Change>(), all_of<Untried>(), all_of<Note>(), all_of<FitNote>()})
    all.insert(all.end(), some.begin(), some.end());
  for (int n = 0; n < kRemarkKinds; ++n) {
    const note::Remark remark{static_cast<RemarkKind>(n), 7, {"G2", "X1", "Y2"}, Vec3{25.4, 0, 12.7}, 0.0254};
    all.push_back({to_text(remark.about), {words_of(remark, kMm)}, {words_of(remark, kInch)}});
  }
  return all;
}

} // namespace

// Prints the page; run it to read all that can be said.
TEST(Sentences, EveryKindHasSomeInMillimetresAndInInchesAndNoneMixesThem) {
  const std::regex mm("[0-9] (mm|mm2|mm3|cm3|m|mm/min)(?![a-z0-9/])"),
      inch("[0-9] (in|in2|in3|ft|in/min)(?! [a-z0-9])");
  for (const Said& said : everything()) {
    EXPECT_FALSE(said.kind.empty());
    for (const std::string& words : said.mm) {
      std::printf("%-24s %s\n", said.kind.c_str(), words.c_str());
      EXPECT_FALSE(words.empty()) << said.kind;
      EXPECT_FALSE(std::regex_search(words, inch)) << words;
      EXPECT_EQ(words.find("safe"), std::string::npos) << words; // the program predicts, no more
    }
    for (const std::string& words : said.inch) {
      std::printf("%-24s %s\n", said.kind.c_str(), words.c_str());
      EXPECT_FALSE(words.empty()) << said.kind;
      EXPECT_FALSE(std::regex_search(words, mm)) << words;
    }
    EXPECT_EQ(said.mm.size(), said.inch.size()) << said.kind;
  }
}

TEST(Sentences, EveryKindOfFindingHasATextOfItsOwnForFiles) {
  std::set<std::string> texts;
  for (int n = 0; n < kFindingKinds; ++n)
    texts.insert(to_text(static_cast<FindingKind>(n)));
  EXPECT_EQ(texts.size(), static_cast<std::size_t>(kFindingKinds));
  EXPECT_EQ(texts.count(""), 0u);
}

// The file's text of a kind is its own, and no sentence shows a gap for a word.
TEST(Sentences, EveryRemarkHasATextOfItsOwnAndFillsItsSentence) {
  std::set<std::string> kinds, said;
  for (int n = 0; n < kRemarkKinds; ++n) {
    const note::Remark remark{static_cast<RemarkKind>(n), 0, {"G2", "X1", "Y2"}, Vec3{}, 0.1};
    kinds.insert(to_text(remark.about)), said.insert(words_of(remark, kMm));
    EXPECT_EQ(words_of(remark, kMm).find_first_of("{}"), std::string::npos) << words_of(remark, kMm);
  }
  EXPECT_EQ(kinds.size(), static_cast<std::size_t>(kRemarkKinds));
  EXPECT_EQ(said.size(), static_cast<std::size_t>(kRemarkKinds));
}

// 25.4 mm are 1 in, 645.16 mm2 are 1 in2, 16387.064 mm3 are 1 in3, 304.8 mm are 1 ft.
TEST(Sentences, AreWorkedOutByHandInBothUnits) {
  const Fact nut = fact::NutInFoam{25.4, 12, 15};
  EXPECT_EQ(words_of(nut, kMm), "the collet nut runs into foam, 25.4 mm deep at worst (lines 12 to 15)");
  EXPECT_EQ(words_of(nut, kInch), "the collet nut runs into foam, 1.000 in deep at worst (lines 12 to 15)");

  const Fact piece = fact::LoosePiece{{254, 25.4, 12.7}, 163870.64, 645.16, 12.7, 0, 0, 0};
  EXPECT_EQ(words_of(piece, kMm),
            "a piece of 254.0 x 25.4 x 12.7 mm, 163.87 cm3 comes free; only what is under "
            "its 645 mm2 on the table holds it, at a height of 12.7 mm");
  EXPECT_EQ(words_of(piece, kInch),
            "a piece of 10.000 x 1.000 x 0.500 in, 10 in3 comes free; only what is under "
            "its 1 in2 on the table holds it, at a height of 0.500 in");

  const Fact strand = fact::Strand{254, true, 9, 0.25, 6.1, 3048, 16387.064, 8193.532, {40, 80}};
  EXPECT_EQ(
      words_of(strand, kMm),
      "254 mm of slot without a break (to line 9): a strand of up to 0.2 g, 6.1 turns round the cutter; "
      "if nothing severs the strip it is 3.0 m long; 16.39 cm3 of foam against 8.19 cm3 of room round the "
      "neck; the same way again from line 40, 80");
  EXPECT_EQ(
      words_of(strand, kInch),
      "10.000 in of slot without a break (to line 9): a strand of up to 0.2 g, 6.1 turns round the "
      "cutter; if nothing severs the strip it is 10 ft long; 1 in3 of foam against 0.5 in3 of room round "
      "the neck; the same way again from line 40, 80");

  const Fact feed = fact::FeedOverAxes{7000, 5000, 40, 2, 40 / 155.0};
  EXPECT_EQ(words_of(feed, kMm),
            "the program asks for 7000 mm/min where the axes allow 5000 mm/min: 40 mm in 2 "
            "places, 25.8 % of the feed path, run slower than written");

  const Fact dwell = fact::LongDwell{500, 1};
  EXPECT_EQ(words_of(dwell, kMm), "a dwell of 500 s, 8.3 minutes: P counts seconds here; was it meant in "
                                  "milliseconds, 0.5 s? 1 more dwells are over a minute");
  EXPECT_EQ(words_of(dwell, kInch), words_of(dwell, kMm));

  const Fact collet = fact::ColletUnknown{"stub", "ER11", 25.4, "ER11", 12.7};
  EXPECT_EQ(words_of(collet, kInch),
            "cutter stub: the shank fit is not judged: ER11 collets take shanks up to "
            "0.500 in, not 1.000 in; give the size engraved on the collet");
  EXPECT_EQ(words_of(fact::ColletUnknown{"stub", "ER12", 6, "ER11", 7}, kMm),
            "cutter stub: the shank fit is not judged: unknown collet series \"ER12\"; the nearest is "
            "\"ER11\"; give the series as engraved, or both sizes engraved on the collet");

  const Fact wall = fact::WallError{4, 0.254, -0.254, 0.508, -2.54, 0.5};
  EXPECT_EQ(words_of(wall, kInch),
            "web 4: sprung back, this side of the pocket is 0.010 in wider at the floor "
            "(-0.010 to 0.020 in) and 0.100 in tighter at the top; the tolerance is "
            "0.020 in");
}

// A shank as wide as the cut has no gap to name: a web that leans meets it at once.
TEST(Sentences, PlacesOfWebsAreWorkedOutByHandInBothUnits) {
  Whereabouts place;
  place.at_mm = {43.6, 78.7, -25.4};
  EXPECT_EQ(words_of(place, {false}), "at X 44, Y 79");
  EXPECT_EQ(words_of(place, {true}), "at X 1.717, Y 3.098");
  place.kind = Whereabouts::Kind::between, place.first = 2, place.second = 3, place.slots = true;
  EXPECT_EQ(words_of(place, {false}), "between the second and third slot from the left, at X 44, Y 79");
  EXPECT_EQ(short_words(place, {false}), "slots 2-3 from left, X 44 Y 79");
  place.from = Whereabouts::From::back, place.slots = false, place.first = 12, place.second = 13;
  EXPECT_EQ(words_of(place, {false}), "between the twelfth and 13th pocket from the back, at X 44, Y 79");
  place.kind = Whereabouts::Kind::at_edge;
  EXPECT_EQ(words_of(place, {false}), "between the sheet's back edge and the first pocket, at X 44, Y 79");
  place.kind = Whereabouts::Kind::post;
  EXPECT_EQ(words_of(place, {false}), "a post, at X 44, Y 79");
}

TEST(Sentences, ANeckWithoutReliefIsCalledAShank) {
  for (const double lean_mm : {0.0, 0.8}) {
    const std::string said = words_of(Fact{fact::NeckRub{"long", 3, lean_mm, 0}}, kMm);
    EXPECT_EQ(said.find("0.00"), std::string::npos) << said;
    EXPECT_NE(said.find("rub the shank"), std::string::npos) << said;
  }
  EXPECT_NE(words_of(Fact{fact::NeckRub{"long", 3, 0.8, 0.75}}, kMm).find("0.75 mm beside the neck"),
            std::string::npos);
}

// What a user wrote goes out as it is, though it reads like a length.
TEST(Sentences, LeaveNamesAsTheUserWroteThem) {
  const Fact thin = fact::ThinChips{"six 6 mm, 3 to 5 mm", 0.0508, 0.5, 12, {{3, 9, 254, 2}}};
  EXPECT_EQ(
      words_of(thin, kInch),
      "six 6 mm, 3 to 5 mm cuts chips thinner than 0.002 in a tooth on 50 % of its path in foam, 12 s: "
      "there the edge rubs, and heat melts or lights foam; the longest: lines 3 to 9 (10.000 in, 2.0 s)");
}

// 2540 mm/min are 100 in/min, 254 mm/s2 are 10 in/s2.
TEST(Sentences, AssumedValuesAreShownInTheUnitsAskedFor) {
  const Assumed size{"",
                     "[sheet]",
                     "size",
                     "",
                     {{254, Dimension::length}, {50.8, Dimension::length}},
                     why::ExtentsAndBorder{25.4}};
  EXPECT_EQ(words_of(size, kMm),
            "[sheet] size = 254 mm x 50.8 mm (the program's extents, the cutter's radius and "
            "25.4 mm all round: judged as if the sheet went on)");
  EXPECT_EQ(words_of(size, kInch), "[sheet] size = 10.000 in x 2.000 in (the program's extents, the cutter's "
                                   "radius and 1.000 in all round: judged as if the sheet went on)");
  const Assumed start{
      "", "[program]", "start", "", {{0, Dimension::length}, {-25.4, Dimension::length}}, why::TouchedOff{4}};
  EXPECT_EQ(words_of(start, kInch), "[program] start = 0.000 in, -1.000 in (line 4 says where the tip "
                                    "stands, as touched off; a start in the scene wins over it)");
  const Assumed feed{"", "[machine]", "feed", "", {{2540, Dimension::speed}}, why::Source{"of the card"}};
  EXPECT_EQ(words_of(feed, kMm), "[machine] feed = 2540 mm/min (of the card)");
  EXPECT_EQ(words_of(feed, kInch), "[machine] feed = 100 in/min (of the card)");
  const Assumed tip{"own.toml", "", "tip", "\"3 mm\"", {}, why::Source{"not given"}};
  EXPECT_EQ(words_of(tip, kInch), "own.toml: tip = \"3 mm\" (not given)"); // a word is no length
}

TEST(Sentences, RemarksOfTheReaderShowPlacesAndQuoteTheProgramAsItIs) {
  const Note start = note::Remark{RemarkKind::start_assumed, 0, {}, Vec3{25.4, 0, 12.7}, {}};
  EXPECT_EQ(words_of(start, kMm), "the tip is taken to start at X25.4 Y0 Z12.7 mm");
  EXPECT_EQ(words_of(start, kInch), "the tip is taken to start at X1.000 Y0.000 Z0.500 in");
  const Note arc = note::Remark{RemarkKind::worst_arc, 42, {}, {}, 0.000254};
  EXPECT_EQ(words_of(arc, kMm),
            "line 42: worst arc, its radii at start and end differ by 0.000254 mm; the arc "
            "cut passes through both ends");
  EXPECT_EQ(words_of(arc, kInch),
            "line 42: worst arc, its radii at start and end differ by 1e-05 in; the arc "
            "cut passes through both ends");
  const Note message = note::Remark{RemarkKind::message, 3, {", take {} of 12 mm"}, {}, {}};
  EXPECT_EQ(words_of(message, kInch), "line 3: message, take {} of 12 mm");
}

TEST(Sentences, AdviceAndReasonsAreWorkedOutByHandInBothUnits) {
  const Lever cutter = lever::Cutter{"stub of 6 mm", lever::Differs::flute_length, 6.35, 22};
  EXPECT_EQ(words_of(cutter, kMm),
            "use the cutter stub of 6 mm from the drawer (flutes 6.35 mm long instead of 22) "
            "with the same program");
  EXPECT_EQ(words_of(cutter, kInch),
            "use the cutter stub of 6 mm from the drawer (flutes 0.250 in long instead of "
            "0.866) with the same program");
  const Change run = change::LongestRun{508, 254};
  EXPECT_EQ(words_of(run, kMm), "longest strand run 508 -> 254 mm");
  EXPECT_EQ(words_of(run, kInch), "longest strand run 20.000 -> 10.000 in");
  const Lever webs = lever::WiderWebs{{{3, {25.4, 50.8, 0}, 10.16, 5.08, 12.7}}, 2};
  EXPECT_EQ(words_of(webs, kMm), "make web 3 at X25 Y51 10.2 mm thick instead of 5.1 (12.7 clears the whole "
                                 "band) and 2 more webs");
  EXPECT_EQ(words_of(webs, kInch), "make web 3 at X1.000 Y2.000 0.400 in thick instead of 0.200 (0.500 "
                                   "clears the whole band) and 2 more webs");
  const Reason flutes = reason::FlutesPastPass{25.4, 12.7, 0.5};
  EXPECT_EQ(
      words_of(flutes, kMm),
      "flutes reach 25.4 mm up the wall, 12.7 mm past the pass: S would be 0.50 with flutes no longer than "
      "the pass");
  EXPECT_EQ(
      words_of(flutes, kInch),
      "flutes reach 1.000 in up the wall, 0.500 in past the pass: S would be 0.50 with flutes no longer "
      "than the pass");
}

// The textbook's direction is told with its reservation, whatever the rake.
TEST(Sentences, TheSideOfAWallComesWithItsReservation) {
  const WallSides some{false, 0.0508, 2.54, 0.3, 1.2, 0.508};
  EXPECT_EQ(
      wall_side_words(some, kInch),
      "by the metal-cutting textbook (Altintas, Manufacturing Automation) a conventional cut draws its "
      "wall into the cutter once its radial width passes 0.002 to 0.100 in (edge friction 0.3 to 1.2) and "
      "a climb cut pushes it away, unless the edge slides easily and the cut is thinner than 0.020 in; "
      "for foam this is not settled, and S counts a pull on both sides");
  const WallSides always{true, 0, 0, 0.3, 1.2, 0};
  EXPECT_EQ(
      wall_side_words(always, kMm),
      "by the metal-cutting textbook (Altintas, Manufacturing Automation) a conventional cut draws its "
      "wall into the cutter and a climb cut pushes it away; for foam this is not settled, and S counts a "
      "pull on both sides");
}

TEST(Sentences, TheHeadOfAnAdvisedProgramSaysWhatWasChangedAndWhatItTrades) {
  Scene scene;
  scene.title = "Tray of 12 mm";
  scene.show_inch = true;
  Advice advice;
  advice.lever = lever::Skin{0.508};
  advice.trades = true;
  advice.better = {change::LongStrands{1, 0}};
  const std::vector<std::string> head = advice_program_head(scene, advice);
  ASSERT_EQ(head.size(), 5u);
  EXPECT_EQ(head[0], "Tray of 12 mm");
  EXPECT_EQ(head[1], "changed by snagmap: leave a skin of 0.020 in on the table and cut it by hand");
  EXPECT_EQ(head[2], "a trade and no cure; gains: long strands 1 -> 0; costs: nothing that is counted here");
}

TEST(Sentences, TheHeadOfTheProgramWithStopsTellsThePlanAndTheCaution) {
  Preview job;
  job.scene.title = "Tray";
  JobChecks checks;
  RiskEvent strand;
  strand.what = risk::Strand{254, true, 4};
  strand.line = 4;
  checks.timeline.events = {strand};
  checks.timeline.limits.strand_mm = 152.4, checks.timeline.limits.within_s = 300;
  checks.timeline.clear_mm = 12.7, checks.timeline.run_up_s = 3;
  RiskStop stop;
  stop.line = 9, stop.tip_mm = {25.4, 50.8, 12.7}, stop.events = {0};
  checks.timeline.stops = {stop};
  job.checks = std::make_shared<JobChecks>(checks);
  job.scene.show_inch = true;
  std::string all;
  for (const std::string& line : stops_program_head(job))
    all += line + "\n";
  for (const char* words :
       {"1 stop to put in, the fewest so that a strand from over 6.000 in of cut without a break (3.000 in "
        "in a slot)",
        "Hands stay away until the spindle stands still", "at each stop, 1: lift clear, to Z0.500 in",
        "stop 1, before line 9, at X 1.000 in, Y 2.000 in, Z 0.500 in out of the foam: look for 1 long "
        "strand on the "
        "cutter, in the flutes and in the pocket (the longest from 10.000 in of cut, line 4)"})
    EXPECT_NE(all.find(words), std::string::npos) << words << "\n" << all;
}
