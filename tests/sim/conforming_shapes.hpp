// The shapes of scripts/conforming_shapes.txt cut by programs, each with S by second-order elements on a
// conforming mesh (scripts/conforming.csv: gmsh and CalculiX, see scripts/conforming).
#pragma once

#include "tests/sim/verify_fixture.hpp"

#include <fstream>
#include <map>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

namespace snagmap::testing {

struct ConformingShape {
  std::string name;
  double s = 0, apart_percent = 0; ///< by the outside elements, and how far their last two meshes are apart
  std::map<std::string, std::string> keys;
  struct Cut {
    std::string kind;
    std::vector<double> value;
  };
  std::vector<Cut> cuts;

  std::vector<double> numbers(const std::string& key, std::vector<double> otherwise) const {
    const auto found = keys.find(key);
    if (found == keys.end())
      return otherwise;
    std::vector<double> values;
    std::istringstream words(found->second);
    for (std::string word; std::getline(words, word, ',');)
      values.push_back(std::stod(word));
    return values;
  }
  double number(const std::string& key, double otherwise) const { return numbers(key, {otherwise})[0]; }
};

/// Those with a line in the table, in the order of the shapes.
inline std::vector<ConformingShape> conforming_shapes() {
  const std::string folder = std::string(SNAGMAP_ROOT) + "/scripts/";
  std::map<std::string, std::pair<double, double>> table;
  std::ifstream csv(folder + "conforming.csv");
  std::string line;
  std::getline(csv, line);
  while (std::getline(csv, line)) {
    std::istringstream cells(line);
    std::string name, s, apart;
    std::getline(cells, name, ','), std::getline(cells, s, ','), std::getline(cells, apart, ',');
    table[name] = {std::stod(s), std::stod(apart)};
  }
  std::vector<ConformingShape> shapes;
  std::ifstream text(folder + "conforming_shapes.txt");
  while (std::getline(text, line)) {
    if (line.empty() || line[0] == '#')
      continue;
    ConformingShape shape;
    std::istringstream parts(line);
    std::string part, word;
    std::getline(parts, part, '|');
    std::istringstream head(part);
    head >> shape.name;
    while (head >> word) {
      const std::size_t sign = word.find('=');
      shape.keys[word.substr(0, sign)] = sign == std::string::npos ? "" : word.substr(sign + 1);
    }
    while (std::getline(parts, part, '|')) {
      std::istringstream words(part);
      ConformingShape::Cut cut;
      words >> cut.kind;
      for (double value = 0; words >> value;)
        cut.value.push_back(value);
      shape.cuts.push_back(cut);
    }
    const auto row = table.find(shape.name);
    if (row == table.end())
      continue;
    shape.s = row->second.first, shape.apart_percent = row->second.second;
    shapes.push_back(std::move(shape));
  }
  return shapes;
}

/// Moves that leave what the cuts say, with flat cutters.
class ShapeProgram {
public:
  explicit ShapeProgram(double top_mm) : top_mm_(top_mm) {}

  void add(const ConformingShape::Cut& cut) {
    const std::vector<double>& v = cut.value;
    if (cut.kind == "rect")
      rect(v[0], v[1], v[2], v[3], v[4], v[5]);
    else if (cut.kind == "disc")
      disc(v[0], v[1], v[2], v[3]);
    else if (cut.kind == "ring")
      ring({v[0], v[1]}, v[2], v[3], v[4]);
    else if (cut.kind == "poly")
      polygon({v[0], v[1]}, int(v[2]), v[3], v[4], v[5], v[6]);
    else if (cut.kind == "slot")
      along({v[0], v[1]}, {v[2], v[3]}, v[5], cutter(v[4], kLong_mm));
    else if (cut.kind == "under")
      along({v[0], v[2]}, {v[1], v[2]}, v[4], cutter(v[3], v[5] - v[4]));
    else
      throw std::invalid_argument("no such cut: " + cut.kind);
  }
  std::vector<Move> moves;
  std::vector<CutterCard> cutters;

private:
  static constexpr double kLong_mm = 60, kWide_mm = 4; ///< flutes; radius where any will do

