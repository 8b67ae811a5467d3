// Readings of test pieces and bench tests, as the user wrote them down: TOML or CSV, checked like a scene.
#pragma once

#include "models/base/quantity.hpp"
#include "models/cards/bench.hpp"
#include "models/cards/foam.hpp"
#include "models/mechanics/lambda_fit.hpp"
#include "models/web/compliance.hpp"

#include <optional>
#include <string>
#include <vector>

namespace snagmap {

/// What the fit needs of a cutter.
struct PieceCutter {
  std::string name;
  double diameter_mm = 0, flute_length_mm = 0;
};

/// A wall of a test piece, as it was meant to be cut.
struct PieceWall {
  int number = 0; ///< as on the drawing; 0: described in the readings themselves
  int cutter = 0; ///< index into the piece's cutters
  double w_mm = 0, h_mm = 0, length_mm = 0;
  WebEnd ends = WebEnd::free;
  double gamma = 0; ///< of the preview (by finite elements where verified); 0: by the formula
};

/// A test piece: the foam it was planned for, its cutters and walls. `walls.toml` beside the program.
struct TestPiece {
  FoamCard foam;
  std::vector<PieceCutter> cutters;
  std::vector<PieceWall> walls;
};

std::string piece_text(const TestPiece& piece); ///< TOML
Outcome<TestPiece> parse_piece(const std::string& text, const std::string& file);
Outcome<TestPiece> read_piece(const std::string& file);

/// Gamma of a wall loaded at mid length over the flutes in reach: its own, or by the formula; with another
/// cutter by the formula's ratio of the two.
double gamma_of(const TestPiece& piece, const PieceWall& wall, int cutter);
inline double gamma_of(const TestPiece& piece, const PieceWall& wall) {
  return gamma_of(piece, wall, wall.cutter);
}

/// The wall with its thickness as measured: Gamma follows by the formula's ratio of the two.
PieceWall as_measured(const TestPiece& piece, PieceWall wall, double w_mm);

struct WallRead {
  std::size_t wall = 0; ///< index into the piece's walls
  WallOutcome outcome = WallOutcome::held;
  std::optional<double> top_mm, floor_mm; ///< thickness, by calliper
  std::optional<double> load_g, lean_mm;  ///< mass hung from the top edge at mid length, and what it moved it
  int line = 0;
};
struct SagRead {
  Strip strip;
  double sag_mm = 0;
};
struct TearRead {
  double thickness_mm = 0, peak_N = 0;
};
struct PeelRead {
  double width_mm = 0, force_N = 0;
};

struct Readings {
  std::string file, name, when; ///< name: of the card to be written
  TestPiece piece;
  std::vector<WallRead> walls;
  std::vector<SagRead> sags;
  std::vector<TearRead> tears;
  std::vector<PeelRead> peels;
  int left_empty = 0; ///< rows without an outcome
};

/// Where to find what the readings do not name themselves; empty: nothing.
struct ReadingsPlaces {
  std::string piece_file; ///< instead of the readings' own `piece`
  std::string foam;       ///< card or card file, instead of the piece's
};

/// Reads TOML, or CSV when the name ends in .csv. Bounded as scenes are. Faults: all that are found, with
/// their place: units missing, walls that are not in the piece or stand twice, outcomes that contradict,
/// heights and cutters that are not the piece's, nothing read.
Outcome<Readings> read_readings(const std::string& file, const ReadingsPlaces& places);
/// The same for text in memory; `file` stands for it and names the folder of its paths.
Outcome<Readings> parse_readings(const std::string& text, const std::string& file,
                                 const ReadingsPlaces& places);

} // namespace snagmap
