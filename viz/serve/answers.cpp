#include "viz/serve/answers.hpp"

#include "models/base/plain_text.hpp"
#include "sim/scene/everyday.hpp"
#include "sim/trust/readings.hpp"
#include "viz/words/page_words.hpp"

#include <nlohmann/json.hpp>
#include <set>

namespace snagmap {
namespace {

using Json = nlohmann::json;

std::string text_of(const Json& json) {
  return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

Json job_json(const ServedFolder& folder, const JobView& view) {
  const JobState state = view.state;
  Json json{{"id", view.job.id},
            {"kind", to_text(view.job.kind)},
            {"label", plain_text(view.job.label)},
            {"state", to_text(state)},
            {"words", job_state_words(to_text(state), view.place)}};
  if (state == JobState::running) {
    json["stage"] = stage_words(view.stage);
    json["share"] = view.share;
    json["times"] = job_time_words(view.running_s, view.stage_left_s);
  }
  if (state == JobState::failed || state == JobState::late)
    json["said"] = folder.said(view.job, kErrFile);
  return json;
}

Json result_json(const ServedFolder& folder, const SavedResult& result) {
  const std::optional<Job> job = is_job_id(result.name) ? folder.job(result.name) : std::nullopt;
  Json json{{"name", result.name},
            {"label", plain_text(job ? job->label : result.name)},
            {"command", plain_text(result.list.command)},
            {"kind", result_kind_words(result.list.command)},
            {"made", result.made}};
  if (const auto end = job ? folder.end_of(result.name) : std::nullopt)
    json["alarm"] = end->status == 3;
  if (job && job->kind == JobKind::preview)
    json["verdict"] = folder.said(*job, kOutFile, 600);
  if (job)
    json["of"] = job->of;
  json["scene"] = scene_of_result(folder, result.name).has_value();
  Json files = Json::array();
  for (const auto& [name, file] : result.list.files)
    files.push_back({{"name", name}, {"bytes", file.bytes}});
  json["files"] = std::move(files);
  return json;
}

} // namespace

std::string cards_answer(const ServedFolder& folder) {
  Json foams = Json::array(), cutters = Json::array();
  for (const EverydayFoam& foam : everyday_foams()) {
    const auto card = find_foam(foam.card);
    foams.push_back(
        {{"value", foam.name}, {"name", foam.name}, {"words", card ? card->title : ""}, {"group", "look"}});
  }
  for (const SavedResult& result : results_in(folder.path()))
    if (listed_file(folder.path(), result, kJobCard))
      foams.push_back(
          {{"value", result.name}, {"name", own_card_words(result.name)}, {"words", ""}, {"group", "own"}});
  for (const FoamCard& card : foam_cards())
    foams.push_back({{"value", card.name}, {"name", card.name}, {"words", card.title}, {"group", "card"}});
  for (const CutterCard& card : cutter_cards())
    cutters.push_back({{"value", card.name},
                       {"name", cutter_words(card)},
                       {"tip", to_text(card.tip)},
                       {"diameter", card.diameter_mm},
                       {"flutes", card.flute_length_mm},
                       {"neck", card.neck_diameter_mm},
                       {"neck_length", card.neck_length_mm},
                       {"shank", card.shank_diameter_mm},
                       {"out", card.stick_out_mm}});
  return text_of({{"foams", std::move(foams)}, {"cutters", std::move(cutters)}});
}

std::string state_answer(const ServedFolder& folder, const JobLine& line) {
  Json jobs = Json::array(), results = Json::array();
  std::set<std::string>
      unfinished; // a result may stand in its place while its process still says its verdict
  for (const JobView& view : line.view()) {
    if (view.state != JobState::done)
      jobs.push_back(job_json(folder, view));
    if (view.state == JobState::running)
      unfinished.insert(view.job.id);
  }
  for (const SavedResult& result : results_in(folder.path()))
    if (unfinished.count(result.name) == 0)
      results.push_back(result_json(folder, result));
  return text_of(
      {{"at_once", line.limits().at_once}, {"jobs", std::move(jobs)}, {"results", std::move(results)}});
}

Outcome<std::string> piece_answer(const ServedFolder& folder, const SavedResult& result) {
  const auto file = listed_file(folder.path(), result, "walls.toml");
  if (!file)
    return Fault("this result is no test piece", "plan one from a preview");
  const Outcome<TestPiece> piece = read_piece(file->string());
  if (!piece)
    return piece.faults();
  Json walls = Json::array();
  for (const PieceWall& wall : piece->walls)
    walls.push_back({{"wall", wall.number},
                     {"cutter", plain_text(piece->cutters[static_cast<std::size_t>(wall.cutter)].name)},
                     {"w", wall.w_mm},
                     {"h", wall.h_mm},
                     {"length", wall.length_mm}});
  return text_of({{"foam", plain_text(piece->foam.title)}, {"walls", std::move(walls)}});
}

std::string stays_answer(const std::vector<std::string>& names) {
  Json stays = Json::array();
  for (const std::string& name : names)
    stays.push_back(plain_text(name));
  return text_of({{"stays", std::move(stays)}});
}

std::string fault_answer(const std::vector<Fault>& faults) {
  std::string words;
  for (const Fault& fault : faults)
    words += (words.empty() ? "" : "\n") + to_text(fault);
  return text_of({{"fault", plain_lines(words)}});
}

} // namespace snagmap
