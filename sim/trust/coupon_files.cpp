// What the test piece needs at the machine and afterwards: program, scene, table of readings.
#include "models/base/constants.hpp"
#include "sim/program/text.hpp"
#include "sim/scene/card_text.hpp"
#include "sim/trust/coupon.hpp"

#include "models/base/quantity.hpp"
#include "sim/text/csv.hpp"
#include "sim/text/table.hpp"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace snagmap {
namespace {

constexpr double kSafe_mm = 5, kAbove_mm = 0.5;

class NcText {
public:
  explicit NcText(bool inch) : unit_(inch ? kInch_mm : 1), digits_(inch ? 4 : 3) {}
  void comment(const std::string& words) {
    for (const std::string& one : nc_comments(words))
      line(one);
  }
  void line(const std::string& words) { text += words + "\n"; }
  void rapid_z(double z) { line("G0 Z" + number(z)); }
  void rapid(Vec2 p) { line("G0 X" + number(p.x) + " Y" + number(p.y)); }
  void cut(Vec2 p, double z, double feed) {
    line("G1 X" + number(p.x) + " Y" + number(p.y) + " Z" + number(z) +
         fmt::format(" F{:.{}f}", feed / unit_, unit_ > 1 ? 1 : 0));
  }
  std::string text;

private:
  std::string number(double mm) const {
    const double value = mm / unit_;
    return fmt::format("{:.{}f}", std::abs(value) < 0.5 * std::pow(10, -digits_) ? 0.0 : value, digits_);
  }
  double unit_;
  int digits_;
};

std::vector<double> levels(double depth, double pass) {
  std::vector<double> z;
  for (double d = pass; d < depth - 0.01; d += pass)
    z.push_back(-d);
  z.push_back(-depth);
  return z;
}

/// Down a ramp along the middle, back, then once round the walls: conventional cutting keeps the wall on the
/// left of a spindle that turns clockwise.
void cut_slot(NcText& nc, const Coupon& c, const CouponRow& row, double low_x) {
  const double r = 0.5 * c.scene.cutters[static_cast<std::size_t>(row.cutter)].diameter_mm;
  const double ya = row.y0_mm + r, yb = row.y1_mm - r, middle = low_x + 0.5 * row.slot_mm;
  double first = low_x + r, second = low_x + row.slot_mm - r;
  if (c.conventional ==
      c.anticlockwise) // the other way round for climbing, and for a spindle that runs backward
    std::swap(first, second);
  nc.rapid({middle, ya});
  nc.rapid_z(kAbove_mm);
  nc.cut({middle, ya}, 0, c.plunge_mm_min);
  for (const double z : levels(row.depth_mm, row.pass_mm)) {
    nc.cut({middle, yb}, z, c.plunge_mm_min);
    nc.cut({middle, ya}, z, c.feed_mm_min);
    nc.cut({first, ya}, z, c.feed_mm_min);
    nc.cut({first, yb}, z, c.feed_mm_min);
    nc.cut({second, yb}, z, c.feed_mm_min);
    nc.cut({second, ya}, z, c.feed_mm_min);
    nc.cut({middle, ya}, z, c.feed_mm_min);
  }
  nc.rapid_z(kSafe_mm);
}

void cut_run(NcText& nc, const Coupon& c) {
  const CouponRun& run = c.run;
  const double pass = std::min(run.depth_mm, c.rows.front().pass_mm);
  for (const double z : levels(run.depth_mm, pass)) {
    nc.rapid(run.points_mm.front());
    nc.rapid_z(kAbove_mm);
    nc.cut(run.points_mm.front(), z, c.plunge_mm_min);
    for (std::size_t i = 1; i < run.points_mm.size(); ++i)
      nc.cut(run.points_mm[i], z, c.feed_mm_min);
    nc.rapid_z(kSafe_mm);
  }
}

std::string mm(double value) {
  return toml_text(with_unit(value, Dimension::length));
}

} // namespace

