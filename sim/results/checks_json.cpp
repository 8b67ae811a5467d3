#include "sim/results/checks_json.hpp"

#include "sim/results/values_json.hpp"

namespace snagmap {
namespace {

using Json = nlohmann::ordered_json;

Json place(Vec3 p) {
  return {p.x, p.y, p.z};
}

Json factor(const Safety& safety) {
  return {{"nominal", safety.nominal}, {"low", safety.low}, {"high", safety.high}};
}

Json strand(const StrandRun& run) {
  return {{"from_line", run.from_line}, {"to_line", run.to_line},     {"from_time_s", run.from_time_s},
          {"to_time_s", run.to_time_s}, {"length_mm", run.length_mm}, {"volume_mm3", run.volume_mm3},
          {"strip_mm", run.strip_mm},   {"slot", run.slot},           {"risk", to_text(run.risk)}};
}

Json piece(const LoosePiece& one) {
  return {{"line", one.line},
          {"time_s", one.time_s},
          {"on_skin", one.on_skin},
          {"volume_mm3", one.volume_mm3},
          {"base_mm2", one.base_mm2},
          {"height_mm", one.height_mm()},
          {"centre_mm", place(one.centre_mm)},
          {"beside_s", one.beside_s}};
}

Json fit(const PocketFit& one) {
  Json json{{"web", one.web}, {"line", one.line}, {"place_mm", place(one.place_mm)}, {"known", one.known}};
  if (one.known) {
    json["floor_mm"] = {{"nominal", one.floor_mm}, {"low", one.floor_low_mm}, {"high", one.floor_high_mm}};
    json["top_mm"] = one.top_mm;
  }
  return json;
}

} // namespace

Json json_of(const JobChecks& checks, const Sentences* say) {
  Json stops = Json::array(), events = Json::array(), strands = Json::array(), pieces = Json::array(),
       holds = Json::array(), fits = Json::array();
  const RiskTimeline& timeline = checks.timeline;
  for (const RiskStop& stop : timeline.stops) {
    Json json{{"line", stop.line},
              {"time_s", stop.time_s},
              {"lifted", stop.lifted},
              {"of_the_program", stop.given},
              {"tip_mm", place(stop.tip_mm)}};
    if (say)
      json["where"] = say->place(stop), json["do"] = say->steps(timeline, stop);
    json["events"] = stop.events;
    stops.push_back(std::move(json));
  }
  for (const RiskEvent& event : timeline.events) {
    Json json{{"kind", to_text(event.kind())},
              {"line", event.line},
              {"time_s", event.time_s},
              {"place_mm", place(event.place_mm)},
              {"values", values_of(event.what)}};
    if (say)
      json["words"] = say->words(event.what);
    json["see_to_s"] = nullptr;
    if (event.see_to)
      json["see_to_s"] = {{"from", event.see_to->from_s}, {"by", event.see_to->by_s}};
    events.push_back(std::move(json));
  }
  for (const std::size_t index : checks.strands.longest)
    strands.push_back(strand(checks.strands.runs[index]));
  for (const LoosePiece& one : checks.loose.pieces)
    pieces.push_back(piece(one));
  for (const HoldMoment& moment : checks.hold.worst)
    holds.push_back({{"line", moment.line},
                     {"time_s", moment.time_s},
                     {"piece", moment.piece ? static_cast<int>(*moment.piece) : -1},
                     {"tip_mm", place(moment.tip_mm)},
                     {"factor", factor(moment.safety)}});
  for (const PocketFit& one : checks.walls.fits)
    fits.push_back(fit(one));
  Json json = {
      {"stop_limits", {{"strand_mm", timeline.limits.strand_mm}, {"within_s", timeline.limits.within_s}}},
      {"stops", stops},
      {"seen_at_end", timeline.at_end},
      {"events", events},
      {"strands",
       {{"longest_mm", checks.strands.longest_mm},
        {"p95_mm", checks.strands.p95_mm},
        {"runs_a_metre", checks.strands.runs_a_metre},
        {"longest", strands}}},
      {"loose_pieces", pieces},
      {"hold_down",
       {{"least", checks.hold.least ? factor(*checks.hold.least) : Json(nullptr)}, {"worst", holds}}},
      {"walls",
       {{"most_over_mm", checks.walls.most_over_mm},
        {"most_left_mm", checks.walls.most_left_mm},
        {"unknown", checks.walls.unknown},
        {"fits", fits}}}};
  if (say)
    json["stops_caution"] = say->stops_caution();
  return json;
}

} // namespace snagmap
