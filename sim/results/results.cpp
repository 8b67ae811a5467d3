#include "sim/results/results.hpp"

#include "sim/advice/advice.hpp"
#include "sim/checks/job_checks.hpp"
#include "sim/results/checks_json.hpp"
#include "sim/results/run_json.hpp"

#include <cmath>
#include <filesystem>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace snagmap {
namespace {

using Json = nlohmann::ordered_json; // keys in the order a reader wants them

Json place(Vec3 p) {
  return {p.x, p.y, p.z};
}
Json place(Vec2 p) {
  return {p.x, p.y};
}

Json banded(const Banded& value) {
  return {{"nominal", value.nominal},
          {"low", value.low},
          {"high", value.high},
          {"source", value.source},
          {"guess", value.guess}};
}

Json foam(const FoamCard& card) {
  return {{"name", card.name},
          {"title", card.title},
          {"open_cell", card.open_cell},
          {"density_kg_m3", card.density_kg_m3},
          {"E_kPa", banded(card.E_kPa)},
          {"nu", banded(card.nu)},
          {"Gc_N_mm", banded(card.Gc_N_mm)},
          {"tensile_kPa", banded(card.tensile_kPa)},
          {"bite_depth_mm", banded(card.bite_depth_mm)},
          {"lambda", banded(card.lambda)},
          {"cell_mm", banded(card.cell_mm)},
          {"cut_force_N_mm", banded(card.cut_force_N_mm)},
          {"severing_MJ_m3", banded(card.severing_MJ_m3)},
          {"loss_factor", banded(card.loss_factor)}};
}

Json cutter(const CutterCard& card) {
  return {{"name", card.name},
          {"source", card.source},
          {"tip", to_text(card.tip)},
          {"diameter_mm", card.diameter_mm},
          {"corner_radius_mm", card.corner_radius_mm},
          {"taper_deg", card.taper_deg},
          {"flute_length_mm", card.flute_length_mm},
          {"neck_diameter_mm", card.neck_diameter_mm},
          {"neck_length_mm", card.neck_length_mm},
          {"shank_diameter_mm", card.shank_diameter_mm},
          {"stick_out_mm", card.stick_out_mm},
          {"flutes", card.flutes},
          {"helix_deg", card.helix_deg},
          {"rake_deg", card.rake_deg},
          {"least_chip_mm", card.least_chip_mm}};
}

Json machine(const MachineCard& card) {
  return {{"name", card.name},
          {"source", card.source},
          {"feed_mm_min", card.feed_mm_min},
          {"rapid_mm_min", card.rapid_mm_min},
          {"acceleration_mm_s2", card.acceleration_mm_s2},
          {"jerk_mm_s3", card.jerk_mm_s3},
          {"corner_deviation_mm", card.corner_deviation_mm},
          {"spindle_run_up_s", card.spindle_run_up_s},
          {"tool_change_s", card.tool_change_s},
          {"spindle_min_rpm", card.spindle_min_rpm},
          {"spindle_max_rpm", card.spindle_max_rpm}};
}

Json scene(const Scene& from) {
  Json layers = Json::array(), cutters = Json::array();
  for (const Layer& layer : from.layers)
    layers.push_back({{"thickness_mm", layer.thickness_mm}, {"foam", foam(layer.foam)}});
  for (const CutterCard& card : from.cutters)
    cutters.push_back(cutter(card));
  const auto name_of = [](const std::string& file) {
    return std::filesystem::path(file).filename().string();
  };
  return {{"title", from.title},
          {"file", name_of(from.file)},
          {"program", name_of(from.program_file)},
          {"shown_in", from.show_inch ? "inch" : "mm"},
          {"sheet_low_mm", place(from.sheet.low)},
          {"sheet_high_mm", place(from.sheet.high)},
          {"sheet_given", from.sheet_given},
          {"stock", from.stock_file.empty() ? Json(nullptr) : Json(name_of(from.stock_file))},
          {"stands_on", from.rigid_floor ? "board" : "foam"},
          {"tolerance_mm", from.tolerance_mm},
          {"layers", layers},
          {"cutters", cutters},
          {"machine", machine(from.machine)}};
}

Json web(const WebFound& from) {
  Json midline = Json::array();
  for (const Vec2 p : from.midline_mm)
    midline.push_back(place(p));
  return {{"id", from.id},
          {"midline_mm", midline},
          {"w_mm", from.w_mm},
          {"h_mm", from.h_mm},
          {"L_mm", from.length_mm},
          {"d1_mm", from.d1_mm},
          {"d2_mm", from.d2_mm},
          {"root_z_mm", from.root_z_mm},
          {"top_z_mm", from.top_z_mm},
          {"end1", to_text(from.end1)},
          {"end2", to_text(from.end2)},
          {"island", from.island},
          {"ring", from.ring},
          {"junction", from.junction}};
}

Json fe(const std::optional<SolidCheck>& check) {
  if (!check)
    return nullptr;
  if (!check->verified)
    return {{"verified", false}, {"why_not", check->why_not}};
  return {{"verified", true},
          {"s", check->s},
          {"s_low", check->s_low},
          {"s_high", check->s_high},
          {"bricks", check->bricks},
          {"brick_mm", check->brick_mm},
          {"unknowns", check->unknowns},
          {"right_hand_sides", check->right_hand_sides},
          {"iterations", check->iterations},
          {"residual", check->residual},
          {"mesh_share", check->mesh_share}};
}

Json lean(const SnagAnswer& answer, double value_mm) {
  return answer.has_lean ? Json(value_mm) : Json(nullptr);
}

Json spot(const Spot& from) {
  const SnagAnswer& answer = from.answer;
  return {{"id", from.id},
          {"web", from.web},
          {"pass", from.pass},
          {"place_mm", place(from.place_mm)},
          {"tip_mm", place(from.tip_mm)},
          {"normal", place(from.normal)},
          {"program_line", from.program_line},
          {"move", from.move},
          {"move_share", from.move_share},
          {"time_s", from.time_s},
          {"cutter", from.cutter},
          {"side", from.question.climb ? "climb" : "conventional"},
          {"w_mm", from.question.web.w_mm},
          {"h_mm", from.question.web.h_mm},
          {"L_mm", from.question.web.length_mm()},
          {"d1_mm", from.question.web.d1_mm},
          {"d2_mm", from.question.web.d2_mm},
          {"end1", to_text(from.question.web.end1)},
          {"end2", to_text(from.question.web.end2)},
          {"fill", from.question.web.fill},
          {"a_mm", from.a_mm},
          {"contact_low_mm", from.question.contact.low_mm},
          {"contact_high_mm", from.question.contact.high_mm},
          {"gap_mm", from.question.gap_mm},
          {"gamma", answer.gamma},
          {"gamma_residual", answer.gamma_residual},
          {"lean_residual_mm", answer.residual},
          {"s", answer.s},
          {"s_low", answer.s_low},
          {"s_high", answer.s_high},
          {"s_touch", answer.s_touch},
          {"lean_mm", lean(answer, answer.lean_mm)},
          {"lean_low_mm", lean(answer, answer.lean_low_mm)},
          {"lean_high_mm", lean(answer, answer.lean_high_mm)},
          {"u_max_mm", lean(answer, answer.u_max_mm)},
          {"neck_rubs", answer.neck_rubs},
          {"clamped", answer.clamped},
          {"level", to_text(from.level())},
          {"open", answer.open},
          {"mode", answer.mode},
          {"root_load_ratio", answer.root_load_ratio},
          {"feed_mm_min", from.feed_mm_min},
          {"chip_mm", from.chip_mm},
          {"samples", from.samples},
          {"reasons", from.reasons},
          {"fe", fe(from.fe)}};
}

Json advice(const std::vector<Advice>& list) {
  Json all = Json::array();
  for (const Advice& one : list)
    all.push_back(
        {{"lever", one.lever},
         {"words", one.words},
         {"effort", to_text(one.effort)},
         {"answered", one.answered},
         {"cleared", one.cleared},
         {"long_runs_cleared", one.runs_cleared},
         {"added_s", one.added_s},
         {"webs_snagging_after", one.after.webs_snagging},
         {"worst_s_after", one.after.worst_s},
         {"webs_snagging_after_fe", one.confirmed ? Json(one.confirmed->webs_snagging) : Json(nullptr)},
         {"worst_s_after_fe", one.confirmed ? Json(one.confirmed->worst_s) : Json(nullptr)},
         {"program", one.program_file.empty() ? Json(nullptr) : Json(one.program_file)},
         {"better", one.better},
         {"worse", one.worse}});
  return all;
}

Json advice(const std::shared_ptr<const AdviceList>& list) {
  if (!list)
    return nullptr;
  return {{"clean", list->clean},
          {"webs_snagging_before", list->before.webs_snagging},
          {"worst_s_before", list->before.worst_s},
          {"ranked", advice(list->ranked)},
          {"no_help", advice(list->no_help)},
          {"not_answered", advice(list->not_answered)},
          {"not_tried", list->not_tried}};
}

/// One key a line, and of the long lists one item a line: short to read, and two results compare line by
/// line.
std::string text_of(const Json& json) {
  // Bytes that are not UTF-8 (a program's comment in a note) are replaced rather than fatal.
  const auto compact = [](const Json& value) {
    return value.dump(-1, ' ', false, Json::error_handler_t::replace);
  };
  std::string text = "{";
  for (const auto& [key, value] : json.items()) {
    text += (text.size() > 1 ? ",\n " : "\n ") + compact(key) + ": ";
    if (!value.is_array() || value.empty()) {
      text += compact(value);
      continue;
    }
    const char* separator = "[\n  ";
    for (const Json& item : value)
      text += separator + compact(item), separator = ",\n  ";
    text += "]";
  }
  return text + "\n}\n";
}

} // namespace

