// The preview: everything found about a scene, as plain data with its evidence.
#pragma once

#include "models/snag.hpp"
#include "sim/motion/motion.hpp"
#include "sim/path/path.hpp"
#include "sim/record/record.hpp"
#include "sim/scene/scene.hpp"

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace snagmap {

/// A web the watch walked: its mid-line, and its numbers where it is worst.
struct WebFound {
  int id = 0;
  std::vector<Vec2> midline_mm;
  double w_mm = 0, h_mm = 0, length_mm = 0, d1_mm = 0, d2_mm = 0;
  double root_z_mm = 0, top_z_mm = 0;
  WebEnd end1 = WebEnd::free, end2 = WebEnd::free;
  bool island = false, ring = false, junction = false;
};

/// The finite-element check of a spot.
struct SolidCheck {
  bool verified = false;
  std::string why_not; ///< when not verified
  double s = 0, s_low = 0, s_high = 0;
  SnagAnswer answer; ///< the whole judgement on the solved compliance: lean, level, mode
  int bricks = 0, unknowns = 0, right_hand_sides = 0, iterations = 0;
  double brick_mm[3] = {0, 0, 0};
  double residual = 0;
  double mesh_share = 0;             ///< of Gamma that the extrapolation from two meshes added
  double seconds = 0;                ///< clock time: for report and timing.json, never result.json
  std::vector<Vec3> shape_points_mm; ///< wall points, and their displacement in the snag mode, largest 1
  std::vector<Vec3> shape_displacement;
};

/// A place and a moment on the path, the worst of its web and pass.
struct Spot {
  int id = 0, web = 0, pass = 0;
  Vec3 place_mm; ///< on the wall, at the root
  Vec3 tip_mm;   ///< the cutter's tip then
  Vec2 normal;   ///< unit, from the wall toward the cutter
  std::int32_t program_line = 0;
  std::uint32_t move = 0;
  double move_share = 0, time_s = 0;
  int cutter = 0;
  SnagQuestion question; ///< the inputs of the judgement
  SnagAnswer answer;
  double a_mm = 0;                     ///< flutes in reach over the root
  double feed_mm_min = 0, chip_mm = 0; ///< real ones
  int samples = 0;                     ///< merged into this spot
  std::vector<std::string> reasons;    ///< what makes it worse, in words
  std::optional<SolidCheck> fe;
  /// S that decides: the finite-element value where verified, else the formula's.
  double s() const { return fe && fe->verified ? fe->s : answer.s; }
  Level level() const;
};

/// One sample of the path: S and lean along time, for plots and maps (0 where no web is beside the cutter).
struct PathSample {
  std::uint32_t move = 0;
  float share = 0, time_s = 0;
  float x_mm = 0, y_mm = 0, z_mm = 0;
  float s = 0, lean_mm = 0, w_mm = 0;
  float wall_x_mm = 0, wall_y_mm = 0, root_z_mm = 0, top_z_mm = 0; ///< where the worst wall stands
  std::int32_t web = -1;
  float feed_mm_min = 0, chip_mm = 0;
};

/// A finding that is no web: rapid in foam, nut in foam, cut into the table ...
struct Finding {
  std::string kind;       ///< stable key, e.g. "rapid-in-foam"
  bool stops_job = false; ///< makes the exit status 3
  std::int32_t program_line = 0;
  double time_s = 0;
  Vec3 place_mm;
  std::string words;
};

/// Foam beside the path that is no thicker than one bite, or a crumb: no web, but a source of fuzz and
/// strands.
struct ThinFoam {
  Vec3 place_mm; ///< on its face, at its foot
  double w_mm = 0, h_mm = 0;
  std::uint32_t move = 0;
  double time_s = 0;
  bool stays = false; ///< still stands after the last move
};

struct StageTime {
  std::string stage;
  double seconds = 0;
};

struct JobChecks;
struct AdviceList;

struct Preview {
  Scene scene;
  Path path;
  Motion motion;
  std::shared_ptr<const RemovalRecord> record;
  std::string
      record_words; ///< how a saved record was met: read, or cut again and why; empty: none was asked for
  std::vector<WebFound> webs;
  std::vector<Spot> spots;         ///< worst first
  std::vector<PathSample> samples; ///< along the path
  std::vector<ThinFoam> thin_foam; ///< too thin to judge, one for each place, in the order of the program
  std::vector<Finding> findings;
  std::shared_ptr<const JobChecks>
      checks; ///< hold-down, loose pieces, strands, reach, wall truth (sim/checks/job_checks.hpp)
  std::shared_ptr<const AdviceList>
      advice; ///< what would help, tried out (sim/advice/advice.hpp); empty: not asked for
  std::vector<std::string> notes, assumptions;
  std::size_t sample_count = 0, rays = 0, eigenproblems = 0;
  std::vector<StageTime> times; ///< clock times, kept out of result.json
};

struct PreviewOptions {
  double voxel_mm = 0;                ///< 0: the scene's
  std::size_t memory_limit_bytes = 0; ///< refuse before the cut what would take more; 0: no limit
  std::string
      record_file; ///< the record is taken from here when that is faster than the cut; empty: it is cut
  int verify = -1; ///< -1: default set; 0: none; n: the n worst; -2: all
  /// Long work reports: stage name and share done; return false to stop. From any thread, one at a time.
  std::function<bool(const std::string&, double)> progress;
};

/// The main job: scene in, everything found out. Reads like a recipe; each step is a function of its own.
Outcome<Preview> preview(const Scene& scene, const PreviewOptions& options);
/// The same for a path at hand and a scene whose sheet is settled.
Outcome<Preview> preview_path(const Scene& scene, const Path& path, const PreviewOptions& options);
/// The job of `before` again with another scene or path: what the change leaves as it was (motion, record,
/// spots) is taken over, so the result equals that of preview_path at a lower price. The voxel must be the
/// same.
Outcome<Preview> preview_again(const Preview& before, const Scene& scene, const Path& path,
                               const PreviewOptions& options);

} // namespace snagmap
