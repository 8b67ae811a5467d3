#include "viz/cli/advised.hpp"

#include "models/base/plain_text.hpp"
#include "viz/terminal/progress.hpp"
#include "viz/terminal/stop.hpp"
#include "viz/words/advice_words.hpp"
#include "viz/words/note_words.hpp"

#include <cstdio>
#include <fmt/format.h>
#include <memory>
#include <mutex>

namespace snagmap {

std::string advice_text(const AdviceList& list, Shown shown) {
  std::string text;
  for (const AdvicePart& part : advice_parts(list, shown)) {
    text += fmt::format("\n{}{}:\n", part.title,
                        text.empty() ? ", tried in the model (by the formula, before and after)" : "");
    for (const std::string& line : part.lines)
      text += plain_text(line) + "\n";
  }
  return text;
}

Outcome<Preview> advised(Preview job, const PreviewOptions& options, ProgressBar& bar, bool quiet) {
  const Shown shown{job.scene.show_inch};
  std::mutex lock;
  AdviceList so_far;
  say_when_stopped([&]() -> std::string {
    const std::lock_guard<std::mutex> hold(lock);
    const bool any = so_far.tried() > 0;
    return any && !quiet ? advice_text(so_far, shown) : "";
  });
  AdviceOptions advising;
  advising.progress = options.progress;
  advising.head = advice_program_head;
  advising.say = say_remarks(shown);
  advising.found = [&](const AdviceList& list) {
    const std::lock_guard<std::mutex> hold(lock);
    so_far = list;
    so_far.stopped = true; // for as long as it is not the end
    bar.clear();
    if (!quiet)
      fmt::print(stderr, "advice: {} tried, {} help{}\n", list.tried(), list.ranked.size(),
                 list.ranked.empty()
                     ? ""
                     : "; so far best: " + plain_text(words_of(list.ranked.front().lever, shown)));
  };
  AdviceList list = timed(job, bar, "advice", [&] { return advise(job, advising); });
  if (stop_asked()) { // the watching thread would say it too, but later
    say_when_stopped({});
    if (!quiet)
      fmt::print("{}", advice_text(list, shown));
    std::fflush(stdout);
    return job;
  }
  Outcome<Preview> found = preview_again(job, job.scene, job.path, options);
  // Not finished means stopped: the caller says so.
  if (found && !timed(*found, bar, "best advice", [&] { return confirm_best(list, *found, options); }) &&
      stop_asked())
    return job;
  say_when_stopped({});
  if (found) {
    found->times.insert(found->times.begin(), job.times.begin(), job.times.end());
    found->advice = std::make_shared<const AdviceList>(list);
  }
  return found;
}

} // namespace snagmap