std::array<int, 4> spots_by_level(const std::vector<Spot>& spots) {
  std::array<int, 4> count{};
  for (const Spot& one : spots)
    ++count[static_cast<std::size_t>(one.level())];
  return count;
}

std::string result_json(const Preview& preview) {
  Json webs = Json::array(), spots = Json::array(), checks = Json::array(), levels;
  for (const WebFound& one : preview.webs)
    webs.push_back(web(one));
  for (const Spot& one : preview.spots)
    spots.push_back(spot(one));
  for (const Finding& one : preview.findings)
    checks.push_back({{"kind", one.kind},
                      {"stops_job", one.stops_job},
                      {"program_line", one.program_line},
                      {"time_s", one.time_s},
                      {"place_mm", place(one.place_mm)},
                      {"words", one.words}});
  const std::array<int, 4> count = spots_by_level(preview.spots);
  for (std::size_t i = 0; i < count.size(); ++i)
    levels[to_text(static_cast<Level>(i))] = count[i];
  const Scene& from = preview.scene;
  const double widest = from.cutters.empty() ? 0 : from.cutters.front().diameter_mm;
  return text_of({{"schema", kResultSchema},
                  {"snagmap_version", SNAGMAP_VERSION},
                  {"scene", scene(from)},
                  {"voxel_mm", preview.record ? preview.record->voxel_mm() : from.voxel_mm},
                  {"sample_mm", from.sample_mm > 0 ? from.sample_mm : widest / 4},
                  {"moves", preview.path.moves.size()},
                  {"time_s", preview.motion.total_s()},
                  {"run", preview.checks ? run_json(preview.checks->run) : Json(nullptr)},
                  {"samples", preview.sample_count},
                  {"spots_by_level", levels},
                  {"spots", spots},
                  {"webs", webs},
                  {"checks", checks},
                  {"whole_job", preview.checks ? json_of(*preview.checks) : Json(nullptr)},
                  {"advice", advice(preview.advice)},
                  {"notes", preview.notes},
                  {"assumptions", preview.assumptions}});
}

