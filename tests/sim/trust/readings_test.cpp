// Readings of test pieces: planted values come back, slips are called out, wrong files are refused by place.
#include "models/mechanics/snag.hpp"
#include "sim/scene/card_text.hpp"
#include "sim/scene/foam_card.hpp"
#include "sim/trust/readings_fit.hpp"
#include "tests/python.hpp"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <fstream>
#include <gtest/gtest.h>
#include <random>

using namespace snagmap;

namespace {

/// Long flutes and stub flutes over walls whose edges spread over the card's whole band.
TestPiece piece_of(int walls_a_cutter = 6, double height_mm = 25) {
  TestPiece piece;
  piece.foam = *find_foam("pu-22");
  piece.cutters = {{"long", 6.35, 22}, {"stub", 6.35, 6.35}};
  for (int cutter = 0; cutter < 2; ++cutter) {
    SnagQuestion question;
    question.web.h_mm = height_mm, question.web.d1_mm = question.web.d2_mm = 50;
    question.web.b_p_mm = contact_length_mm(3.175, 1);
    question.contact = {0,
                        std::min(height_mm, piece.cutters[static_cast<std::size_t>(cutter)].flute_length_mm)};
    const double thin = 0.9 * narrowest_width(question, piece.foam.lambda.low).w_mm,
                 thick = std::min(60.0, 1.1 * narrowest_width(question, piece.foam.lambda.high).w_mm);
    for (int i = 0; i < walls_a_cutter; ++i) {
      PieceWall wall;
      wall.number = static_cast<int>(piece.walls.size()) + 1;
      wall.cutter = cutter;
      const double share = (i + 0.5) / walls_a_cutter;
      wall.w_mm = thin * std::pow(thick / thin, share);
      wall.h_mm = height_mm, wall.length_mm = 100;
      piece.walls.push_back(wall);
    }
  }
  return piece;
}

struct Cutting {
  std::mt19937_64 random;
  double uniform() { return (static_cast<double>(random() >> 11) + 0.5) / 9007199254740992.0; }
  double normal() {
    return std::sqrt(-2 * std::log(uniform())) * std::cos(6.28318530717958647692 * uniform());
  }
  /// What a piece with this Lambda shows: 10 % scatter in S, marked up to m.
  Readings cut(const TestPiece& piece, double lambda, double m) {
    Readings r;
    r.piece = piece;
    for (std::size_t i = 0; i < piece.walls.size(); ++i) {
      const double s = lambda * gamma_of(piece, piece.walls[i]) * std::exp(0.1 * normal());
      WallRead read;
      read.wall = i;
      read.outcome = s < 1 ? WallOutcome::held : s < m ? WallOutcome::marked : WallOutcome::torn;
      r.walls.push_back(read);
    }
    return r;
  }
};

const ReadingsPlaces kHere;

/// Warnings stand in the card by their kinds here; their sentences are another room's.
std::string kind_of(const FitNote& note) {
  return std::visit([](const auto& n) { return std::string(n.kind); }, note);
}
ReadingsFit fitted(const Readings& readings) {
  return fit_readings(readings, kind_of);
}

std::string piece_file() {
  static const std::string file = [] {
    const std::string name = testing::TempDir() + fmt::format("walls_{}.toml", std::random_device{}());
    std::FILE* out = std::fopen(name.c_str(), "w");
    const std::string text = piece_text(piece_of());
    std::fwrite(text.data(), 1, text.size(), out);
    std::fclose(out);
    return name;
  }();
  return file;
}

std::string faults_of(const std::string& text, const std::string& file = "r.csv") {
  const auto readings = parse_readings(text, file, {piece_file(), ""});
  if (readings)
    return "";
  std::string all;
  for (const Fault& fault : readings.faults())
    all += fmt::format("{}:{}:{}: {}\n", fault.file, fault.line, fault.column, fault.what);
  return all;
}

} // namespace

