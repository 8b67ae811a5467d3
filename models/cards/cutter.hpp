// Cutter cards: a body of revolution in zones; only the flutes cut, the rest may only touch.
#pragma once

#include "models/cards/banded.hpp"

#include <string>
#include <vector>

namespace snagmap {

enum class Zone { flutes, neck, shank, nut, holder };
const char* to_text(Zone zone);

enum class TipShape { flat, bull_nose, ball, tapered, chamfer, drill_point };
const char* to_text(TipShape shape);

/// A piece of the half profile in (r, z), z up from the tip: a straight line, or an arc about (centre_r,
/// centre_z).
struct ProfilePiece {
  double r0_mm = 0, z0_mm = 0, r1_mm = 0, z1_mm = 0;
  bool arc = false;
  double centre_r_mm = 0, centre_z_mm = 0;
  Zone zone = Zone::flutes;
};

struct CutterCard {
  std::string name, title, source;
  TipShape tip = TipShape::flat;
  double diameter_mm = 0;      ///< over the flutes
  double corner_radius_mm = 0; ///< bull-nose
  double taper_deg = 0; ///< half angle of tapered and chamfer cutters; of the drill point: half point angle
  double tip_diameter_mm = 0; ///< flat at the tip of a tapered or chamfer cutter
  double flute_length_mm = 0;
  double neck_diameter_mm = 0; ///< relieved part above the flutes; 0: no neck
  double neck_length_mm = 0;
  double shank_diameter_mm = 0;
  double stick_out_mm = 0;                             ///< tip to collet face
  double nut_diameter_mm = 0, nut_length_mm = 0;       ///< 0: not given, not checked
  double holder_diameter_mm = 0, holder_length_mm = 0; ///< spindle nose above the nut
  int flutes = 2;
  double helix_deg = 0; ///< + up-cut, - down-cut
  double rake_deg = 0;
  /// Chip a tooth under which the edge rubs and heats instead of cutting; 0: not checked. Common practice, no
  /// source: half of the thinnest chip usual in soft foam, 0.1 mm.
  double least_chip_mm = 0.05;
  std::vector<ProfilePiece> own_profile; ///< when given, replaces the tip shape
  /// Half profile from the tip up, in order, all zones up to the holder. Every piece has height and begins
  /// where the one below ends; where the radius steps (flat tip, shoulders) the horizontal face is implied.
  std::vector<ProfilePiece> profile() const;
};

const std::vector<CutterCard>& cutter_cards();

} // namespace snagmap
