#include "sim/results/results.hpp"

#include "models/cards/card_fields.hpp"
#include "sim/advice/advice.hpp"
#include "sim/answer/answer.hpp"
#include "sim/checks/job_checks.hpp"
#include "sim/results/checks_json.hpp"
#include "sim/results/run_json.hpp"
#include "sim/results/values_json.hpp"

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

Json in_json(const Banded& value) {
  return {{"nominal", value.nominal},
          {"low", value.low},
          {"high", value.high},
          {"source", value.source},
          {"guess", value.guess}};
}
Json in_json(TipShape tip) {
  return to_text(tip);
}
template <class Value> Json in_json(const Value& value) {
  return value;
}

template <class Card> Json in_json_of(const Card& card) {
  Json all;
  for_each_field<Card>([&](const auto& field) {
    using Value = std::decay_t<decltype(card.*field.member)>;
    if constexpr (!std::is_same_v<Value, std::vector<ProfilePiece>>) // not in result.json
      if (field.in_result)
        all[field.in_result] = in_json(card.*field.member);
  });
  return all;
}

Json scene(const Scene& from) {
  Json layers = Json::array(), cutters = Json::array();
  for (const Layer& layer : from.layers)
    layers.push_back({{"thickness_mm", layer.thickness_mm}, {"foam", in_json_of(layer.foam)}});
  for (const CutterCard& card : from.cutters)
    cutters.push_back(in_json_of(card));
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
          {"machine", in_json_of(from.machine)}};
}

/// A width that holds; null: none does.
Json width_or_null(double mm) {
  return mm > 0 ? Json(mm) : Json(nullptr);
}

Json place_json(const Whereabouts& from, const Sentences* say) {
  Json json{{"kind", to_text(from.kind)}, {"at_mm", place(from.at_mm)}};
  if (from.kind == Whereabouts::Kind::between || from.kind == Whereabouts::Kind::at_edge)
    json["from"] = to_text(from.from), json["first"] = from.first, json["second"] = from.second,
    json["slots"] = from.slots;
  if (say)
    json["words"] = say->words(from);
  return json;
}

/// The first advice: other cutters, set on every spot.
Json tries_json(const JobAnswer& answer) {
  Json all = Json::array();
  for (const CutterTry& one : answer.tries)
    all.push_back({{"cutter", one.name},
                   {"in_drawer", one.drawer},
                   {"flute_length_mm", one.flutes_mm},
                   {"instead_of_mm", one.instead_of_mm},
                   {"pass_at_most_mm", width_or_null(one.pass_mm)},
                   {"shank_rubs", one.rubs},
                   {"webs_left", one.webs_left},
                   {"worst_s", one.worst_s},
                   {"clears", one.clears}});
  return all;
}