TEST(Readings, PlantedLambdaLiesInsideTheBandAboutNineTimesInTen) {
  // The estimator against its own stated model, through piece, readings and card. Lambda is drawn from the
  // card's band, which is what the walls were graded for.
  const TestPiece piece = piece_of();
  Cutting cutting{std::mt19937_64(77)};
  int inside = 0;
  for (int k = 0; k < 100; ++k) {
    const Banded& band = piece.foam.lambda;
    const double planted = band.low * std::pow(band.high / band.low, cutting.uniform());
    const ReadingsFit fit = fitted(cutting.cut(piece, planted, 1.2 + 2 * cutting.uniform()));
    inside += fit.card.lambda.low <= planted && planted <= fit.card.lambda.high;
  }
  EXPECT_GE(inside, 85);
  EXPECT_LE(inside, 95);
}

TEST(Readings, BandShrinksAndMoreWallsShrinkItFurther) {
  Cutting cutting{std::mt19937_64(3)};
  double few = 0, many = 0;
  for (int k = 0; k < 20; ++k) {
    few += fitted(cutting.cut(piece_of(4), 0.3, 1.6)).bands.front().width_share;
    many += fitted(cutting.cut(piece_of(16), 0.3, 1.6)).bands.front().width_share;
  }
  EXPECT_LT(few / 20, 1);
  EXPECT_LT(many, 0.8 * few);
}

TEST(Readings, SwappedCuttersAreCalledOut) {
  Cutting cutting{std::mt19937_64(11)};
  const TestPiece piece = piece_of();
  TestPiece swapped = piece;
  for (PieceWall& wall : swapped.walls)
    wall.cutter = 1 - wall.cutter;
  Readings honest = cutting.cut(piece, 0.3, 1.6);
  EXPECT_TRUE(fitted(honest).disagree.empty());
  Readings wrong = cutting.cut(swapped, 0.3, 1.6); // what the machine did
  wrong.piece = piece;                             // what the drawing says
  const ReadingsFit fit = fitted(wrong);
  ASSERT_FALSE(fit.disagree.empty());
  bool named = false;
  for (const FitNote& note : fit.disagree)
    if (const auto* exchanged = std::get_if<fit_note::CuttersExchanged>(&note))
      named = exchanged->one == "long" && exchanged->other == "stub";
  EXPECT_TRUE(named) << kind_of(fit.disagree.front());
}

TEST(Readings, WrongHeightIsCalledOut) {
  // Stub flutes do not notice how high a wall is, long ones do: cut 10 mm high but written down as 25.
  Cutting cutting{std::mt19937_64(12)};
  TestPiece truly = piece_of(12);
  for (PieceWall& wall : truly.walls)
    if (wall.cutter == 0)
      wall.h_mm = 9;
  Readings wrong = cutting.cut(truly, 0.3, 1.6);
  wrong.piece = piece_of(12);
  EXPECT_FALSE(fitted(wrong).disagree.empty());
}

TEST(Readings, AllHeldAndAllTornConcludeOneSideOnly) {
  Readings r = Cutting{std::mt19937_64(1)}.cut(piece_of(), 1e-3, 2);
  const ReadingsFit held = fitted(r);
  EXPECT_EQ(held.lambda.bounds, Bounds::upper_only);
  EXPECT_EQ(held.card.lambda.low, std::min(r.piece.foam.lambda.low, held.card.lambda.high));
  ASSERT_FALSE(held.notes.empty());
  EXPECT_EQ(std::get<fit_note::EveryWallHeld>(held.notes.front()).lambda_under, held.lambda.high);
  r = Cutting{std::mt19937_64(1)}.cut(piece_of(), 100, 2);
  const ReadingsFit torn = fitted(r);
  EXPECT_EQ(torn.lambda.bounds, Bounds::lower_only);
  EXPECT_EQ(std::get<fit_note::NoWallHeld>(torn.notes.front()).lambda_over, torn.lambda.low);
}

TEST(Readings, AWallThatLostHalfOfItsThicknessHasNotHeld) {
  Cutting cutting{std::mt19937_64(11)};
  Readings r = cutting.cut(piece_of(), 0.3, 1.6);
  // The thickest that held: a tenth of it says nothing new of where the edge lies.
  WallRead* held = nullptr;
  for (WallRead& read : r.walls)
    if (read.outcome == WallOutcome::held &&
        (held == nullptr || r.piece.walls[read.wall].w_mm > r.piece.walls[held->wall].w_mm))
      held = &read;
  ASSERT_NE(held, nullptr);
  const double w = r.piece.walls[held->wall].w_mm;
  held->top_mm = 0.9 * w; // what a calliper presses in
  EXPECT_TRUE(fitted(r).disagree.empty());
  held->top_mm = 0.5 * w;
  EXPECT_EQ(fitted(r).disagree.size(), 1u);
}

