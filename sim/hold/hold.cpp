#include "sim/hold/hold.hpp"

#include "models/base/constants.hpp"
#include "sim/hold/on_table.hpp"
#include "sim/threads/parallel.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr std::size_t kMostListed = 10;
constexpr int kOfOneKind = 3;
constexpr double kBeside_mm = 1; // a pull this near a piece's box pulls at it

/// The hold's band widened by the force's own range: independent, so the logs add as squares.
Safety widened(Safety safety, double up_ratio, double down_ratio) {
  if (!(safety.nominal > 0) || !std::isfinite(safety.nominal))
    return safety;
  const auto both = [](double a, double b) { return std::exp(std::hypot(std::log(a), std::log(b))); };
  const Safety hold = safety;
  safety.low = hold.low > 0 ? hold.nominal / both(hold.nominal / hold.low, up_ratio) : 0;
  safety.high = hold.nominal * both(hold.high / hold.nominal, down_ratio);
  return safety;
}

/// Lift at the edge tips too: its arm is the base of the patch.
PieceLoad at_edge(PieceLoad load, const Footprint& footprint) {
  load.moment_N_mm += std::max(0.0, load.lift_N) * footprint.base_mm;
  return load;
}

/// Is the piece loose when the cutter pulls, still there, and near enough to be pulled at?
bool pulls_at(const LoosePiece& piece, const Pull& pull) {
  if (pull.move < piece.freed_by || pull.move > piece.gone_by)
    return false;
  const double r = pull.beside_mm + kBeside_mm;
  const Vec3 at = pull.at_mm, low = piece.box.low, high = piece.box.high;
  return at.x > low.x - r && at.x < high.x + r && at.y > low.y - r && at.y < high.y + r && at.z < high.z;
}

/// The job as it lies on the table: how strong the hold is, and how much of it is left by each move.
class HeldJob {
public:
  HeldJob(const JudgedJob& job, const CutTrace& trace, const RunGrid& grid, const LoosePieces& loose)
      : strength(hold_strength(job.scene)), job_(job), trace_(trace), loose_(loose), edges_(grid),
        contact_(grid, loose) {
    if (strength.kind == HoldDownKind::vacuum)
      seal_lost_by = edges_.first_through();
  }

  HoldStrength strength;
  std::optional<std::uint32_t> seal_lost_by; ///< vacuum: the first move through the floor

  /// The sheet against the cutting forces, at every step of the path.
  std::vector<HoldMoment> sheet_while_cut() const {
    std::vector<HoldMoment> moments(trace_.steps.size());
    parallel_pieces(moments.size(), 64, [&](std::size_t first, std::size_t last) {
      for (std::size_t n = first; n < last; ++n)
        moments[n] = sheet_against(pull_of_cut(job_, trace_, n));
    });
    return moments;
  }

  /// The same forces on the pieces that are loose by then.
  void add_pieces_while_cut(std::vector<HoldMoment>& moments) const {
    const std::vector<CutStep>& steps = trace_.steps;
    for (std::size_t p = 0; p < loose_.pieces.size(); ++p) {
      const LoosePiece& piece = loose_.pieces[p];
      const auto freed = std::lower_bound(steps.begin(), steps.end(), piece.freed_by,
                                          [](const CutStep& s, std::uint32_t m) { return s.move < m; });
      for (auto step = freed; step != steps.end() && step->move <= piece.gone_by; ++step) {
        const auto n = static_cast<std::size_t>(step - steps.begin());
        if (pulls_at(piece, moments[n])) // the sheet's moments come first, one a step
          moments.push_back(piece_against(pull_of_cut(job_, trace_, n), p));
      }
    }
  }

  /// The sheet, and every loose piece in reach, against each web that may snag.
  void add_snags(std::vector<HoldMoment>& moments) const {
    for (const Spot& spot : job_.spots) {
      if (!may_snag(spot))
        continue;
      const Pull pull = pull_of_snag(job_, spot);
      moments.push_back(sheet_against(pull));
      for (std::size_t p = 0; p < loose_.pieces.size(); ++p)
        if (pulls_at(loose_.pieces[p], pull))
          moments.push_back(piece_against(pull, p));
    }
  }

private:
  /// Under the pull the sheet is held by a patch of the table that is cut off by the nearest edge.
  HoldMoment sheet_against(const Pull& pull) const {
    HoldMoment moment{pull};
    moment.edge_away_mm = edges_.away_mm(xy(pull.tip_mm), pull.move);
    moment.footprint =
        patch_under(pull.cutter_radius_mm, pull.height_mm, moment.edge_away_mm, contact_.at_mm2(pull.move));
    return judged(moment);
  }

  /// A loose piece is held by its own base.
  HoldMoment piece_against(const Pull& pull, std::size_t p) const {
    const LoosePiece& piece = loose_.pieces[p];
    const Vec3 size = piece.box.high - piece.box.low;
    const double base = std::min(size.x, size.y);
    HoldMoment moment{pull};
    moment.piece = p;
    moment.footprint = {piece.base_mm2, piece.base_mm2 / base, base};
    return judged(moment);
  }

