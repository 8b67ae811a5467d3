#include "sim/results/results.hpp"

#include "sim/text/whole_file.hpp"

#include <algorithm>
#include <filesystem>
#include <fmt/format.h>
#include <fstream>
#include <limits>
#include <nlohmann/json.hpp>
#include <sstream>

namespace snagmap {
namespace {

using Json = nlohmann::json;

/// A number; null stands for one that is none (infinite or undefined), which JSON cannot say.
double number(const Json& json) {
  return json.is_null() ? std::numeric_limits<double>::quiet_NaN() : json.get<double>();
}

/// Sentences; a result written without them has none.
std::vector<std::string> texts(const Json& from, const char* key) {
  return from.value(key, std::vector<std::string>{});
}

Vec2 vec2(const Json& json) {
  return {json.at(0).get<double>(), json.at(1).get<double>()};
}
Vec3 vec3(const Json& json) {
  return {json.at(0).get<double>(), json.at(1).get<double>(), json.at(2).get<double>()};
}

WebEnd end_of(const Json& json) {
  return json.get<std::string>() == to_text(WebEnd::free) ? WebEnd::free : WebEnd::built_in;
}

Level level_of(const std::string& text) {
  for (const Level level : {Level::firm, Level::leans, Level::snags, Level::tears})
    if (text == to_text(level))
      return level;
  throw Json::other_error::create(501, "unknown level \"" + text + "\"", nullptr);
}

WebFound web(const Json& from) {
  WebFound found;
  found.id = from.at("id");
  for (const Json& p : from.at("midline_mm"))
    found.midline_mm.push_back(vec2(p));
  found.w_mm = from.at("w_mm"), found.h_mm = from.at("h_mm"), found.length_mm = from.at("L_mm");
  found.d1_mm = from.at("d1_mm"), found.d2_mm = from.at("d2_mm");
  found.root_z_mm = from.at("root_z_mm"), found.top_z_mm = from.at("top_z_mm");
  found.end1 = end_of(from.at("end1")), found.end2 = end_of(from.at("end2"));
  found.island = from.at("island"), found.ring = from.at("ring"), found.junction = from.at("junction");
  return found;
}

std::optional<SolidCheck> fe(const Json& from) {
  if (from.is_null())
    return {};
  SolidCheck check;
  check.verified = from.at("verified");
  if (!check.verified)
    return check;
  check.bricks = from.at("bricks"), check.unknowns = from.at("unknowns");
  for (std::size_t i = 0; i < 3; ++i)
    check.brick_mm[i] = from.at("brick_mm").at(i);
  check.right_hand_sides = from.at("right_hand_sides");
  check.iterations = from.at("iterations"), check.residual = from.at("residual");
  check.mesh_share = from.value("mesh_share", 0.0);
  return check;
}

Spot spot(const Json& from) {
  Spot found;
  found.id = from.at("id"), found.web = from.at("web"), found.pass = from.at("pass");
  found.place_mm = vec3(from.at("place_mm")), found.tip_mm = vec3(from.at("tip_mm"));
  found.normal = vec2(from.at("normal"));
  found.program_line = from.at("program_line"), found.move = from.at("move");
  found.move_share = from.at("move_share"), found.time_s = from.at("time_s");
  found.cutter = from.at("cutter"), found.a_mm = from.at("a_mm");
  found.feed_mm_min = from.at("feed_mm_min"), found.chip_mm = from.at("chip_mm"),
  found.samples = from.at("samples");
  found.fe = fe(from.at("fe"));

  SnagQuestion& asked = found.question;
  asked.climb = from.at("side").get<std::string>() == "climb";
  asked.web.w_mm = from.at("w_mm"), asked.web.h_mm = from.at("h_mm");
  asked.web.d1_mm = from.at("d1_mm"), asked.web.d2_mm = from.at("d2_mm");
  asked.web.end1 = end_of(from.at("end1")), asked.web.end2 = end_of(from.at("end2"));
  asked.web.fill = from.at("fill");
  asked.contact = {from.at("contact_low_mm"), from.at("contact_high_mm")};
  asked.gap_mm = from.at("gap_mm").get<std::array<double, kSlices>>();

  SnagAnswer& said = found.answer;
  said.gamma = number(from.at("gamma")), said.s = number(from.at("s")), said.s_low = number(from.at("s_low"));
  said.s_high = number(from.at("s_high")), said.s_touch = number(from.at("s_touch"));
  said.has_lean = !from.at("lean_mm").is_null();
  if (said.has_lean) {
    said.lean_mm = from.at("lean_mm"), said.lean_low_mm = from.at("lean_low_mm");
    said.lean_high_mm = from.at("lean_high_mm"), said.u_max_mm = from.at("u_max_mm");
  }
  said.neck_rubs = from.at("neck_rubs"), said.clamped = from.at("clamped"), said.open = from.at("open");
  said.mode = from.at("mode").get<std::array<double, kSlices>>();
  said.root_load_ratio = number(from.at("root_load_ratio"));
  said.level = level_of(from.at("level"));
  if (found.solved()) {
    found.screened.s = number(from.value("s_formula", from.at("s")));
    found.screened.clamped = said.clamped;
  }
  if (found.fe)
    found.fe->answer = said;
  return found;
}

FindingKind finding_kind_of(const std::string& text) {
  for (int n = 0; n < kFindingKinds; ++n)
    if (text == to_text(static_cast<FindingKind>(n)))
      return static_cast<FindingKind>(n);
  throw Json::other_error::create(501, "unknown kind of finding \"" + text + "\"", nullptr);
}

FindingRead finding(const Json& from) {
  FindingRead found;
  found.kind = finding_kind_of(from.at("kind"));
  found.stops_job = from.at("stops_job"), found.words = from.value("words", "");
  if (!from.at("program_line").is_null())
    found.program_line = from.at("program_line");
  if (!from.at("time_s").is_null())
    found.time_s = from.at("time_s").get<double>();
  if (!from.at("place_mm").is_null())
    found.place_mm = vec3(from.at("place_mm"));
  return found;
}

Result result(const Json& from) {
  Result read;
  read.schema = from.at("schema");
  from.at("snagmap_version").get_to(read.program_version);
  const Json& scene = from.at("scene");
  scene.at("title").get_to(read.title);
  scene.at("program").get_to(read.program);
  read.foam = scene.at("layers").at(0).at("foam").at("name");
  for (const Json& one : scene.at("cutters"))
    read.cutters.push_back(one.at("name"));
  read.sheet = {vec3(scene.at("sheet_low_mm")), vec3(scene.at("sheet_high_mm"))};
  read.show_inch = scene.at("shown_in").get<std::string>() == "inch";
  read.tolerance_mm = scene.at("tolerance_mm"), read.voxel_mm = from.at("voxel_mm");
  read.time_s = from.at("time_s"), read.moves = from.at("moves"), read.samples = from.at("samples");
  for (const Json& one : from.at("webs"))
    read.webs.push_back(web(one));
  for (const Json& one : from.at("spots"))
    read.spots.push_back(spot(one)), read.reasons.push_back(texts(one, "reasons"));
  for (const Json& one : from.at("checks"))
    read.findings.push_back(finding(one));
  read.notes = texts(from, "notes"), read.assumptions = texts(from, "assumptions");
  return read;
}

/// What the JSON library says, without its name and number.
std::string plain(std::string words) {
  if (const std::size_t end = words.find("] "); words.rfind("[json", 0) == 0 && end != std::string::npos)
    words.erase(0, end + 2);
  return words;
}

/// Brackets deeper than any result has: the library recurses when it frees a tree.
bool too_deep(const std::string& text) {
  int depth = 0;
  bool quoted = false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (quoted && c == '\\')
      ++i;
    else if (c == '"')
      quoted = !quoted;
    else if (!quoted && (c == '[' || c == '{') && ++depth > 64)
      return true;
    else if (!quoted && (c == ']' || c == '}'))
      --depth;
  }
  return false;
}

} // namespace