TEST(Readings, StripsThatDisagreeWidenTheBand) {
  // The standard error of the mean of two equal readings is half of their difference, however well each was
  // taken (any textbook of statistics; Birge 1932). With weights of 2 : 1, more than those of the two sags,
  // it is 2 sqrt(2) / 3 of that.
  Readings r;
  r.piece = piece_of();
  const Strip strip{12, 30, 160, 22, 0};
  r.sags = {{strip, sag_mm(strip, 50)}, {strip, sag_mm(strip, 110)}};
  const Banded E = fitted(r).card.E_kPa;
  const double ninety = 2 * 1.6449 * 0.5 * std::log(110.0 / 50.0);
  EXPECT_LE(std::log(E.high / E.low), 1.0001 * ninety);
  EXPECT_GE(std::log(E.high / E.low), 2 * std::sqrt(2.0) / 3 * ninety);
}

// What the cutter met is what was measured: with planned and true thickness exchanged for each other the fit
// is the same.
TEST(Readings, WallsThirtyPercentThinnerThanPlannedAreFittedAsTheyCameOut) {
  TestPiece planned = piece_of(16), truly = planned;
  for (PieceWall& wall : truly.walls)
    wall.w_mm *= 0.7;
  const Readings honest = Cutting{std::mt19937_64(5)}.cut(truly, 0.15, 1.6);
  Readings unmeasured = honest, measured = honest;
  unmeasured.piece = measured.piece = planned;
  for (WallRead& read : measured.walls)
    read.top_mm = read.floor_mm = truly.walls[read.wall].w_mm;
  const ReadingsFit truth = fitted(honest), fit = fitted(measured);
  ASSERT_EQ(truth.lambda.bounds, Bounds::both);
  EXPECT_NEAR(fit.lambda.nominal, truth.lambda.nominal, 1e-9);
  EXPECT_NEAR(fit.lambda.high, truth.lambda.high, 1e-9);
  const ReadingsFit blind = fitted(unmeasured);
  EXPECT_GT(std::abs(std::log(blind.lambda.nominal / truth.lambda.nominal)), std::log(1.4));
  // A wall that was drawn in is thinner by that: what held tells how the piece came out.
  for (WallRead& read : measured.walls)
    if (read.outcome != WallOutcome::held)
      *read.top_mm *= 0.5, *read.floor_mm *= 0.5;
  EXPECT_NEAR(fitted(measured).lambda.nominal, truth.lambda.nominal, 1e-9);
}

TEST(Readings, AReversedOrderIsRefusedAndStandsInTheCard) {
  Readings r = Cutting{std::mt19937_64(8)}.cut(piece_of(12), 0.3, 1.6);
  for (WallRead& read : r.walls)
    read.outcome = read.outcome == WallOutcome::held ? WallOutcome::torn : WallOutcome::held;
  const ReadingsFit fit = fitted(r);
  EXPECT_EQ(fit.lambda.bounds, Bounds::none);
  EXPECT_EQ(fit.card.lambda.nominal, r.piece.foam.lambda.nominal);
  EXPECT_EQ(fit.card.lambda.low, r.piece.foam.lambda.low);
  EXPECT_EQ(fit.card.lambda.high, r.piece.foam.lambda.high);
  ASSERT_FALSE(fit.card.history.empty());
  EXPECT_NE(fit.card.history.front().find("order_reversed"), std::string::npos);
}