Json web(const WebFound& from, const WebRow* row, const Preview& preview, const Sentences* say) {
  Json midline = Json::array();
  for (const Vec2 p : from.midline_mm)
    midline.push_back(place(p));
  Json json{{"id", from.id},
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
  if (!row)
    return json;
  const Spot& worst = preview.spots[row->spot];
  json["worst_spot"] = worst.id, json["spots"] = row->spots;
  json["s"] = worst.answer.s, json["s_low"] = worst.answer.s_low, json["s_high"] = worst.answer.s_high;
  json["level"] = to_text(row->level), json["may_snag"] = row->may_snag;
  json["least_w_mm"] = width_or_null(row->least_w_mm);
  json["least_w_whole_band_mm"] = width_or_null(row->least_w_high_mm);
  json["cleared_by"] = row->cleared_by;
  json["place"] = place_json(row->place, say);
  return json;
}

Json fe(const std::optional<SolidCheck>& check, const Sentences* say) {
  if (!check)
    return nullptr;
  if (!check->verified)
    return {{"verified", false},
            {"why", check->why_not ? value_json(*check->why_not) : Json(nullptr)},
            {"why_not", check->why_not && say ? Json(say->words(*check->why_not)) : Json(nullptr)}};
  return {{"verified", true},
          {"s", check->answer.s},
          {"s_low", check->answer.s_low},
          {"s_high", check->answer.s_high},
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

template <class Said> Json values(const std::vector<Said>& list) {
  Json all = Json::array();
  for (const Said& one : list)
    all.push_back(value_json(one));
  return all;
}
template <class Said> Json sentences(const std::vector<Said>& list, const Sentences& say) {
  Json all = Json::array();
  for (const Said& one : list)
    all.push_back(say.words(one));
  return all;
}

Json spot(const Spot& from, const Sentences* say) {
  const SnagAnswer& answer = from.answer;
  Json json{{"id", from.id},
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
            {"s_formula", from.by_formula().s},
            {"lean_mm", lean(answer, answer.lean_mm)},
            {"lean_low_mm", lean(answer, answer.lean_low_mm)},
            {"lean_high_mm", lean(answer, answer.lean_high_mm)},
            {"u_max_mm", lean(answer, answer.u_max_mm)},
            {"neck_rubs", answer.neck_rubs},
            {"clamped", from.by_formula().clamped},
            {"level", to_text(from.level())},
            {"open", answer.open},
            {"mode", answer.mode},
            {"root_load_ratio", answer.root_load_ratio},
            {"feed_mm_min", from.feed_mm_min},
            {"chip_mm", from.chip_mm},
            {"samples", from.samples},
            {"reason_values", values(from.reasons)},
            {"fe", fe(from.fe, say)}};
  if (say)
    json["reasons"] = sentences(from.reasons, *say);
  return json;
}

Json advice(const std::vector<Advice>& list, const Sentences* say) {
  Json all = Json::array();
  for (const Advice& one : list) {
    Json json{{"lever", to_text(kind_of(one.lever))},
              {"values", values_of(one.lever)},
              {"effort", to_text(one.effort)},
              {"answered", one.answered},
              {"cleared", one.cleared},
              {"lost", one.lost},
              {"webs_cleared", one.webs.gone.size()},
              {"webs_anew", one.webs.fresh.size()},
              {"webs_harder", one.webs.harder.size()},
              {"long_runs_cleared", one.runs_cleared},
              {"added_s", one.added_s},
              {"webs_snagging_after", one.after.webs_snagging},
              {"worst_s_after", one.after.worst_s},
              {"webs_snagging_after_fe", one.confirmed ? Json(one.confirmed->webs_snagging) : Json(nullptr)},
              {"worst_s_after_fe", one.confirmed ? Json(one.confirmed->worst_s) : Json(nullptr)},
              {"program", one.program_file.empty() ? Json(nullptr) : Json(one.program_file)},
              {"gains", values(one.better)},
              {"costs", values(one.worse)}};
    if (say)
      json["words"] = say->words(one.lever), json["better"] = sentences(one.better, *say),
      json["worse"] = sentences(one.worse, *say);
    all.push_back(std::move(json));
  }
  return all;
}

Json advice(const std::shared_ptr<const AdviceList>& list, const Sentences* say) {
  if (!list)
    return nullptr;
  Json json{{"clean", list->clean},
            {"webs_snagging_before", list->before.webs_snagging},
            {"worst_s_before", list->before.worst_s},
            {"ranked", advice(list->ranked, say)},
            {"trades", advice(list->trades, say)},
            {"no_help", advice(list->no_help, say)},
            {"not_answered", advice(list->not_answered, say)},
            {"left_out", values(list->not_tried)}};
  if (say)
    json["not_tried"] = sentences(list->not_tried, *say);
  return json;
}

/// JSON escapes C0 only (RFC 8259); DEL and C1, which a terminal obeys, can be escaped as well: no data is
/// lost.
std::string without_controls(const std::string& json) {
  std::string out;
  out.reserve(json.size());
  for (std::size_t i = 0; i < json.size(); ++i) {
    const auto byte = static_cast<unsigned char>(json[i]);
    const unsigned next = i + 1 < json.size() ? static_cast<unsigned char>(json[i + 1]) : 0u;
    if (byte == 0x7f)
      out += "\\u007f";
    else if (byte == 0xc2 && next >= 0x80 && next < 0xa0)
      out += fmt::format("\\u{:04x}", next), ++i;
    else
      out += json[i];
  }
  return out;
}

/// One key a line, and of the long lists one item a line: short to read, and two results compare line by
/// line.
std::string text_of(const Json& json) {
  // Bytes that are not UTF-8 (a program's comment in a note) are replaced rather than fatal.
  const auto compact = [](const Json& value) {
    return without_controls(value.dump(-1, ' ', false, Json::error_handler_t::replace));
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

std::string result_json(const Preview& preview, const Sentences* say) {
  Json webs = Json::array(), spots = Json::array(), checks = Json::array(), levels;
  const std::shared_ptr<const JobAnswer> answer = job_answer(preview);
  for (const WebFound& one : preview.webs)
    webs.push_back(web(one, answer->row(one.id), preview, say));
  for (const Spot& one : preview.spots)
    spots.push_back(spot(one, say));
  for (const Finding& one : preview.findings) {
    checks.push_back({{"kind", to_text(one.kind())},
                      {"stops_job", one.stops_job},
                      {"program_line", one.program_line > 0 ? Json(one.program_line) : Json(nullptr)},
                      {"time_s", one.time_s ? Json(*one.time_s) : Json(nullptr)},
                      {"place_mm", one.place_mm ? place(*one.place_mm) : Json(nullptr)},
                      {"values", values_of(one.what)}});
    if (say)
      checks.back()["words"] = say->words(one.what);
  }
  const std::array<int, 4> count = spots_by_level(preview.spots);
  for (std::size_t i = 0; i < count.size(); ++i)
    levels[to_text(static_cast<Level>(i))] = count[i];
  const Scene& from = preview.scene;
  const double widest = from.cutters.empty() ? 0 : from.cutters.front().diameter_mm;
  Json all{{"schema", kResultSchema},
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
           {"webs_that_snag", answer->snag},
           {"webs_that_may", answer->may_snag},
           {"first_advice", tries_json(*answer)},
           {"webs", webs},
           {"checks", checks},
           {"whole_job", preview.checks ? json_of(*preview.checks, say) : Json(nullptr)},
           {"advice", advice(preview.advice, say)},
           {"note_values", values(preview.notes)},
           {"assumed", values(preview.assumptions)}};
  if (say)
    all["notes"] = sentences(preview.notes, *say), all["assumptions"] = sentences(preview.assumptions, *say);
  return text_of(all);
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
    if (spot.solved())
      verified.push_back({{"spot", spot.id}, {"seconds", spot.fe->seconds}});
  return text_of({{"schema", kResultSchema},
                  {"total_s", total},
                  {"stages", stages},
                  {"verified", verified},
                  {"rays", preview.rays},
                  {"eigenproblems", preview.eigenproblems}});
}

} // namespace snagmap