  std::int16_t cutter(double radius_mm, double flutes_mm) {
    for (std::size_t n = 0; n < cutters.size(); ++n)
      if (cutters[n].diameter_mm == 2 * radius_mm && cutters[n].flute_length_mm == flutes_mm)
        return std::int16_t(n);
    cutters.push_back(flat_cutter(2 * radius_mm, flutes_mm));
    return std::int16_t(cutters.size() - 1);
  }
  void put(Move move, std::int16_t tool) {
    move.tool = tool;
    moves.push_back(move);
  }
  void along(Vec2 from, Vec2 to, double z, std::int16_t tool) {
    put(line({from.x, from.y, z}, {to.x, to.y, z}), tool);
  }
  void plunge(double x, double y, double z, std::int16_t tool) {
    put(line({x, y, top_mm_ + 1}, {x, y, z}), tool);
  }
  void circle(Vec2 centre, double radius, double z, std::int16_t tool) {
    put(arc({centre.x, centre.y - radius, z}, centre, 2 * kPi), tool);
  }
  void rect(double x0, double y0, double x1, double y1, double z, double r) {
    const std::int16_t tool = cutter(r, kLong_mm);
    x0 += r, y0 += r, x1 -= r, y1 -= r;
    for (double y = y0;; y += 1.5 * r) {
      along({x0, std::min(y, y1)}, {x1, std::min(y, y1)}, z, tool);
      if (y >= y1)
        break;
    }
    for (const double x : {x0, x1})
      along({x, y0}, {x, y1}, z, tool);
  }
  void disc(double x, double y, double radius, double z) {
    const double r = std::min(radius, 2.0);
    const std::int16_t tool = cutter(r, kLong_mm);
    plunge(x, y, z, tool);
    for (double way = radius - r; way > 1e-9; way -= 1.5 * r)
      circle({x, y}, way, z, tool);
  }
  void ring(Vec2 centre, double inner, double outer, double z) {
    const double r = std::min(kWide_mm, 0.5 * (outer - inner));
    const std::int16_t tool = cutter(r, kLong_mm);
    for (double way = inner + r;; way += 1.5 * r) {
      circle(centre, std::min(way, outer - r), z, tool);
      if (way >= outer - r)
        break;
    }
  }
  void polygon(Vec2 centre, int corners, double inner, double turn_deg, double outer, double z) {
    const std::int16_t tool = cutter(kWide_mm, kLong_mm);
    const double half = inner * std::tan(kPi / corners) + kWide_mm;
    for (int k = 0; k < corners; ++k) {
      const double angle = kPi / 2 + turn_deg * kPi / 180 + 2 * kPi * k / corners;
      const Vec2 out{std::cos(angle), std::sin(angle)}, side{-out.y, out.x};
      const Vec2 middle = centre + (inner + kWide_mm) * out;
      along(middle - half * side, middle + half * side, z, tool);
    }
    ring(centre, inner / std::cos(kPi / corners), outer, z);
  }
  double top_mm_;
};

/// The sheet as cut, and the spot on the judged face: contact, ends and foams as the judge would ask.
inline WebCase built(const ConformingShape& shape) {
  const double h = shape.number("h", 12), under = shape.number("floor", 12), size = shape.number("size", 70);
  const Box3 sheet{{-size, shape.number("edge", -size), -under}, {size, size, h}};
  ShapeProgram program(h);
  for (const ConformingShape::Cut& cut : shape.cuts)
    program.add(cut);
  Path path = path_of(program.moves);
  Scene scene = scene_for(sheet);
  scene.rigid_floor = true; // the table
  scene.layers[0].foam.nu.nominal = shape.number("nu", 0.3);
  if (shape.keys.count("layers")) {
    const Layer plain = scene.layers[0];
    scene.layers.clear();
    std::istringstream layers(shape.keys.at("layers"));
    for (std::string one; std::getline(layers, one, ',');) {
      Layer layer = plain;
      char colon = 0;
      double E_MPa = 0, lambda = 0;
      std::istringstream(one) >> E_MPa >> colon >> lambda >> colon >> layer.thickness_mm;
      layer.foam.E_kPa.nominal = 1000 * E_MPa;
      layer.foam.lambda.nominal = layer.foam.lambda.low = layer.foam.lambda.high = lambda;
      scene.layers.push_back(layer);
    }
  }
  Spot spot;
  spot.normal = {0, 1};
  spot.move = std::uint32_t(path.moves.size() - 1), spot.move_share = 1; // all is cut
  SnagQuestion& q = spot.question;
  const std::vector<double> d = shape.numbers("d", {60, 60});
  const auto ends = shape.keys.find("ends");
  const auto end = [&](std::size_t n) {
    return ends != shape.keys.end() && ends->second[2 * n] == 'b' ? WebEnd::built_in : WebEnd::free;
  };
  q.web.w_mm = shape.number("w", 0), q.web.h_mm = h, q.web.d1_mm = d[0], q.web.d2_mm = d[1];
  q.web.end1 = end(0), q.web.end2 = end(1);
  q.web.b_p_mm = shape.number("b_p", 4), q.web.nu = scene.layers[0].foam.nu.nominal;
  q.web.fill = shape.number("fill", 1), q.web.rigid_floor = under == 0;
  const std::vector<double> reach = shape.numbers("reach", {0, h});
  q.contact = {reach[0], reach[1]};
  q.laminate = scene.joint_between(std::max(-under, -h), h);
  const auto constant = [](const FoamCard& card) { return card.lambda.nominal * card.E_kPa.nominal; };
  const double slice = (reach[1] - reach[0]) / kSlices;
  for (int i = 0; i < kSlices; ++i)
    q.bite[std::size_t(i)] = scene.mean_between(reach[0] + i * slice, reach[0] + (i + 1) * slice, constant) /
                             constant(scene.foam_between(0, h));
  spot.place_mm = {contact_shift_mm(q.web), 0, 0};
  q = cut_at_ends(q);
  spot.answer = judge(q, scene.foam_between(0, h));
  return {cut(sheet, program.cutters, path, 0.5), std::move(scene), std::move(spot)};
}

} // namespace snagmap::testing
