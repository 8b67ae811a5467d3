// The sheet: what it is made of, how large it is and where the work zero lies on it.
#include "sim/scene/sections.hpp"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace snagmap {
namespace {

using Kind = SceneValue::Kind;
constexpr Range kSide{Dimension::length, 1, 5000};
constexpr Range kThickness{Dimension::length, 0.5, 500};
/// Foam left beyond the farthest cut where the sheet's size is not known: more than a web can be thick.
constexpr double kGoesOn_mm = kNoWeb_mm + 10;

std::vector<Layer> read_layers(SceneTable& sheet) {
  const SceneValue* list = sheet.find("layers");
  if (!list)
    return {};
  if (list->kind != Kind::list || list->items.empty()) {
    sheet.fault("layers", "layers is " + shown(*list) + "; a list of tables belongs here",
                "layers = [ { foam = \"pe-33\", thickness = \"30 mm\" }, ... ], from the bottom up");
    return {};
  }
  std::vector<Layer> layers;
  for (const SceneValue& item : list->items) {
    if (item.kind != Kind::table) {
      sheet.reading().fault(item,
                            "layer is " + shown(item) + "; a table with foam and thickness belongs here", "");
      continue;
    }
    SceneTable table(sheet.reading(), item, "a layer");
    Layer layer;
    if (const SceneValue* foam = table.find("foam")) {
      if (auto card = read_foam(sheet.reading(), *foam, "a layer's foam"))
        layer.foam = *card;
    } else {
      table.missing("foam", "foam = \"pe-33\"");
    }
    if (!table.has("thickness"))
      table.missing("thickness", "thickness = \"30 mm\"");
    layer.thickness_mm = table.quantity("thickness", kThickness).value_or(0);
    table.finish();
    layers.push_back(std::move(layer));
  }
  return layers;
}

/// zero = "lower left" and so on, or ["20 mm", "20 mm"] from the lower left corner.
SheetZero read_zero(SceneTable& sheet) {
  SheetZero zero;
  const SceneValue* value = sheet.find("zero");
  if (!value) {
    if (sheet.has("stock"))
      sheet.assume("zero", "the zero of stock", "not given");
    else if (sheet.has("size"))
      sheet.assume("zero", "\"lower left\"", "not given");
    else
      sheet.quiet({"zero"}); // settle_sheet says where it lies
  } else if (value->kind == Kind::list) {
    if (const auto place = sheet.quantities("zero", {Dimension::length, -5000, 5000}, 2, 2))
      zero.offset_x_mm = (*place)[0], zero.offset_y_mm = (*place)[1];
  } else if (const auto corner =
                 sheet.choice("zero", {"lower left", "lower right", "upper left", "upper right", "centre"})) {
    const SheetZero corners[] = {{0, 0, 0, 0}, {1, 0, 0, 0}, {0, 1, 0, 0}, {1, 1, 0, 0}, {0.5, 0.5, 0, 0}};
    zero = corners[*corner];
  }
  return zero;
}

/// The thickness by whichever of its three places gives it; places that disagree are a fault.
double thickness_of(SceneTable& sheet, const std::optional<std::vector<double>>& size,
                    const std::vector<Layer>& layers) {
  double thickness = 0;
  const char* said_by = "";
  const auto say = [&](double value, const char* key) {
    if (thickness > 0 && std::abs(value - thickness) > 0.005)
      sheet.fault(
          key, fmt::format("{} gives the sheet {:g} mm, {} gives it {:g} mm", key, value, said_by, thickness),
          "give the thickness once");
    else if (thickness == 0)
      thickness = value, said_by = key;
  };
  double sum = 0;
  for (const Layer& layer : layers)
    sum += layer.thickness_mm;
  if (sum > 0)
    say(sum, "layers");
  if (size && size->size() == 3)
    say((*size)[2], "size");
  if (const auto own = sheet.quantity("thickness", kThickness))
    say(*own, "thickness");
  return thickness;
}

void place_z(Scene& scene, double thickness_mm) {
  scene.sheet.low.z = scene.zero_on_table ? 0 : -thickness_mm;
  scene.sheet.high.z = scene.zero_on_table ? thickness_mm : 0;
  if (scene.layers.size() == 1)
    scene.layers.front().thickness_mm = thickness_mm;
}

} // namespace