  /// Strength over pull, with the band of both.
  HoldMoment judged(HoldMoment moment) const {
    moment.load = at_edge(moment.load, moment.footprint);
    moment.safety =
        widened(hold_safety(strength, moment.footprint, moment.load), moment.up_ratio, moment.down_ratio);
    if (seal_lost_by && moment.move >= *seal_lost_by)
      moment.safety.low = 0; // air leaks in: how much is not known
    return moment;
  }

  const JudgedJob& job_;
  const CutTrace& trace_;
  const LoosePieces& loose_;
  FreeEdges edges_;
  TableContact contact_;
};

std::vector<HoldSample> samples_of(const std::vector<HoldMoment>& moments) {
  std::vector<HoldSample> samples;
  samples.reserve(moments.size());
  for (const HoldMoment& m : moments)
    samples.push_back({m.move, static_cast<float>(m.share), static_cast<float>(m.time_s),
                       static_cast<float>(m.safety.nominal), static_cast<float>(m.safety.low),
                       static_cast<float>(m.safety.high)});
  return samples;
}

bool has_pull(const HoldMoment& moment) {
  return std::isfinite(moment.safety.nominal);
}

/// Of the moments that the nominal S foresees, the one whose band reaches lowest.
std::optional<Safety> least_of(const std::vector<HoldMoment>& moments) {
  std::optional<Safety> least;
  for (const HoldMoment& moment : moments)
    if (moment.expected && has_pull(moment) && (!least || moment.safety.low < least->low))
      least = moment.safety;
  return least;
}

/// The weakest moments, lowest factor first; of one body and case no two on a line, no more than three.
std::vector<HoldMoment> weakest_of(std::vector<HoldMoment> moments) {
  std::stable_sort(moments.begin(), moments.end(), [](const HoldMoment& a, const HoldMoment& b) {
    return a.safety.nominal < b.safety.nominal;
  });
  std::vector<HoldMoment> weakest;
  for (const HoldMoment& moment : moments) {
    if (weakest.size() >= kMostListed || !has_pull(moment))
      break;
    int alike = 0;
    const bool told = std::any_of(weakest.begin(), weakest.end(), [&](const HoldMoment& m) {
      if (m.piece != moment.piece || m.hold_case != moment.hold_case)
        return false;
      return m.line == moment.line || ++alike == kOfOneKind;
    });
    if (!told)
      weakest.push_back(moment);
  }
  return weakest;
}

} // namespace

HoldStrength hold_strength(const Scene& scene) {
  const HoldDown& given = scene.hold_down;
  const FoamCard& foam = scene.layers.front().foam; // the lowest lies on the table
  HoldStrength hold;
  hold.kind = given.kind;
  if (given.kind == HoldDownKind::tape) {
    hold.tape_share = given.tape_area_share;
    const TapeStrength design = tape_on(foam);
    const TapeStrength own = capped_by(foam, {given.tension_kPa, given.shear_kPa, given.peel_N_mm});
    // Design values know the foam: half for open cells.
    hold.tape = {given.tension_kPa.guess ? design.tension_kPa : own.tension_kPa,
                 given.shear_kPa.guess ? design.shear_kPa : own.shear_kPa,
                 given.peel_N_mm.guess ? design.peel_N_mm : own.peel_N_mm};
  }
  if (given.kind == HoldDownKind::vacuum) {
    hold.clamping_kPa = clamping_kPa(foam, given.film, given.vacuum_kPa.value_or(0));
  }
  return hold;
}

Safety hold_safety(const HoldStrength& hold, const Footprint& bare, const PieceLoad& load) {
  if (hold.kind == HoldDownKind::vacuum)
    return vacuum_safety(hold.clamping_kPa, bare, load);
  const Footprint taped{bare.held_mm2 * hold.tape_share, bare.edge_mm * hold.tape_share, bare.base_mm};
  return tape_safety(hold.tape, taped, load);
}

Footprint patch_under(double cutter_radius_mm, double height_mm, double away_mm, double contact_mm2) {
  const double r = cutter_radius_mm + height_mm, d = std::clamp(away_mm, 0.0, r);
  // A disc less the segment beyond the edge.
  const double area = kPi * r * r - r * r * std::acos(d / r) + d * std::sqrt(r * r - d * d);
  return {std::min(area, contact_mm2), 2 * (away_mm + r), away_mm + r};
}

HoldCheck check_hold(const JudgedJob& job, const CutTrace& trace, const RunGrid& grid,
                     const LoosePieces& loose) {
  HoldCheck check;
  check.kind = job.scene.hold_down.kind;
  if (check.kind == HoldDownKind::none_given)
    return check;

  // 1. How strong the hold is, and how much foam still lies on it by each move.
  const HeldJob held(job, trace, grid, loose);
  check.tape = held.strength.tape;
  check.clamping_kPa = held.strength.clamping_kPa;
  if (const auto move = held.seal_lost_by)
    check.seal_lost =
        SealLoss{job.path.moves[*move].line, job.motion.start_s[*move], job.path.moves[*move].from};

  // 2. The cutting forces, on the sheet, then on the pieces that have come loose.
  std::vector<HoldMoment> moments = held.sheet_while_cut();
  check.along = samples_of(moments);
  held.add_pieces_while_cut(moments);

  // 3. The pull of every web that may be snagged, on both.
  held.add_snags(moments);

  // 4. Where the hold is weakest.
  check.least = least_of(moments);
  check.worst = weakest_of(std::move(moments));
  return check;
}

} // namespace snagmap
