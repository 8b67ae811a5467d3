#include "sim/preview/preview.hpp"

#include "sim/checks/job_checks.hpp"
#include "sim/findings/cuts_nothing.hpp"
#include "sim/findings/thin_foam.hpp"
#include "sim/findings/touches.hpp"
#include "sim/judge/spots.hpp"
#include "sim/preview/memory_need.hpp"
#include "sim/preview/same.hpp"
#include "sim/program/program.hpp"
#include "sim/record/file.hpp"
#include "sim/verify/verify.hpp"
#include "sim/watch/sampling.hpp"
#include "sim/watch/watch.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>

namespace snagmap {
namespace {

constexpr double kThin_bites = 1.1; // a tenth over one bite, so that round numbers lie clear of the edge
constexpr double kLeastS = 0.25;    // webs whose S cannot reach this are passed over

/// Times a stage and reports it.
class Stage {
public:
  Stage(Preview& preview, const PreviewOptions& options, std::string name)
      : preview_(preview), options_(options), name_(std::move(name)),
        start_(std::chrono::steady_clock::now()) {
    told_to_stop_ = options_.progress && !options_.progress(name_, 0);
  }
  bool told_to_stop() const { return told_to_stop_; }
  ~Stage() {
    const std::chrono::duration<double> spent = std::chrono::steady_clock::now() - start_;
    preview_.times.push_back({name_, spent.count()});
  }
  std::function<bool(double)> progress() const {
    if (!options_.progress)
      return {};
    return [this](double share) { return options_.progress(name_, share); };
  }

private:
  Preview& preview_;
  const PreviewOptions& options_;
  std::string name_;
  bool told_to_stop_ = false;
  std::chrono::steady_clock::time_point start_;
};

Fault stopped() {
  return Fault("stopped before the end", "nothing was written; run it again to its end");
}

/// The record by the cut, or from a file where that is faster; `why` tells both times.
Outcome<Recall> recall_record(const std::string& file, const Scene& scene, const Path& path,
                              const CutOptions& options) {
  if (!file.empty()) {
    Outcome<Recall> recalled = load_or_cut(file, stock_of(scene), scene.cutters, path, options);
    if (recalled)
      recalled->why = fmt::format(
          "{}: {} in {:.2f} s{}", recalled->why, recalled->loaded ? "read" : "cut", recalled->seconds,
          recalled->other_s > 0
              ? fmt::format(", {} {:.2f} s", recalled->loaded ? "the cut took" : "reading would take",
                            recalled->other_s)
              : "");
    return recalled;
  }
  Outcome<RemovalRecord> record = RemovalRecord::cut(stock_of(scene), scene.cutters, path, options);
  if (!record)
    return record.faults();
  Recall cut;
  cut.record = std::move(*record);
  return cut;
}

/// Bounds that hold for every foam and cutter of the scene: what the watch may pass over.
WatchOptions watch_options(const Scene& scene) {
  WatchOptions options;
  double lambda = 0, bite = 0, radius = 0, nu = 0;
  for (const Layer& layer : scene.layers) {
    // Bite of one foam, modulus of another: nothing between layers gives more.
    for (const Layer& other : scene.layers)
      lambda = std::max(lambda, layer.foam.lambda.high *
                                    std::max(1.0, layer.foam.E_kPa.nominal / other.foam.E_kPa.nominal));
    bite = std::max(bite, layer.foam.bite_depth_mm.nominal);
    nu = layer.foam.nu.nominal;
  }
  for (const CutterCard& cutter : scene.cutters)
    radius = std::max(radius, 0.5 * cutter.diameter_mm);
  options.reach_mm = bite;
  options.thin_mm = kThin_bites * bite;
  options.b_p_mm = contact_length_mm(radius, bite);
  options.nu = nu;
  options.rigid_floor = scene.rigid_floor;
  options.least_gamma = kLeastS / lambda;
  return options;
}

/// From the tip's way, beyond which no flute reaches foam.
double reach_mm(const Scene& scene) {
  double reach = 0;
  for (const CutterCard& cutter : scene.cutters)
    reach = std::max(reach, 0.5 * cutter.diameter_mm);
  return reach + watch_options(scene).reach_mm;
}

double sample_spacing_mm(const Scene& scene) {
  if (scene.sample_mm > 0)
    return scene.sample_mm;
  double smallest = scene.cutters.front().diameter_mm;
  for (const CutterCard& cutter : scene.cutters)
    smallest = std::min(smallest, cutter.diameter_mm);
  return 0.25 * smallest;
}

/// What of an earlier preview cannot have changed.
struct Unchanged {
  bool motion = false, record = false, spots = false;
};
Unchanged unchanged_since(const Preview* before, const Scene& scene, const Path& path) {
  if (!before)
    return {};
  Unchanged same;
  same.motion = same_program(path, before->path) && same_machine(scene.machine, before->scene.machine);
  same.record = same_geometry(path, before->path) && same_stock(scene, before->scene) &&
                same_bodies(scene.cutters, before->scene.cutters);
  same.spots = same.motion && same.record && same_judging(scene, before->scene) &&
               std::none_of(before->spots.begin(), before->spots.end(),
                            [](const Spot& s) { return s.fe.has_value(); });
  return same;
}

/// Faults: none when it is cut.
std::vector<Fault> cut_sheet(Preview& found, const PreviewOptions& options) {
  Stage stage(found, options, "cut");
  if (stage.told_to_stop())
    return {stopped()};
  if (options.memory_limit_bytes > 0)
    if (auto fault = would_not_fit(found.scene, found.path, options.memory_limit_bytes))
      return {*fault};
  CutOptions cut;
  cut.voxel_mm = found.scene.voxel_mm;
  cut.progress = stage.progress();
  Outcome<Recall> recalled = recall_record(options.record_file, found.scene, found.path, cut);
  if (!recalled)
    return recalled.faults();
  found.record = std::make_shared<RemovalRecord>(std::move(recalled->record));
  found.record_words = recalled->why;
  return {};
}

void take_over_spots(Preview& found, const Preview& before) {
  found.webs = before.webs;
  found.spots = before.spots;
  found.samples = before.samples;
  found.thin_foam = before.thin_foam;
  found.sample_count = before.sample_count;
  found.rays = before.rays;
  found.eigenproblems = before.eigenproblems;
}

std::optional<Fault> watch_and_judge(Preview& found, const PreviewOptions& options) {
  const Scene& scene = found.scene;
  WatchOptions watching = watch_options(scene);
  const double spacing_mm = sample_spacing_mm(scene);
  std::vector<Sample> samples = sample_path(found.path, spacing_mm, scene.sheet, reach_mm(scene));
  Watched watched;
  {
    Stage stage(found, options, "watch");
    if (stage.told_to_stop())
      return stopped();
    watching.progress = stage.progress();
    watched = watch(*found.record, found.path, scene.cutters, samples, watching);
    if (watched.stopped)
      return stopped();
  }
  Stage stage(found, options, "judge");
  if (stage.told_to_stop())
    return stopped();
  Judged judged = judge_walls(watched.walls, samples, found.path, scene);
  Merged merged = merge_spots(watched.walls, judged, samples, *found.record, found.path, found.motion, scene,
                              watching, spacing_mm);
  found.webs = std::move(merged.webs);
  found.spots = std::move(merged.spots);
  found.samples = std::move(merged.samples);
  std::vector<WallSeen> thin = std::move(watched.thin);
  thin.insert(thin.end(), merged.crumbs.begin(), merged.crumbs.end());
  found.thin_foam = find_thin_foam(std::move(thin), samples, *found.record, found.path, found.motion);
  found.sample_count = samples.size();
  found.rays = watched.rays;
  found.eigenproblems = 2 * watched.walls.size();
  return {};
}

/// What was to be said of scene and program comes before what the stages had to say.
void add_notes(Preview& found, bool by_formula_alone) {
  std::vector<Note> notes = found.scene.notes;
  notes.insert(notes.end(), found.path.notes.begin(), found.path.notes.end());
  if (by_formula_alone && !found.spots.empty())
    notes.emplace_back(std::in_place_type<note::NoneSolved>);
  notes.insert(notes.end(), found.notes.begin(), found.notes.end());
  found.notes = std::move(notes);
}

/// The pipeline from the path on. Of `before` everything is taken over that cannot have changed.
Outcome<Preview> run(Preview found, const Preview* before, const PreviewOptions& options) {
  const Scene& scene = found.scene;
  const Path& path = found.path;
  const Unchanged same = unchanged_since(before, scene, path);
  {
    Stage stage(found, options, "plan the motion");
    if (stage.told_to_stop())
      return stopped();
    found.motion = same.motion ? before->motion : plan_motion(path, scene.machine);
  }
  if (same.record)
    found.record = before->record;
  else if (std::vector<Fault> faults = cut_sheet(found, options); !faults.empty())
    return faults;
  if (auto fault = before ? std::nullopt : cuts_nothing(scene, path, *found.record))
    return *fault;
  if (same.spots)
    take_over_spots(found, *before);
  else if (auto fault = watch_and_judge(found, options))
    return *fault;

  {
    Stage stage(found, options, "verify");
    if (stage.told_to_stop())
      return stopped();
    const auto count = verify_spots(found, options.verify, {}, stage.progress());
    if (!count)
      return stopped();
    if (count->left_out)
      found.notes.push_back(
          note::SpotsLeftOut{static_cast<std::size_t>(count->left_out), VerifyOptions{}.total_cost});
    follow_elements(found);
  }
  found.findings = touch_findings(*found.record, path, found.motion);
  for (Finding& finding : table_findings(scene, path, found.motion))
    found.findings.push_back(std::move(finding));
  if (std::optional<Finding> thin = thin_foam_finding(found.thin_foam, path))
    found.findings.push_back(std::move(*thin));
  {
    Stage stage(found, options, "check the job");
    if (stage.told_to_stop())
      return stopped();
    found.checks = std::make_shared<JobChecks>(check_job(found, found.findings, stage.progress()));
    if (found.checks->stopped)
      return stopped();
    const std::vector<Finding>& more = found.checks->findings;
    found.findings.insert(found.findings.end(), more.begin(), more.end());
  }
  std::stable_sort(found.findings.begin(), found.findings.end(), [](const Finding& a, const Finding& b) {
    return std::make_pair(!a.stops_job, a.time_s) < std::make_pair(!b.stops_job, b.time_s);
  });
  add_notes(found, options.verify.is_none());
  found.assumptions = scene.assumed;
  return found;
}

Preview begun(const Scene& scene, const PreviewOptions& options) {
  Preview found;
  found.scene = scene;
  if (options.voxel_mm <= 0)
    return found;
  found.scene.voxel_mm = options.voxel_mm;
  std::vector<Assumed>& assumed = found.scene.assumed; // an option is no assumption
  assumed.erase(std::remove_if(assumed.begin(), assumed.end(),
                               [](const Assumed& one) { return one.table.empty() && one.key == "voxel"; }),
                assumed.end());
  return found;
}

} // namespace

Outcome<Preview> preview(const Scene& as_read, const PreviewOptions& options) {
  Preview found = begun(as_read, options);
  {
    Stage stage(found, options, "read the program");
    if (stage.told_to_stop())
      return stopped();
    const Scene& scene = found.scene;
    Outcome<Path> path = scene.program_text.empty()
                             ? read_program(scene.program_file, program_options(scene))
                             : parse_program(scene.program_text, scene.program_file, program_options(scene));
    if (!path)
      return path.faults();
    found.path = std::move(*path);
    if (auto fault = no_feed_move(scene, found.path))
      return *fault;
    settle_sheet(found.scene, found.path);
  }
  return run(std::move(found), nullptr, options);
}

Outcome<Preview> preview_path(const Scene& scene, const Path& path, const PreviewOptions& options) {
  Preview found = begun(scene, options);
  found.path = path;
  return run(std::move(found), nullptr, options);
}

Outcome<Preview> preview_again(const Preview& before, const Scene& scene, const Path& path,
                               const PreviewOptions& options) {
  Preview found = begun(scene, options);
  found.path = path;
  return run(std::move(found), &before, options);
}

} // namespace snagmap