std::optional<Box3> feed_extents(const Path& path) {
  Box3 box;
  bool any = false;
  const auto grow = [&](Vec3 p) {
    if (!any)
      box = {p, p}, any = true;
    box.low = {std::min(box.low.x, p.x), std::min(box.low.y, p.y), std::min(box.low.z, p.z)};
    box.high = {std::max(box.high.x, p.x), std::max(box.high.y, p.y), std::max(box.high.z, p.z)};
  };
  for (const Move& move : path.moves) {
    if (move.kind != MoveKind::line && move.kind != MoveKind::arc)
      continue;
    const int steps = move.kind == MoveKind::arc ? 64 : 1; // an arc's bulge to 0.03 % of its radius
    for (int i = 0; i <= steps; ++i)
      grow(point_at(move, static_cast<double>(i) / steps));
  }
  return any ? std::optional(box) : std::nullopt;
}

namespace {

std::vector<Amount> lengths(std::initializer_list<double> values_mm) {
  std::vector<Amount> amounts;
  for (const double mm : values_mm)
    amounts.push_back({mm, Dimension::length});
  return amounts;
}

/// The assumption about a key, made anew now that more is known.
void assume_again(Scene& scene, Assumed assumed) {
  scene.assumed.erase(std::remove_if(scene.assumed.begin(), scene.assumed.end(),
                                     [&](const Assumed& one) {
                                       return one.file.empty() && one.table == assumed.table &&
                                              one.key == assumed.key;
                                     }),
                      scene.assumed.end());
  scene.assumed.push_back(std::move(assumed));
}

/// Sizes that differ by about 25.4 either way: one of the two was meant in the other unit.
void note_unit_mix_up(Scene& scene, const Box3& cut) {
  const double sheet =
      std::max(scene.sheet.high.x - scene.sheet.low.x, scene.sheet.high.y - scene.sheet.low.y);
  const double program = std::max(cut.high.x - cut.low.x, cut.high.y - cut.low.y);
  if (program <= 0)
    return;
  // A program commonly fills 55 to 100 % of its sheet, so the true ratio 25.4 shows as 25 to 46 one way and
  // 14 to 26 the other.
  const double ratio = sheet / program;
  if (ratio > 25 && ratio < 46)
    scene.notes.push_back(note::SheetLarger{ratio, program});
  if (ratio > 1 / 26.0 && ratio < 1 / 14.0)
    scene.notes.push_back(note::ProgramLarger{1 / ratio, program});
}

} // namespace

void read_sheet(SceneTable& top, Scene& scene, const StockReaders& readers) {
  SceneReading& reading = top.reading();
  const SceneValue* value = top.find("sheet");
  const SceneValue none;
  if (value && value->kind != Kind::table) {
    reading.fault(*value, "sheet is " + shown(*value) + "; a table belongs here", "[sheet]");
    value = nullptr;
  }
  SceneTable sheet(reading, value ? *value : none, "[sheet]");
  const SceneValue* foam = top.find("foam");
  scene.layers = read_layers(sheet);
  if (foam && sheet.has("layers"))
    sheet.fault("layers", "layers stand beside foam",
                "give foam for a plain sheet, or layers for a laminated one");
  if (!foam && !sheet.has("layers"))
    top.missing("foam", "foam = \"pu-22\"; `snagmap cards foams` lists the cards");
  if (foam)
    if (auto card = read_foam(reading, *foam, "[foam]"))
      scene.layers = {{*card, 0}};

  sheet.quiet(
      {"layers", "stock", "stock_unit", "size", "thickness"}); // settled with the program or the solid
  if (sheet.has("stock"))
    scene.zero_on_table = sheet.choice("zero_on", {"top", "table"}) == std::size_t{1};
  else
    scene.zero_on_table = sheet.choice_or("zero_on", {"top", "table"}, 0, "not given") == 1;
  scene.zero = read_zero(sheet);
  scene.rigid_floor =
      sheet.choice_or("stands_on", {"foam", "board"}, 0, "webs stand on the foam left under them") == 1;
  scene.thickness_spread_mm =
      sheet.quantity_or("thickness_spread", {Dimension::length, 0, 20}, 0, "not given");

  if (sheet.has("stock")) {
    read_stock(sheet, scene, readers);
    sheet.finish();
    return;
  }
  const auto size = sheet.quantities("size", kSide, 2, 3);
  const double thickness = thickness_of(sheet, size, scene.layers);
  scene.thickness_given = thickness > 0;
  scene.sheet_given = size.has_value();
  if (scene.thickness_given)
    place_z(scene, thickness);
  if (scene.zero_on_table && !scene.thickness_given)
    sheet.fault("zero_on", "zero_on = \"table\" needs the sheet's thickness",
                "thickness = \"50 mm\" in [sheet]");
  if (size) {
    scene.sheet.low.x = 0 - scene.zero.share_x * (*size)[0] - scene.zero.offset_x_mm;
    scene.sheet.low.y = 0 - scene.zero.share_y * (*size)[1] - scene.zero.offset_y_mm;
    scene.sheet.high.x = scene.sheet.low.x + (*size)[0];
    scene.sheet.high.y = scene.sheet.low.y + (*size)[1];
  } else if (sheet.has("zero") && !sheet.has("size")) {
    sheet.fault("zero", "zero is given without the sheet's size",
                "give size = [\"300 mm\", \"200 mm\", \"50 mm\"] too");
  }
  sheet.finish();
}