TEST(Readings, TwoCuttersThatContradictWidenTheBandOverBoth) {
  const TestPiece piece = piece_of(16);
  const Readings low = Cutting{std::mt19937_64(9)}.cut(piece, 0.12, 1.6),
                 high = Cutting{std::mt19937_64(9)}.cut(piece, 0.7, 1.6);
  Readings mixed = low;
  for (std::size_t i = 0; i < mixed.walls.size(); ++i)
    if (piece.walls[mixed.walls[i].wall].cutter == 1)
      mixed.walls[i] = high.walls[i];
  const ReadingsFit fit = fitted(mixed);
  ASSERT_EQ(fit.lambda.bounds, Bounds::both);
  EXPECT_LT(fit.card.lambda.low, 0.15);
  EXPECT_GT(fit.card.lambda.high, 0.55);
  ASSERT_FALSE(fit.disagree.empty());
  for (const FitNote& warning : fit.disagree)
    EXPECT_TRUE(std::any_of(fit.card.history.begin(), fit.card.history.end(), [&](const std::string& line) {
      return line.find(kind_of(warning)) != std::string::npos;
    })) << kind_of(warning);
}

TEST(Readings, ModulusComesBackFromSagAndFromLean) {
  Readings r;
  r.piece = piece_of();
  const double E = 62;
  const Strip strip{12, 30, 160, 22, 0}, laden{12, 30, 120, 22, 5};
  r.sags = {{strip, sag_mm(strip, E)}, {laden, sag_mm(laden, E)}};
  const ReadingsFit sag = fitted(r);
  EXPECT_NEAR(sag.card.E_kPa.nominal, E, 1e-3 * E);
  EXPECT_LT(sag.card.E_kPa.low, E);
  EXPECT_GT(sag.card.E_kPa.high, E);
  // Lambda follows as Gc/E.
  EXPECT_NEAR(sag.card.lambda.nominal, r.piece.foam.lambda.nominal * 50 / E, 2e-3);

  // A slender wall is a wide cantilever under an edge load. Width that carries it: 2.00 L (own Fourier
  // solution of Jaramillo's problem, 1950), P h^3/(3 D 2.00 h) with D the plate's rigidity; shear, root and
  // the fit's own correction are what the band is for.
  PieceWall tall{0, 0, 5, 50, 400, WebEnd::free, 0};
  const double D = E / 1000 * std::pow(5, 3) / (12 * (1 - 0.09));
  const double lean = 0.004903325 * std::pow(50, 3) / (3 * D * 100); // 0.5 g
  const Banded found = modulus_from_lean_kPa(r.piece, tall, 0.5, lean);
  EXPECT_LT(found.low, E);
  EXPECT_GT(found.high, E);
}

TEST(Readings, WallsTellLambdaWhateverTheModulus) {
  // A lean that makes the foam six times softer than its card: Lambda is what the walls say, and its band
  // before is the card's.
  Readings r = Cutting{std::mt19937_64(21)}.cut(piece_of(), 0.3, 1.6);
  const ReadingsFit walls = fitted(r);
  r.sags = {{{12, 30, 100, 22, 0}, sag_mm({12, 30, 100, 22, 0}, 8)}};
  const ReadingsFit both = fitted(r);
  EXPECT_NEAR(both.card.E_kPa.nominal, 8, 0.1);
  EXPECT_EQ(both.card.lambda.nominal, walls.card.lambda.nominal);
  const auto lambda = std::find_if(both.bands.begin(), both.bands.end(),
                                   [](const BandChange& b) { return b.name == "Lambda"; });
  ASSERT_NE(lambda, both.bands.end());
  EXPECT_EQ(lambda->before.nominal, r.piece.foam.lambda.nominal);
}

TEST(Readings, TearAndPeelAreRead) {
  const auto r = parse_readings(
      "foam = \"pu-22\"\nwhen = \"2026-05-04\"\n[[tear]]\nthickness = \"25 mm\"\npeak_mass = \"1 kg\"\n"
      "[[peel]]\nwidth = \"25 mm\"\nforce = \"2.5 N\"\n",
      "bench.toml", kHere);
  ASSERT_TRUE(r) << to_text(r.faults().front());
  const ReadingsFit fit = fitted(*r);
  EXPECT_NEAR(fit.card.Gc_N_mm.nominal, 1.7 * 9.80665 / 25, 1e-9);
  ASSERT_TRUE(fit.peel_N_mm);
  EXPECT_NEAR(fit.peel_N_mm->nominal, 0.1, 1e-12);
  EXPECT_EQ(fit.card.history.size(), 2u);
  EXPECT_EQ(fit.card.history.front().rfind("2026-05-04", 0), 0u);
}