std::string timing_json(const Preview& preview) {
  Json stages = Json::array();
  double total = 0;
  for (const StageTime& one : preview.times) {
    stages.push_back({{"stage", one.stage}, {"seconds", one.seconds}});
    total += one.seconds;
  }
  Json verified = Json::array();
  for (const Spot& spot : preview.spots)
    if (spot.fe && spot.fe->verified)
      verified.push_back({{"spot", spot.id}, {"seconds", spot.fe->seconds}});
  return text_of({{"schema", kResultSchema},
                  {"total_s", total},
                  {"stages", stages},
                  {"verified", verified},
                  {"rays", preview.rays},
                  {"eigenproblems", preview.eigenproblems}});
}

std::string spots_csv(const Preview& preview) {
  const auto quoted = [](std::string text) {
    for (std::size_t i = 0; (i = text.find('"', i)) != std::string::npos; i += 2)
      text.insert(i, 1, '"');
    return '"' + text + '"';
  };
  std::string text =
      "id,web,pass,level,open,s,s_low,s_high,s_touch,lean_mm,w_mm,h_mm,L_mm,a_mm,x_mm,y_mm,z_mm,"
      "program_line,time_s,side,feed_mm_min,chip_mm,fe_s,reasons\r\n";
  for (const Spot& one : preview.spots) {
    const Web& its = one.question.web;
    std::string reasons;
    for (const std::string& reason : one.reasons)
      reasons += (reasons.empty() ? "" : "; ") + reason;
    text += fmt::format(
        "{},{},{},{},{},{:.4f},{:.4f},{:.4f},{:.4f},{},{:.3f},{:.3f},{:.3f},{:.3f},{:.3f},{:.3f},{:.3f},"
        "{},{:.3f},{},{:.1f},{:.4f},{},{}\r\n",
        one.id, one.web, one.pass, to_text(one.level()), one.answer.open ? "yes" : "no", one.answer.s,
        one.answer.s_low, one.answer.s_high, one.answer.s_touch,
        one.answer.has_lean ? fmt::format("{:.4f}", one.answer.lean_mm) : "", its.w_mm, its.h_mm,
        its.length_mm(), one.a_mm, one.place_mm.x, one.place_mm.y, one.place_mm.z, one.program_line,
        one.time_s, one.question.climb ? "climb" : "conventional", one.feed_mm_min, one.chip_mm,
        one.fe && one.fe->verified ? fmt::format("{:.4f}", one.fe->s) : "", quoted(reasons));
  }
  return text;
}

} // namespace snagmap