void settle_sheet(Scene& scene, const Path& path) {
  if (!scene.units_given)
    scene.show_inch = path.inch;
  if (path.touch_off_line > 0)
    assume_again(scene,
                 {"", "[program]", "start", "", lengths({path.start_mm.x, path.start_mm.y, path.start_mm.z}),
                  why::TouchedOff{path.touch_off_line}});
  const std::optional<Box3> cut = feed_extents(path);
  if (!cut)
    return;
  if (!scene.thickness_given) {
    const double thickness = std::max(0.0, -cut->low.z) + kGuessedFloor_mm;
    place_z(scene, thickness);
    scene.assumed.push_back(
        {"", "[sheet]", "thickness", "", lengths({thickness}), why::DeepestCutAndFloor{kGuessedFloor_mm}});
  }
  if (scene.sheet_given) {
    note_unit_mix_up(scene, *cut);
    return;
  }
  double radius = 0;
  for (const CutterCard& cutter : scene.cutters)
    radius = std::max(radius, cutter.diameter_mm / 2);
  const double border = radius + kGoesOn_mm;
  scene.sheet.low.x = cut->low.x - border, scene.sheet.low.y = cut->low.y - border;
  scene.sheet.high.x = cut->high.x + border, scene.sheet.high.y = cut->high.y + border;
  scene.assumed.push_back(
      {"", "[sheet]", "size", "",
       lengths({scene.sheet.high.x - scene.sheet.low.x, scene.sheet.high.y - scene.sheet.low.y}),
       why::ExtentsAndBorder{kGoesOn_mm}});
  scene.assumed.push_back({"", "[sheet]", "zero", "", lengths({-scene.sheet.low.x, -scene.sheet.low.y}),
                           why::Source{"from the lower left corner of that size"}});
  scene.notes.push_back(note::BorderAssumed{});
}

const FoamCard& Scene::foam_at(double z_mm) const {
  double top = sheet.low.z;
  for (const Layer& layer : layers)
    if (z_mm < (top += layer.thickness_mm))
      return layer.foam;
  return layers.back().foam;
}

namespace {

constexpr double kJoint_mm = 1e-3; ///< heights nearer than this are one

/// How much of the heights low..high lies in layer n; the last layer goes on upwards, the first downwards.
double overlap_mm(const Scene& scene, std::size_t n, double low, double high) {
  double from = scene.sheet.low.z;
  for (std::size_t k = 0; k < n; ++k)
    from += scene.layers[k].thickness_mm;
  const double to = n + 1 == scene.layers.size() ? 1e300 : from + scene.layers[n].thickness_mm;
  return std::max(0.0, std::min(high, to) - std::max(low, n == 0 ? -1e300 : from));
}

} // namespace

const FoamCard& Scene::foam_between(double low_mm, double high_mm) const {
  std::size_t best = 0;
  for (std::size_t n = 1; n < layers.size(); ++n)
    if (overlap_mm(*this, n, low_mm, high_mm) >= overlap_mm(*this, best, low_mm, high_mm) - kJoint_mm)
      best = n;
  return high_mm > low_mm ? layers[best].foam : foam_at(low_mm);
}

double Scene::mean_between(double low_mm, double high_mm,
                           const std::function<double(const FoamCard&)>& of) const {
  if (!(high_mm > low_mm))
    return of(foam_at(low_mm));
  double sum = 0;
  for (std::size_t n = 0; n < layers.size(); ++n)
    if (const double part = overlap_mm(*this, n, low_mm, high_mm); part > 0)
      sum += part / (high_mm - low_mm) * of(layers[n].foam);
  return sum;
}

bool Scene::joint_between(double low_mm, double high_mm) const {
  double joint = sheet.low.z;
  for (std::size_t n = 0; n + 1 < layers.size(); ++n) {
    joint += layers[n].thickness_mm;
    if (joint > low_mm + kJoint_mm && joint < high_mm - kJoint_mm)
      return true;
  }
  return false;
}

} // namespace snagmap
