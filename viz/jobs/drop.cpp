#include "viz/jobs/drop.hpp"

#include "models/base/plain_text.hpp"
#include "sim/scene/card_text.hpp"
#include "sim/scene/everyday.hpp"
#include "sim/scene/named_cards.hpp"
#include "sim/text/csv.hpp"
#include "sim/text/toml.hpp"
#include "sim/text/whole_file.hpp"
#include "viz/jobs/results.hpp"

#include <algorithm>
#include <cctype>
#include <fmt/format.h>
#include <nlohmann/json.hpp>
#include <set>

namespace snagmap {
namespace {

using Json = nlohmann::json;
namespace fs = std::filesystem;

constexpr std::size_t kLongestWord = 200, kMostFiles = 16, kMostCutters = 32, kMostWalls = 500;

struct Dropped {
  std::string name; ///< as the user's machine calls it: for the eye only
  std::string content;
};

/// A short text of the request; empty when it is not there.
std::string word(const Json& in, const char* key) {
  const auto found = in.find(key);
  if (found == in.end() || !found->is_string())
    return "";
  const std::string& text = found->get_ref<const std::string&>();
  return text.size() <= kLongestWord ? plain_text(text) : "";
}

bool flag(const Json& in, const char* key) {
  const auto found = in.find(key);
  return found != in.end() && found->is_boolean() && found->get<bool>();
}

const Json& part(const Json& in, const char* key) {
  static const Json none = Json::object();
  const auto found = in.find(key);
  return found == in.end() ? none : *found;
}

Fault wrong_request() {
  return Fault("the request is not what the page sends", "load the page again");
}

Outcome<std::vector<Dropped>> files_of(const Json& head, std::string_view bytes) {
  std::vector<Dropped> files;
  const Json& list = part(head, "files");
  if (list.size() > kMostFiles)
    return Fault(fmt::format("{} files at once", list.size()),
                 fmt::format("drop a program or a scene with what it names, {} files at most", kMostFiles));
  for (const Json& one : list) {
    if (!one.is_object() || !part(one, "bytes").is_number_unsigned())
      return wrong_request();
    const auto count = one["bytes"].get<std::size_t>();
    if (count > bytes.size())
      return wrong_request();
    const std::string name = word(one, "name");
    files.push_back({name.empty() ? "program" : name, std::string(bytes.substr(0, count))});
    bytes.remove_prefix(count);
  }
  if (!bytes.empty())
    return wrong_request();
  return files;
}

std::string ending_of(const std::string& name) {
  std::string ending = fs::path(name).extension().string();
  std::transform(ending.begin(), ending.end(), ending.begin(),
                 [](unsigned char c) { return std::tolower(c); });
  return ending;
}

/// A mapping's text values below `value`, each with its key.
void texts_below(const SceneValue& value, std::vector<const SceneValue*>& texts) {
  if (value.kind == SceneValue::Kind::text)
    texts.push_back(&value);
  for (const SceneValue& item : value.items)
    texts_below(item, texts);
}

/// A scene of another machine may name any file of this one; on a page only those dropped with it are read.
/// Every path in a scene starts at its folder, which holds files of our making alone.
std::optional<Fault> leads_elsewhere(const std::string& scene) {
  const Outcome<SceneValue> tree = parse_scene_text(scene, kJobScene);
  if (!tree)
    return {}; // the program says what is wrong with it
  std::vector<const SceneValue*> texts;
  texts_below(*tree, texts);
  for (const SceneValue* text : texts) {
    const fs::path path(text->text);
    const bool up = std::find(path.begin(), path.end(), "..") != path.end();
    if (text->key != "title" && (path.is_absolute() || up))
      return Fault("the scene names a file elsewhere: " + plain_text(text->text),
                   "name the file alone, and drop it together with the scene", "", text->line);
  }
  return {};
}

/// Names of our making for the files beside a scene, put into the scene's text where it names them.
void rename_files(std::vector<Dropped> files, std::string& scene, PreparedJob& made) {
  static const std::set<std::string> known{".nc",  ".ngc", ".tap", ".gcode", ".stl",
                                           ".ply", ".obj", ".vtp", ".vdb",   ".toml"};
  int number = 0;
  for (Dropped& file : files) {
    const std::string ending = ending_of(file.name);
    const std::string ours = fmt::format("file-{}{}", ++number, known.count(ending) ? ending : "");
    if (file.name.find_first_of("\"'\\") == std::string::npos)
      for (const char* quote : {"\"", "'"})
        for (const char* before : {"", "./"}) {
          const std::string from = quote + (before + file.name) + quote, to = quote + ours + quote;
          for (std::size_t at = 0; (at = scene.find(from, at)) != std::string::npos; at += to.size())
            scene.replace(at, from.size(), to);
        }
    made.job.names.emplace_back(ours, file.name);
    made.files.emplace_back(ours, std::move(file.content));
  }
}

bool is_scene(const Dropped& file) {
  if (ending_of(file.name) != ".toml" || file.content.size() > kLongestScene)
    return false;
  const Outcome<SceneValue> tree = parse_scene_text(file.content, file.name);
  return !tree || tree->find("program"); // one that cannot be read is refused as a scene
}

/// Numbers typed without a unit are millimetres.
std::string with_mm(const std::string& text) {
  return text.find_first_not_of("0123456789.") == std::string::npos ? text + " mm" : text;
}

Outcome<std::string> foam_lines(const ServedFolder& folder, const std::string& foam, PreparedJob& made) {
  if (is_job_id(foam)) {
    const auto result = result_named(folder.path(), foam);
    const auto card = result ? listed_file(folder.path(), *result, kJobCard) : std::nullopt;
    const Outcome<std::string> text = card ? read_whole_file(card->string())
                                           : Outcome<std::string>(Fault("the card of your own is gone", ""));
    if (!text)
      return text.faults();
    made.files.emplace_back(kJobFoam, *text);
    return fmt::format("foam = \"{}\"\n", kJobFoam);
  }
  const std::string card = foam_card_for(foam);
  return (card == foam ? ""
                       : fmt::format("# \"{}\" goes by the card {}: a look tells no modulus\n", foam, card)) +
         fmt::format("foam = {}\n", toml_text(card));
}

Outcome<std::string> cutter_lines(const Json& cutters) {
  if (!cutters.is_array() || cutters.empty() || cutters.size() > kMostCutters)
    return Fault("no cutter is chosen", "choose the cutter that is in the spindle");
  std::string tables;
  for (const Json& one : cutters) {
    std::string cutter = one.is_object() ? word(one, "cutter") : "";
    const int tool = one.is_object() && part(one, "tool").is_number_integer() ? one["tool"].get<int>() : 0;
    if (cutter.empty())
      return Fault("no cutter is chosen", "choose the cutter that is in the spindle");
    // A size, "6.35 x 22", is the nearest card, as on the command line.
    const Outcome<CutterCard> card = cutter_named(cutter, "the cutter");
    if (!card)
      return card.faults();
    cutter = card->name;
    if (cutters.size() == 1 && tool == 0)
      return fmt::format("cutter = {}\n", toml_text(cutter));
    tables += fmt::format("\n[[tool]]\nnumber = {}\ncutter = {}\n", tool, toml_text(cutter));
  }
  return tables;
}

std::string sheet_lines(const Json& sheet) {
  std::string lines;
  const Json& size = part(sheet, "size");
  if (size.is_array() && size.size() == 3) {
    std::vector<std::string> sides;
    for (const Json& side : size)
      if (side.is_string() && !side.get_ref<const std::string&>().empty())
        sides.push_back(toml_text(with_mm(plain_text(side.get<std::string>().substr(0, kLongestWord)))));
    if (sides.size() == 3)
      lines += fmt::format("size = [{}]\n", fmt::join(sides, ", "));
    else if (size[2].is_string() && !size[2].get_ref<const std::string&>().empty())
      lines += fmt::format("thickness = {}\n", sides.back());
  }
  for (const char* key : {"zero", "zero_on", "stands_on"})
    if (const std::string value = word(sheet, key); !value.empty())
      lines += fmt::format("{} = {}\n", key, toml_text(value));
  return lines.empty() ? "" : "\n[sheet]\n" + lines;
}

std::string hold_lines(const Json& hold) {
  const std::string kind = word(hold, "kind");
  if (kind.empty())
    return "";
  std::string lines = fmt::format("\n[hold_down]\nkind = {}\n", toml_text(kind));
  for (const char* key : {"area", "pressure"})
    if (const std::string value = word(hold, key); !value.empty())
      lines += fmt::format("{} = {}\n", key, toml_text(value));
  return lines;
}

Outcome<PreparedJob> prepare_preview(const ServedFolder& folder, const Json& head,
                                     std::vector<Dropped> files) {
  PreparedJob made;
  made.job.quick = flag(head, "quick"), made.job.advise = flag(head, "advise");
  const auto scene = std::find_if(files.begin(), files.end(), is_scene);
  if (scene != files.end()) {
    made.job.label = scene->name;
    std::string text = std::move(scene->content);
    files.erase(scene);
    rename_files(std::move(files), text, made);
    if (auto fault = leads_elsewhere(text))
      return *fault;
    made.job.names.emplace_back(kJobScene, made.job.label);
    made.files.emplace_back(kJobScene, std::move(text));
    return made;
  }
  if (files.size() != 1)
    return files.empty()
               ? Fault("no program was dropped", "drop an NC program, or a scene with its program")
               : Fault("several files and no scene", "drop one program, or a scene with what it names");
  made.job.label = files.front().name;
  if (word(head, "foam").empty())
    return Fault("no foam is chosen", "choose it by its look, or a card");
  const Outcome<std::string> foam = foam_lines(folder, word(head, "foam"), made),
                             cutters = cutter_lines(part(head, "cutters"));
  if (!foam)
    return foam.faults();
  if (!cutters)
    return cutters.faults();
  const bool tables = cutters->find("[[") != std::string::npos;
  made.job.names.emplace_back(kJobProgram, made.job.label);
  made.files.emplace_back(kJobProgram, std::move(files.front().content));
  made.files.emplace_back(
      kJobScene, fmt::format("title = {}\nprogram = \"{}\"\n", toml_text(made.job.label), kJobProgram) +
                     *foam + (tables ? "" : *cutters) + sheet_lines(part(head, "sheet")) +
                     hold_lines(part(head, "hold")) + (tables ? *cutters : ""));
  return made;
}

Outcome<PreparedJob> prepare_fit(const Json& head, PreparedJob made) {
  const Json& walls = part(head, "walls");
  std::string rows = csv_row({"wall", "outcome"});
  std::size_t read = 0;
  if (walls.is_array() && walls.size() <= kMostWalls)
    for (const Json& one : walls) {
      const std::string outcome = one.is_object() ? word(one, "outcome") : "";
      if (!one.is_object() || !part(one, "wall").is_number_unsigned())
        return wrong_request();
      read += !outcome.empty();
      rows += csv_row({std::to_string(one["wall"].get<unsigned>()), outcome});
    }
  if (read == 0)
    return Fault("no wall has an outcome", "say of each wall that was looked at: held, marked or torn");
  made.files.emplace_back(kJobReadings, rows);
  return made;
}

} // namespace

Outcome<PreparedJob> prepare_job(const ServedFolder& folder, std::string_view body) {
  const std::size_t end = body.find('\n');
  const Json head = Json::parse(body.substr(0, end), nullptr, false);
  if (!head.is_object())
    return wrong_request();
  const std::string kind = word(head, "kind");
  Outcome<std::vector<Dropped>> files =
      files_of(head, end == std::string_view::npos ? std::string_view() : body.substr(end + 1));
  if (!files)
    return files.faults();
  if (kind == to_text(JobKind::preview))
    return prepare_preview(folder, head, std::move(*files));
  PreparedJob made;
  for (const Json& one : part(head, "of")) {
    const auto result = one.is_string() ? result_named(folder.path(), one.get<std::string>()) : std::nullopt;
    if (!result)
      return Fault("one of the results is not there any more", "load the page again");
    made.job.of.push_back(result->name);
    const std::optional<Job> before = is_job_id(result->name) ? folder.job(result->name) : std::nullopt;
    made.job.label +=
        (made.job.label.empty() ? "" : ", ") + plain_text(before ? before->label : result->name);
  }
  for (const JobKind known : {JobKind::compare, JobKind::coupon, JobKind::fit})
    if (kind == to_text(known))
      made.job.kind = known;
  const std::size_t wanted = made.job.kind == JobKind::compare ? 2 : 1;
  if (made.job.kind == JobKind::preview || made.job.of.size() != wanted || !files->empty())
    return wrong_request();
  return made.job.kind == JobKind::fit ? prepare_fit(head, std::move(made))
                                       : Outcome<PreparedJob>(std::move(made));
}

} // namespace snagmap
