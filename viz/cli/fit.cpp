// `snagmap fit`: readings in, the user's own foam card out.
#include "viz/cli/command_line.hpp"

#include "models/base/plain_text.hpp"
#include "models/base/quantity.hpp"
#include "sim/scene/card_text.hpp"
#include "sim/text/whole_file.hpp"
#include "sim/trust/readings_fit.hpp"
#include "viz/words/fit_words.hpp"

#include <CLI/CLI.hpp>
#include <cstdio>
#include <filesystem>
#include <fmt/format.h>
#include <memory>

namespace snagmap {
namespace {

namespace fs = std::filesystem;

struct Words {
  std::string readings, piece, foam, card;
  bool replace = false;
};

/// An existing card is replaced only when asked for.
std::optional<Fault> write_card(const fs::path& file, const std::string& text, bool replace) {
  auto fault = write_whole_file(file.string(), text, replace ? Existing::replaced : Existing::kept);
  if (fault)
    fault->way_out = replace || !fs::exists(file)
                         ? "name another file with --card"
                         : "--replace to replace it, or name another file with --card";
  return fault;
}

std::string band(const Banded& b, Dimension dimension) {
  if (dimension == Dimension::share)
    return fmt::format("{:.4g} ({:.4g} to {:.4g})", b.nominal, b.low, b.high);
  return fmt::format("{:.4g} ({:.4g} to {:.4g}) {}", b.nominal, b.low, b.high, base_unit(dimension));
}

std::string width_words(double share) {
  if (share < 0.995)
    return fmt::format("band shrank to {:.0f} % of its width", 100 * share);
  return share <= 1.005
             ? "band as wide as before"
             : fmt::format("band grew to {:.0f} % of its width: the readings scatter", 100 * share);
}

int run_fit(const Words& words) {
  const Outcome<Readings> readings = read_readings(words.readings, {words.piece, words.foam});
  if (!readings)
    return refuse(readings.faults());
  const auto said = [](const FitNote& note) { return words_of(note, Shown{}); }; // as in the card: mm
  const ReadingsFit fit = fit_readings(*readings, said);
  for (const BandChange& change : fit.bands)
    fmt::print("{}: {}, before {}; {}\n", change.name, band(change.after, change.dimension),
               band(change.before, change.dimension), width_words(change.width_share));
  if (fit.peel_N_mm)
    fmt::print("tape peels at {}; in a scene: [hold_down] peel = \"{:.3g} N/mm\"\n",
               band(*fit.peel_N_mm, Dimension::line_force), fit.peel_N_mm->nominal);
  for (const FitNote& note : fit.notes)
    fmt::print("note: {}\n", plain_text(said(note)));
  for (const FitNote& note : fit.disagree)
    fmt::print("disagrees: {}\n", plain_text(said(note)));
  const fs::path file =
      words.card.empty() ? fs::path(words.readings).parent_path() / "own-foam.toml" : fs::path(words.card);
  if (const auto fault =
          write_card(file,
                     "# A foam card of your own, written by snagmap fit; scenes name it: foam = \"" +
                         file.filename().string() + "\"\n" + foam_card_text(rounded(fit.card)),
                     words.replace))
    return refuse({*fault});
  fmt::print(stderr, "Card: {}\n", plain_text(file.string()));
  return kNothingFound;
}

} // namespace

void add_fit_command(CLI::App& app, Command& chosen) {
  CLI::App* command =
      add_command(app, "fit", "Readings of a test piece or of bench tests into a foam card of your own.",
                  "  snagmap fit piece/readings.csv            walls.toml lies beside it\n"
                  "  snagmap fit bench/readings.toml --card pu.toml\n"
                  "  then in a scene: foam = \"pu.toml\"\n");
  auto words = std::make_shared<Words>();
  command->add_option("READINGS", words->readings, "Readings, TOML or CSV")->required();
  command->add_option("--piece", words->piece, "walls.toml of the test piece (default: beside the readings)");
  command->add_option("--foam", words->foam,
                      "Card to start from instead of the test piece's: a name or a card file");
  command->add_option("--card", words->card, "Card to write (default own-foam.toml beside the readings)");
  command->add_flag("--replace", words->replace, "Replace an existing card");
  command->callback([words, &chosen] { chosen = [words] { return run_fit(*words); }; });
}

} // namespace snagmap