TEST(Readings, CsvAndTomlSayTheSame) {
  const auto csv = parse_readings(
      "wall,cutter,outcome,thickness_top (mm),thickness_floor (mm)\n1,long,torn,,\n2,long,marked,9,10.5\n"
      "3,,held,,\n4,,,,\n",
      "r.csv", {piece_file(), ""});
  const auto toml = parse_readings("[[wall]]\nwall = 1\noutcome = \"torn\"\n[[wall]]\nwall = 2\noutcome = "
                                   "\"marked\"\nthickness_top = \"9 mm\"\n"
                                   "thickness_floor = \"1.05 cm\"\n[[wall]]\nwall = 3\noutcome = \"held\"\n",
                                   "r.toml", {piece_file(), ""});
  ASSERT_TRUE(csv) << to_text(csv.faults().front());
  ASSERT_TRUE(toml) << to_text(toml.faults().front());
  ASSERT_EQ(csv->walls.size(), 3u);
  EXPECT_EQ(csv->left_empty, 1);
  for (std::size_t i = 0; i < 3; ++i) {
    EXPECT_EQ(csv->walls[i].wall, toml->walls[i].wall);
    EXPECT_EQ(csv->walls[i].outcome, toml->walls[i].outcome);
  }
  EXPECT_EQ(csv->walls[1].top_mm, 9);
  EXPECT_NEAR(*toml->walls[1].floor_mm, 10.5, 1e-12);
  EXPECT_EQ(fitted(*csv).card.lambda.nominal, fitted(*toml).card.lambda.nominal);
}

// Python's csv module writes the table as spreadsheets save it.
TEST(Readings, ATableSavedBySpreadsheetsSaysTheSame) {
  const std::string script = R"(
import csv, io, sys
rows = [['# outcome: held, marked or torn; what is left empty, "is passed over"'],
        ['wall', 'cutter', 'outcome', 'thickness_top (mm)', 'thickness_floor (mm)', 'load (g)', 'lean (mm)', 'remark'],
        ['1', 'long', 'torn', '', '', '', '', 'two\nlines, "and a quote"'],
        ['2', 'long', 'marked', '9,25', '10,5', '', '', '6" from the edge; soft'],
        ['3', '', 'held', '', '', '12,5', '3,75', '']]
# Delimiter, quoting, line end, mark, width of the sheet, words
for i, (d, q, end, mark, wide, words) in enumerate([
        (',', csv.QUOTE_MINIMAL, '\n', '', 8, str), (';', csv.QUOTE_MINIMAL, '\r\n', '\ufeff', 12, str.upper),
        ('\t', csv.QUOTE_ALL, '\r', '\ufeff', 8, str.title), (',', csv.QUOTE_ALL, '\r', '', 10, str.title),
        (';', csv.QUOTE_ALL, '\r\n', '', 9, str)]):
    out = io.StringIO(newline='')
    w = csv.writer(out, delimiter=d, quoting=q, lineterminator=end)
    for row in rows:
        row = list(row)
        if len(row) == 8 and row[0] != 'wall': row[2] = words(row[2])
        w.writerow(row + [''] * (wide - len(row)))
    for k in range(3): w.writerow([''] * wide)
    sys.stdout.buffer.write((mark + out.getvalue()).encode('utf-8') + b'\0')
)";
  std::string files = snagmap::python(script, "");
  const auto as_written =
      parse_readings("wall,outcome,thickness_top (mm),thickness_floor (mm),load (g),lean (mm)\n"
                     "1,torn,,,,\n2,marked,9.25,10.5,,\n3,held,,,12.5,3.75\n",
                     "r.csv", {piece_file(), ""});
  ASSERT_TRUE(as_written) << to_text(as_written.faults().front());
  int count = 0;
  for (std::size_t end; (end = files.find('\0')) != std::string::npos; files.erase(0, end + 1), ++count) {
    const std::string file = files.substr(0, end);
    const auto read = parse_readings(file, "r.csv", {piece_file(), ""});
    ASSERT_TRUE(read) << to_text(read.faults().front()) << "\n" << file;
    ASSERT_EQ(read->walls.size(), 3u) << file;
    for (std::size_t i = 0; i < 3; ++i) {
      const WallRead &a = read->walls[i], &b = as_written->walls[i];
      EXPECT_EQ(a.wall, b.wall);
      EXPECT_EQ(a.outcome, b.outcome);
      EXPECT_EQ(a.top_mm, b.top_mm);
      EXPECT_EQ(a.floor_mm, b.floor_mm);
      EXPECT_EQ(a.load_g, b.load_g);
      EXPECT_EQ(a.lean_mm, b.lean_mm);
    }
  }
  EXPECT_EQ(count, 5);
}

