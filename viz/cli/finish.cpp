#include "viz/cli/finish.hpp"

#include "models/base/plain_text.hpp"

#include "viz/cli/command_line.hpp"
#include "viz/draw/apart.hpp"
#include "viz/terminal/stop.hpp"

#include <fmt/format.h>

namespace snagmap {

int put_in_place(OutputFolder& folder, const std::string& word) {
  const auto fault = folder.commit();
  for (const std::string& note : folder.notes())
    fmt::print(stderr, "note: {}\n", plain_text(note));
  if (fault) {
    print_faults({*fault});
    return kProgramFailed;
  }
  std::error_code error;
  const std::filesystem::path here = std::filesystem::current_path(error);
  const std::string near = error ? ".." : folder.place().lexically_proximate(here).string();
  if (word.empty())
    return kNothingFound;
  fmt::print(stderr, "{}: {}\n", word, plain_text(near.rfind("..", 0) == 0 ? folder.place().string() : near));
  return kNothingFound;
}

int draw_or_say(const std::function<std::optional<Fault>()>& draw) {
  const DrawnApart drawn = draw_apart([&](const DrawnFile&) { return draw(); }, [] { return !stop_asked(); });
  if (drawn.stopped || stop_asked())
    return end_stopped();
  if (drawn.fault)
    print_faults({*drawn.fault});
  return drawn.fault && !drawn.fault->file.empty() ? kProgramFailed : kNothingFound;
}

} // namespace snagmap
