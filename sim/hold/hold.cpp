#include "sim/hold/hold.hpp"

#include "models/base/constants.hpp"
#include "models/mechanics/bite.hpp"
#include "models/mechanics/engagement.hpp"
#include "sim/threads/parallel.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

namespace snagmap {
namespace {

constexpr double kEdgeCell_mm = 4;  // plan cells of the search for the nearest edge
constexpr double kFarEdge_mm = 100; // further off than this an edge does not matter
constexpr int kOfOneKind = 3;
constexpr double kBeside_mm = 1; // a cutter this near a piece's box pulls at it

/// Free edges of the foam on the table: the sheet's border, and what is cut through at a moment.
class Edges {
public:
  explicit Edges(const RunGrid& grid)
      : corner_(grid.corner_mm), size_{grid.nx * grid.dx_mm, grid.ny * grid.dy_mm} {
    nx_ = static_cast<int>(size_.x / kEdgeCell_mm) + 1;
    ny_ = static_cast<int>(size_.y / kEdgeCell_mm) + 1;
    through_.assign(static_cast<std::size_t>(nx_) * ny_, kNever);
    for (std::size_t c = 0; c + 1 < grid.offset.size(); ++c) {
      const FoamRun* const first = grid.begin(c);
      // A hole the sheet came with is open from the first move.
      const bool hole = first == grid.end(c) || first->low_mm > grid.underside_mm;
      const std::uint32_t opened = hole ? 0 : first->move;
      if (opened == kNever)
        continue;
      const Vec2 p = grid.centre_mm(c) - corner_;
      std::uint32_t& cell = through_[static_cast<std::size_t>(p.y / kEdgeCell_mm) * nx_ +
                                     static_cast<std::size_t>(p.x / kEdgeCell_mm)];
      cell = std::min(cell, opened);
      first_ = std::min(first_, opened);
    }
  }
  std::uint32_t first_through() const { return first_; }
  /// Distance to the nearest edge when `move` is done, to a plan cell.
  double away_mm(Vec2 at, std::uint32_t move) const {
    const Vec2 p = at - corner_;
    double away = std::max(0.0, std::min({p.x, p.y, size_.x - p.x, size_.y - p.y, kFarEdge_mm}));
    if (first_ > move)
      return away;
    const int ci = static_cast<int>(std::floor(p.x / kEdgeCell_mm)),
              cj = static_cast<int>(std::floor(p.y / kEdgeCell_mm));
    for (int ring = 0; (ring - 1) * kEdgeCell_mm < away; ++ring)
      for (int j = std::max(0, cj - ring); j <= std::min(ny_ - 1, cj + ring); ++j)
        for (int i = std::max(0, ci - ring); i <= std::min(nx_ - 1, ci + ring);
             i += (std::abs(j - cj) == ring || ring == 0) ? 1 : std::max(1, ci + ring - i)) {
          if (through_[static_cast<std::size_t>(j) * nx_ + i] > move)
            continue;
          const double dx = std::max({0.0, i * kEdgeCell_mm - p.x, p.x - (i + 1) * kEdgeCell_mm});
          const double dy = std::max({0.0, j * kEdgeCell_mm - p.y, p.y - (j + 1) * kEdgeCell_mm});
          away = std::min(away, std::hypot(dx, dy));
        }
    return away;
  }

private:
  Vec2 corner_, size_;
  int nx_, ny_;
  std::uint32_t first_ = kNever;
  std::vector<std::uint32_t> through_;
};

/// Forces of one step, nominal, and how far their range reaches above and below as ratios.
struct StepLoad {
  PieceLoad load;
  double height_mm = 0, up_ratio = 1, down_ratio = 1;
};
StepLoad load_of(const CutStep& step, const CutStep* next, const Path& path, const Motion& motion,
                 const Scene& scene) {
  const Move& move = path.moves[step.move];
  const CutterCard& cutter = scene.cutters[static_cast<std::size_t>(move.tool)];
  const double to_mm = next && next->from_mm <= step.to_mm + kTraceGap_mm ? next->from_mm : step.to_mm;
  const double width =
      std::min(cutter.diameter_mm, step.volume_mm3 / (std::max(1e-9, to_mm - step.from_mm) * step.depth_mm));
  const double feed = 60 * motion_at(path, motion, step.move, 0.5 * (step.from_s + step.to_s)).speed_mm_s;
  const double rpm = std::abs(move.spindle_rpm);
  Cut cut;
  cut.engaged_rad = engaged_angle_rad(cutter.diameter_mm, width);
  cut.depth_mm = std::min(step.depth_mm, cutter.flute_length_mm);
  // A spindle whose speed is not known is taken to cut thick chips: the force saturates.
  cut.chip_mm = rpm > 0 ? mean_chip_mm(chip_per_tooth_mm(feed, rpm, cutter.flutes), cut.engaged_rad)
                        : std::numeric_limits<double>::infinity();
  const double middle = 0.5 * (static_cast<double>(step.low_mm) + step.high_mm);
  const FoamCard& foam = scene.foam_at(middle);
  const CutForce force = cut_force(cut, cutter, foam), high = cut_force(cut, cutter, foam, BandEnd::high),
                 low = cut_force(cut, cutter, foam, BandEnd::low);
  StepLoad result;
  result.height_mm = middle - scene.sheet.low.z;
  result.load = {force.tangential_N, force.lift_N, force.tangential_N * result.height_mm};
  if (force.tangential_N > 0 && low.tangential_N > 0) {
    result.up_ratio = high.tangential_N / force.tangential_N;
    result.down_ratio = force.tangential_N / low.tangential_N;
  }
  return result;
}

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

Footprint footprint_of(const LoosePiece& piece) {
  const double base = std::min(piece.box.high.x - piece.box.low.x, piece.box.high.y - piece.box.low.y);
  return {piece.base_mm2, piece.base_mm2 / base, base};
}

bool beside(const LoosePiece& piece, Vec3 tip, double radius) {
  const double r = radius + kBeside_mm;
  return tip.x > piece.box.low.x - r && tip.x < piece.box.high.x + r && tip.y > piece.box.low.y - r &&
         tip.y < piece.box.high.y + r && tip.z < piece.box.high.z;
}

/// Area on the table that is still the sheet's, as it shrinks: by the end of each move.
class TableContact {
public:
  TableContact(const RunGrid& grid, const LoosePieces& loose) {
    std::map<std::uint32_t, double> lost;
    for (std::size_t c = 0; c + 1 < grid.offset.size(); ++c)
      if (grid.begin(c) != grid.end(c)) {
        whole_ += grid.cell_mm2();
        if (grid.begin(c)->move != kNever)
          lost[grid.begin(c)->move] += grid.cell_mm2();
      }
    for (const LoosePiece& piece : loose.pieces)
      if (piece.from < 0 && !piece.on_skin)
        lost[piece.freed_by] += piece.base_mm2;
    double sum = 0;
    for (const auto& [move, area] : lost)
      lost_.push_back({move, sum += area});
  }
  double at(std::uint32_t move) const {
    const auto after = std::upper_bound(lost_.begin(), lost_.end(), move,
                                        [](std::uint32_t m, const auto& entry) { return m < entry.first; });
    return std::max(0.0, whole_ - (after == lost_.begin() ? 0 : (after - 1)->second));
  }

private:
  double whole_ = 0;
  std::vector<std::pair<std::uint32_t, double>> lost_;
};

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
    const Film film = given.film == "top" ? Film::on_top : given.film == "under" ? Film::under : Film::none;
    hold.clamping_kPa = clamping_kPa(foam, film, given.vacuum_kPa.value_or(0));
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

HoldCheck check_hold(const Scene& scene, const Path& path, const Motion& motion, const CutTrace& trace,
                     const RunGrid& grid, const LoosePieces& loose, const std::vector<Spot>& spots,
                     const HoldOptions& options) {
  HoldCheck check;
  check.kind = scene.hold_down.kind;
  if (check.kind == HoldDownKind::none_given)
    return check;
  const HoldStrength hold = hold_strength(scene);
  check.tape = hold.tape;
  check.clamping_kPa = hold.clamping_kPa;
  const Edges edges(grid);
  const TableContact contact(grid, loose);
  const std::uint32_t seal = check.kind == HoldDownKind::vacuum ? edges.first_through() : kNever;
  if (seal != kNever) {
    check.seal_lost_line = path.moves[seal].line;
    check.seal_lost_s = motion.start_s[seal];
    check.seal_lost_mm = path.moves[seal].from;
  }

  const auto judged = [&](HoldMoment& moment, const PieceLoad& load, double up, double down) {
    moment.load = at_edge(load, moment.footprint);
    moment.safety = widened(hold_safety(hold, moment.footprint, moment.load), up, down);
    if (moment.move >= seal)
      moment.safety.low = 0; // air leaks in: how much is not known
  };
  const auto on_sheet = [&](HoldMoment& moment, double radius, double height) {
    moment.edge_away_mm = edges.away_mm(xy(moment.tip_mm), moment.move);
    moment.footprint = patch_under(radius, height, moment.edge_away_mm, contact.at(moment.move));
  };

  std::vector<HoldMoment> moments(trace.steps.size());
  const auto judge_step = [&](std::size_t n) {
    const CutStep& step = trace.steps[n];
    const Move& move = path.moves[step.move];
    const CutStep* const next = n + 1 < trace.steps.size() ? &trace.steps[n + 1] : nullptr;
    const StepLoad load = load_of(step, next, path, motion, scene);
    HoldMoment& moment = moments[n];
    moment.move = step.move;
    moment.line = move.line;
    moment.share = 0.5 * (step.from_s + step.to_s);
    moment.time_s = motion_at(path, motion, step.move, moment.share).time_s;
    moment.tip_mm = point_at(move, moment.share);
    const double radius = 0.5 * scene.cutters[static_cast<std::size_t>(move.tool)].diameter_mm;
    on_sheet(moment, radius, load.height_mm);
    judged(moment, load.load, load.up_ratio, load.down_ratio);
  };
  parallel_pieces(moments.size(), 64, [&](std::size_t first, std::size_t last) {
    for (std::size_t n = first; n < last; ++n)
      judge_step(n);
  });
  check.along.reserve(moments.size());
  for (const HoldMoment& m : moments)
    check.along.push_back({m.move, static_cast<float>(m.share), static_cast<float>(m.time_s),
                           static_cast<float>(m.safety.nominal), static_cast<float>(m.safety.low),
                           static_cast<float>(m.safety.high)});

  // The same forces on the pieces that are loose by then.
  const std::size_t steps = moments.size();
  for (std::size_t p = 0; p < loose.pieces.size(); ++p) {
    const LoosePiece& piece = loose.pieces[p];
    const auto first = std::lower_bound(trace.steps.begin(), trace.steps.end(), piece.freed_by,
                                        [](const CutStep& step, std::uint32_t m) { return step.move < m; });
    for (auto step = first; step != trace.steps.end() && step->move <= piece.gone_by; ++step) {
      const std::size_t n = static_cast<std::size_t>(step - trace.steps.begin());
      const double radius =
          0.5 * scene.cutters[static_cast<std::size_t>(path.moves[step->move].tool)].diameter_mm;
      if (!beside(piece, moments[n].tip_mm, radius))
        continue;
      const StepLoad load = load_of(*step, n + 1 < steps ? &*(step + 1) : nullptr, path, motion, scene);
      HoldMoment moment = moments[n];
      moment.piece = static_cast<int>(p);
      moment.edge_away_mm = 0;
      moment.footprint = footprint_of(piece);
      judged(moment, load.load, load.up_ratio, load.down_ratio);
      moments.push_back(moment);
    }
  }

  // A snag pulls with the hook load: a steady tear, Gc, over all flutes in reach, at half their height.
  for (const Spot& spot : spots) {
    if (spot.answer.s_high < 1 && spot.s() < 1)
      continue;
    const FoamCard& foam = scene.foam_at(spot.place_mm.z + 0.5 * spot.a_mm);
    const double pull = foam.Gc_N_mm.nominal * spot.a_mm,
                 height = spot.place_mm.z - scene.sheet.low.z + 0.5 * spot.a_mm;
    HoldMoment moment;
    moment.hold_case = HoldCase::snag;
    moment.expected = spot.s() >= 1;
    moment.move = spot.move;
    moment.line = spot.program_line;
    moment.share = spot.move_share;
    moment.time_s = spot.time_s;
    moment.tip_mm = spot.tip_mm;
    const double radius = 0.5 * scene.cutters[static_cast<std::size_t>(spot.cutter)].diameter_mm;
    const PieceLoad load{pull, 0, pull * height};
    const double up = foam.Gc_N_mm.high / foam.Gc_N_mm.nominal,
                 down = foam.Gc_N_mm.nominal / foam.Gc_N_mm.low;
    on_sheet(moment, radius, height);
    judged(moment, load, up, down);
    moments.push_back(moment);
    for (std::size_t p = 0; p < loose.pieces.size(); ++p) {
      const LoosePiece& piece = loose.pieces[p];
      if (piece.freed_by > spot.move || piece.gone_by < spot.move || !beside(piece, spot.place_mm, 0))
        continue;
      moment.piece = static_cast<int>(p);
      moment.edge_away_mm = 0;
      moment.footprint = footprint_of(piece);
      judged(moment, load, up, down);
      moments.push_back(moment);
    }
  }

  for (const HoldMoment& moment : moments)
    if (moment.expected && std::isfinite(moment.safety.nominal) &&
        (!check.least || moment.safety.low < check.least->low))
      check.least = moment.safety;
  std::stable_sort(moments.begin(), moments.end(), [](const HoldMoment& a, const HoldMoment& b) {
    return a.safety.nominal < b.safety.nominal;
  });
  for (const HoldMoment& moment : moments) {
    if (check.worst.size() >= options.list || !std::isfinite(moment.safety.nominal))
      break;
    int alike = 0;
    const bool listed = std::any_of(check.worst.begin(), check.worst.end(), [&](const HoldMoment& m) {
      if (m.piece != moment.piece || m.hold_case != moment.hold_case)
        return false;
      return m.line == moment.line || ++alike == kOfOneKind;
    });
    if (!listed)
      check.worst.push_back(moment);
  }
  return check;
}

} // namespace snagmap
