#include "sim/advice/levers.hpp"

namespace snagmap {

const char* to_text(LeverKind kind) {
  switch (kind) {
  case LeverKind::cutter:
    return "cutter";
  case LeverKind::pass_depth:
    return "pass-depth";
  case LeverKind::order:
    return "order";
  case LeverKind::light_finish:
    return "light-finish";
  case LeverKind::climb:
    return "climb";
  case LeverKind::wider_web:
    return "wider-web";
  case LeverKind::foam:
    return "foam";
  case LeverKind::feed:
    return "feed";
  case LeverKind::lift:
    return "lift";
  case LeverKind::holes:
    return "holes";
  case LeverKind::cross_cuts:
    return "cross-cuts";
  case LeverKind::walls_first:
    return "walls-first";
  case LeverKind::tape:
    return "tape";
  case LeverKind::skin:
    return "skin";
  case LeverKind::tabs:
    return "tabs";
  case LeverKind::helix:
    return "helix";
  }
  return "";
}

const char* to_text(ChangeKind kind) {
  switch (kind) {
  case ChangeKind::webs_snag:
    return "webs-snag";
  case ChangeKind::webs_no_longer:
    return "webs-no-longer";
  case ChangeKind::webs_anew:
    return "webs-anew";
  case ChangeKind::webs_harder:
    return "webs-harder";
  case ChangeKind::worst_s:
    return "worst-s";
  case ChangeKind::stopping_findings:
    return "stopping-findings";
  case ChangeKind::rubs:
    return "rubs";
  case ChangeKind::hold:
    return "hold";
  case ChangeKind::long_strands:
    return "long-strands";
  case ChangeKind::longest_run:
    return "longest-run";
  case ChangeKind::lean:
    return "lean";
  case ChangeKind::chip:
    return "chip";
  case ChangeKind::over_cut:
    return "over-cut";
  case ChangeKind::program_time:
    return "program-time";
  case ChangeKind::program_made_anew:
    return "program-made-anew";
  case ChangeKind::program_not_written:
    return "program-not-written";
  }
  return "";
}

const char* to_text(UntriedKind kind) {
  switch (kind) {
  case UntriedKind::drawer_empty:
    return "drawer-empty";
  case UntriedKind::other_diameter:
    return "other-diameter";
  case UntriedKind::no_second_loop:
    return "no-second-loop";
  case UntriedKind::no_closed_loop:
    return "no-closed-loop";
  case UntriedKind::no_width_holds:
    return "no-width-holds";
  case UntriedKind::no_firmer_foam:
    return "no-firmer-foam";
  case UntriedKind::stop_changes_nothing:
    return "stop-changes-nothing";
  case UntriedKind::no_run_beside:
    return "no-run-beside";
  case UntriedKind::no_wall_after_loops:
    return "no-wall-after-loops";
  case UntriedKind::whole_sheet_taped:
    return "whole-sheet-taped";
  case UntriedKind::no_such_path:
    return "no-such-path";
  case UntriedKind::program_not_written:
    return "program-not-written";
  case UntriedKind::preview_failed:
    return "preview-failed";
  }
  return "";
}

const char* lever::to_text(Differs by) {
  switch (by) {
  case Differs::flute_length:
    return "flute_length_mm";
  case Differs::helix:
    return "helix_deg";
  case Differs::flutes:
    return "flutes";
  case Differs::neck:
    return "neck_diameter_mm";
  case Differs::tip:
    return "tip";
  }
  return "";
}

LeverKind kind_of(const Lever& lever) {
  return std::visit([](const auto& one) { return one.kind; }, lever);
}

} // namespace snagmap