TEST(Readings, TwoWrongLinesOfSixtyGiveTwoMessagesAndAWrongColumnGivesOne) {
  const auto rows = [](const std::string& head, const std::string& second, const std::string& fifth,
                       const char* outcome = "held") {
    std::string text = head + "\n";
    for (int wall = 1; wall <= 60; ++wall)
      text += wall == 2 ? second : wall == 5 ? fifth : fmt::format("{},{},9.5\n", wall, outcome);
    return text;
  };
  TestPiece piece = piece_of();
  const PieceWall wall = piece.walls.front();
  piece.walls.assign(60, wall);
  for (int i = 0; i < 60; ++i)
    piece.walls[static_cast<std::size_t>(i)].number = i + 1;
  const std::string file = piece_file() + ".sixty";
  std::ofstream(file) << piece_text(piece);
  const auto faults = [&](const std::string& text, const std::string& with) {
    const auto read = parse_readings(text, "r.csv", {with, "pu-22"});
    return read ? std::vector<Fault>{} : read.faults();
  };
  const std::string head = "wall,outcome,thickness_top (mm)";
  EXPECT_EQ(faults(rows(head, "2,held,9.5\n", "5,held,9.5\n"), file).size(), 0u);
  EXPECT_EQ(faults(rows(head, "2,broke,9.5\n", "5,held,9,5\n"), file).size(), 2u);
  EXPECT_EQ(faults(rows(head, "2,\"held,9.5\n", "61,held,9.5\n"), file).size(), 2u);
  EXPECT_EQ(faults(rows("wall,outcom,thickness_top (mm)", "2,held,1\n", "5,held,1\n"), file).size(), 1u);
  EXPECT_EQ(faults(rows("wall,outcome,thickness_top", "2,held,1\n", "5,held,1\n"), file).size(), 1u);
  EXPECT_EQ(faults(rows("number,outcome,thickness_top (mm)", "2,held,1\n", "5,held,1\n"), file).size(), 1u);
  EXPECT_EQ(faults(rows(head, "2,held,1\n", "5,held,1\n", "ok"), file).size(), 1u);
  EXPECT_EQ(faults(rows(head, "2,held,1\n", "5,held,1\n"), "").size(), 1u); // no piece
}

TEST(Readings, PieceReadsBack) {
  TestPiece piece = piece_of();
  piece.walls[2].gamma = 3.25;
  const auto back = parse_piece(piece_text(piece), "walls.toml");
  ASSERT_TRUE(back) << to_text(back.faults().front());
  ASSERT_EQ(back->walls.size(), piece.walls.size());
  for (std::size_t i = 0; i < piece.walls.size(); ++i)
    EXPECT_NEAR(gamma_of(*back, back->walls[i]), gamma_of(piece, piece.walls[i]), 1e-9);
}

struct BadReadings {
  const char *name, *file, *text, *faults;
};
class WrongReadings : public testing::TestWithParam<BadReadings> {};

TEST_P(WrongReadings, AreRefusedByPlace) {
  const BadReadings bad = GetParam();
  EXPECT_EQ(faults_of(bad.text, bad.file), bad.faults);
}