std::string coupon_program(const Coupon& c) {
  NcText nc(c.scene.show_inch);
  const char* unit = c.scene.show_inch ? "inch" : "mm";
  nc.line("%");
  nc.comment("test piece for " + c.scene.main_foam().name);
  nc.comment(fmt::format("units {}; zero at the lower left corner of the piece, top of the sheet", unit));
  nc.comment(
      fmt::format("sheet at least {} x {} x {}", show(kCouponWidth_mm, Dimension::length, c.scene.show_inch),
                  show(kCouponLength_mm, Dimension::length, c.scene.show_inch),
                  show(c.scene.sheet.high.z - c.scene.sheet.low.z, Dimension::length, c.scene.show_inch)));
  for (std::size_t i = 0; i < c.scene.cutters.size(); ++i)
    nc.comment(fmt::format("cutter {}: {}, diameter {}, flutes {}", i + 1, c.scene.cutters[i].name,
                           show(c.scene.cutters[i].diameter_mm, Dimension::length, c.scene.show_inch),
                           show(c.scene.cutters[i].flute_length_mm, Dimension::length, c.scene.show_inch)));
  nc.comment("walls are meant to be drawn in and torn: loose foam may fly");
  nc.comment("guard and eye protection on; hands off until the spindle stands still; attend the whole run");
  nc.comment("strands wind round the cutter: stop and wait for standstill before touching them");
  nc.comment("extract dust and chips; the manual of the machine comes first");
  nc.line(c.scene.show_inch ? "G20 G90 G17" : "G21 G90 G17");
  int tool = -1;
  const auto take = [&](int cutter) {
    if (cutter == tool)
      return;
    if (c.scene.cutters.size() > 1) {
      if (tool >= 0) {
        nc.line("M5");
        nc.comment("fit the other cutter and set its zero on the top of the sheet again");
      }
      nc.line(fmt::format("T{} M6", cutter + 1));
    }
    nc.line(fmt::format("S{:.0f} {}", c.rpm, c.anticlockwise ? "M4" : "M3"));
    nc.rapid_z(kSafe_mm);
    tool = cutter;
  };
  const auto run = [&] {
    nc.comment(fmt::format("long run with a turn of {:.0f} degrees", c.run.turn_deg));
    cut_run(nc, c);
  };
  for (const CouponRow& row : c.rows) {
    if (tool == c.run.cutter && row.cutter != tool)
      run(); // before its cutter goes
    take(row.cutter);
    for (std::size_t i = 0; i < row.slot_low_mm.size(); ++i) {
      nc.comment(i < row.numbers.size()
                     ? fmt::format("slot; right of it wall {}, thickness {}", row.numbers[i],
                                   show(row.widths_mm[i], Dimension::length, c.scene.show_inch))
                     : std::string("slot; frees the last wall"));
      cut_slot(nc, c, row, row.slot_low_mm[i]);
    }
  }
  if (tool == c.run.cutter)
    run();
  nc.line("M5\nM30\n%");
  return nc.text;
}

std::string coupon_scene(const Coupon& c) {
  const Scene& s = c.scene;
  std::string out =
      "# Scene of a test piece: preview it, cut it, fill in readings.csv, then: snagmap fit readings.csv\n";
  out += fmt::format("title = {}\nprogram = \"coupon.nc\"\nfoam = \"foam.toml\"\nunits = \"{}\"\nvoxel = "
                     "{}\ntolerance = {}\n",
                     toml_text(s.title), s.show_inch ? "inch" : "mm", mm(s.voxel_mm), mm(s.tolerance_mm));
  out += fmt::format(
      "\n[sheet]\nsize = [{}, {}, {}]\nzero = \"lower left\"\nzero_on = \"top\"\nstands_on = \"foam\"\n",
      mm(kCouponWidth_mm), mm(kCouponLength_mm), mm(s.sheet.high.z - s.sheet.low.z));
  out += "\n[machine]\n" + machine_text(s.machine);
  if (s.cutters.size() == 1)
    out += "\n[cutter]\n" + cutter_text(s.cutters.front());
  if (s.cutters.size() > 1)
    for (std::size_t i = 0; i < s.cutters.size(); ++i)
      out += fmt::format("\n[[tool]]\nnumber = {}\n[tool.cutter]\n{}", i + 1, cutter_text(s.cutters[i]));
  return out;
}

std::string coupon_readings(const Coupon& c) {
  const char* unit = c.scene.show_inch ? "in" : "mm";
  std::string out = "# outcome: held, marked or torn. Thickness by calliper, top and floor, not squeezed.\r\n"
                    "# load and lean only where a wall that held was loaded on the bench; what is left empty "
                    "is passed over.\r\n";
  const auto in_unit = [&](const char* what) { return fmt::format("{} ({})", what, unit); };
  out += csv_row({"wall", "cutter", "outcome", in_unit("thickness_top"), in_unit("thickness_floor"),
                  "load (g)", in_unit("lean"), "remark"});
  for (const CouponWall& wall : c.walls)
    out +=
        csv_row({std::to_string(wall.piece.number),
                 c.piece.cutters[static_cast<std::size_t>(wall.piece.cutter)].name, "", "", "", "", "", ""});
  return out;
}

} // namespace snagmap