Outcome<Result> parse_result(const std::string& text, const std::string& name) {
  if (too_deep(text))
    return Fault("brackets nested deeper than 64: no result file", "", name);
  try {
    const Json json = Json::parse(text);
    if (const int schema = json.at("schema"); schema != kResultSchema)
      return Fault(fmt::format("result of schema {}; this program reads schema {}", schema, kResultSchema),
                   "run the preview again", name);
    return result(json);
  } catch (const Json::parse_error& error) {
    const std::size_t at = std::min(error.byte > 0 ? error.byte - 1 : 0, text.size());
    const int line =
        1 + static_cast<int>(std::count(text.begin(), text.begin() + static_cast<long>(at), '\n'));
    const std::size_t begin = at == 0 ? std::string::npos : text.rfind('\n', at - 1);
    const int column = static_cast<int>(at - (begin == std::string::npos ? 0 : begin + 1)) + 1;
    return Fault("not JSON", "a result file is written whole by a preview; run it again", name, line, column);
  } catch (const Json::exception& error) {
    return Fault("not a result file: " + plain(error.what()), "run the preview again", name);
  }
}

Outcome<Result> read_result(const std::string& file_or_folder) {
  namespace fs = std::filesystem;
  std::error_code error;
  fs::path file(file_or_folder);
  if (fs::is_directory(file, error))
    file /= "result.json";
  if (std::optional<Fault> fault = no_plain_file(file.string(), "give the output folder of a preview"))
    return *fault;
  if (fs::file_size(file, error) > (1u << 30) || error)
    return Fault("larger than 1 GB, the most that is read of a result", "", file.string());
  std::ifstream in(file, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  if (!in)
    return Fault("cannot be read", "check its permissions", file.string());
  return parse_result(text.str(), file.string());
}

} // namespace snagmap