INSTANTIATE_TEST_SUITE_P(
    List, WrongReadings,
    testing::Values(
        BadReadings{"Empty", "r.csv", " \n", "r.csv:0:0: is empty\n"},
        BadReadings{"HeaderOnly", "r.csv", "wall,outcome\n", "r.csv:0:0: holds no rows\n"},
        BadReadings{"NothingFilledIn", "r.csv", "wall,outcome\n1,\n2,\n",
                    "r.csv:0:0: no outcome is filled in: 2 rows stand empty\n"},
        BadReadings{"NoUnit", "r.csv", "wall,outcome,thickness_top\n1,held,12\n2,torn,\n3,held,11\n",
                    "r.csv:1:14: column \"thickness_top\" has numbers without a unit\n"},
        BadReadings{"WrongUnit", "r.csv", "wall,outcome,thickness_top (g)\n1,held,12\n",
                    "r.csv:2:8: thickness_top: \"12 g\" is a mass; expected a length\n"},
        BadReadings{"NotInThePiece", "r.csv", "wall,outcome\n1,held\n99,torn\n",
                    "r.csv:3:1: wall 99 is not in the test piece\n"},
        BadReadings{"Contradict", "r.csv", "wall,outcome\n1,held\n1,torn\n",
                    "r.csv:3:3: wall 1 was read on line 2 already, and with another outcome\n"},
        BadReadings{"Twice", "r.csv", "wall,outcome\n1,held\n1,held\n",
                    "r.csv:3:3: wall 1 was read on line 2 already\n"},
        BadReadings{"UnknownOutcome", "r.csv", "wall,outcome\n1,ok\n",
                    "r.csv:2:3: outcome = \"ok\" is not known\n"},
        BadReadings{"WrongHeight", "r.csv", "wall,outcome,height (mm)\n1,held,15\n",
                    "r.csv:2:8: wall 1 was to be cut 25 mm high, the reading says 15 mm\n"},
        BadReadings{"SwappedCutter", "r.csv", "wall,outcome,cutter\n1,held,stub\n",
                    "r.csv:2:8: wall 1 was to be cut with long, the reading says stub\n"},
        BadReadings{"Ragged", "r.csv", "wall,outcome\n1,held,12,3\n", "r.csv:2:1: 4 cells under 2 columns\n"},
        BadReadings{"OpenQuote", "r.csv", "wall,outcome\n1,\"held\n",
                    "r.csv:2:3: a quote stays open on this line\n"},
        BadReadings{"QuoteInTheMiddle", "r.csv", "wall,outcome\n1,\"held\" it\n2,torn\n3,\"ok\"\n",
                    "r.csv:2:3: a quote stays open on this line\nr.csv:4:3: outcome = \"ok\" is not known\n"},
        BadReadings{"CellWithoutColumn", "r.csv", "wall,,outcome\n1,x,held\n",
                    "r.csv:2:3: a cell under a column without a name\n"},
        BadReadings{"ThousandOrOneAndADecimal", "r.csv",
                    "wall,outcome,thickness_top (mm)\n1,held,\"1,250\"\n",
                    "r.csv:2:8: thickness_top: \"1,250\": write a decimal point, not a comma\n"},
        BadReadings{"ColumnTwice", "r.csv", "wall,outcome,outcome\n1,held,held\n",
                    "r.csv:1:14: column \"outcome\" stands twice\n"},
        BadReadings{"UnknownColumn", "r.csv", "wall,outcom\n1,held\n",
                    "r.csv:1:6: unknown key \"outcom\" in a wall's reading\n"},
        BadReadings{"LeanAlone", "r.csv", "wall,outcome,lean (mm)\n1,held,2\n",
                    "r.csv:2:8: load and lean belong together\n"},
        BadReadings{"LeanOfATornWall", "r.csv", "wall,outcome,load (g),lean (mm)\n1,torn,5,2\n",
                    "r.csv:2:10: a torn wall has no lean\n"},
        BadReadings{"NoTest", "r.toml", "name = \"mine\"\n", "r.toml:0:0: holds no readings\n"},
        BadReadings{
            "SagOfNoModulus", "r.toml",
            "[[sag]]\nthickness = \"10 mm\"\nwidth = \"30 mm\"\noverhang = \"100 mm\"\nsag = \"100 mm\"\n",
            "r.toml:5:7: a sag of 100 mm tells no modulus: with 100 mm of overhang it must lie between "
            "0.00062 and 91 mm\n"},
        BadReadings{"TearWithoutForce", "r.toml", "[[tear]]\nthickness = \"25 mm\"\n",
                    "r.toml:1:1: peak_mass is missing in [[tear]]\n"},
        BadReadings{"SingleBracket", "r.toml", "[wall]\nwall = 1\n",
                    "r.toml:1:1: wall is a table; [[wall]] with double brackets belongs here\n"}),
    [](const auto& bad) { return std::string(bad.param.name); });
