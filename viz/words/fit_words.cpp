#include "viz/words/fit_words.hpp"

#include <fmt/format.h>

namespace snagmap {
namespace {

const char* word_of(WallOutcome outcome) { // as in the readings
  return outcome == WallOutcome::held ? "held" : outcome == WallOutcome::marked ? "marked" : "torn";
}

struct SayFit {
  const Shown& shown;

  std::string wall(const WallSaid& w) const {
    return fmt::format("{} ({} thick, {} high, {}) is read as {}",
                       w.number > 0 ? fmt::format("wall {}", w.number)
                                    : fmt::format("the wall on line {}", w.line),
                       shown.length(w.w_mm), shown.short_length(w.h_mm), w.cutter, word_of(w.outcome));
  }
  std::string group(const WallGroup& g) const {
    return fmt::format("the walls {} high cut with {}", shown.short_length(g.h_mm), g.cutter);
  }

  std::string operator()(const fit_note::CameOutOtherwise& n) const {
    return fmt::format("the walls came out {:.2f} times as thick as planned, and are entered as measured",
                       n.times);
  }
  std::string operator()(const fit_note::OrderReversed& n) const {
    return fmt::format("the walls' order is reversed: of a wall that held and one that went, the weaker held "
                       "in {:.0f} of 100 pairs. Lambda is not taken from them; were the walls counted from "
                       "the other end, or held and torn exchanged?",
                       100 * n.share);
  }
  std::string operator()(const fit_note::UnlikelyWall& n) const {
    return wall(n.wall) + ", which the other readings make less likely than 1 in 100";
  }
  std::string operator()(const fit_note::Scatter& n) const {
    return fmt::format(
        "the walls scatter by {:.0f} % in S, not the usual 10 %: Lambda's band is as much wider",
        100 * n.share);
  }
  std::string operator()(const fit_note::GroupsContradict& n) const {
    return fmt::format("{} put Lambda under {:.3g}, {} over {:.3g}: one foam cannot do both. A height or a "
                       "cutter that is not the one written down does this",
                       group(n.under), n.under.lambda, group(n.over), n.over.lambda);
  }
  std::string operator()(const fit_note::EveryWallHeld& n) const {
    return fmt::format(
        "every wall held: that bounds Lambda from above only, under {:.4g}. Cut thinner walls, "
        "or use longer flutes, to find where they begin to go",
        n.lambda_under);
  }
  std::string operator()(const fit_note::NoWallHeld& n) const {
    return fmt::format("no wall held: that bounds Lambda from below only, over {:.4g}. Cut thicker walls, or "
                       "use shorter flutes, to find what holds",
                       n.lambda_over);
  }
  std::string operator()(const fit_note::CuttersExchanged& n) const {
    return fmt::format(
        "the readings are {:.1e} times likelier with {} and {} exchanged: were the two cutters swapped?",
        n.times, n.one, n.other);
  }
  std::string operator()(const fit_note::HeldYetThin& n) const {
    return fmt::format("{}, yet measures {}: a wall that lost a quarter of its thickness was drawn into the "
                       "cutter; is it marked?",
                       wall(n.wall), shown.length(n.measured_mm));
  }
  std::string operator()(const fit_note::LeansFar& n) const {
    return wall(n.wall) + " and leans more than a fifth of its height under the mass: past that the "
                          "straight-line law reads E too low; hang less";
  }
  std::string operator()(const fit_note::LeftEmpty& n) const {
    return n.walls == 1 ? "1 wall stands without an outcome and is left out"
                        : fmt::format("{} walls stand without an outcome and are left out", n.walls);
  }
};

} // namespace

std::string words_of(const FitNote& note, const Shown& shown) {
  return std::visit(SayFit{shown}, note);
}

} // namespace snagmap
