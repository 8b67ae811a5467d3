#include "sim/hold/loose_pieces.hpp"

#include <algorithm>
#include <numeric>
#include <unordered_map>

namespace snagmap {
namespace {

using Node = std::uint32_t; // a run of the grid
constexpr Node kNone = 0xffffffffu;

/// Nodes grouped by move, last move first; kNever leads. Counting sort: nodes of one move stay in their
/// order.
struct ByMove {
  std::vector<Node> nodes;
  std::vector<std::uint32_t> start; // by group; the last entry ends the list
};
ByMove sorted_by_move(const RunGrid& grid) {
  const auto group = [&](std::uint32_t move) { return move == kNever ? 0u : grid.moves - move; };
  ByMove sorted;
  sorted.start.assign(grid.moves + 2, 0);
  for (const FoamRun& run : grid.runs)
    ++sorted.start[group(run.move) + 1];
  std::partial_sum(sorted.start.begin(), sorted.start.end(), sorted.start.begin());
  sorted.nodes.resize(grid.runs.size());
  std::vector<std::uint32_t> at(sorted.start.begin(), sorted.start.end() - 1);
  for (Node n = 0; n < grid.runs.size(); ++n)
    sorted.nodes[at[group(grid.runs[n].move)]++] = n;
  return sorted;
}

/// The forest while it grows from the last move back to the first. Bodies are known by the root of their
/// nodes; volume, first node, seed and member list of a body sit at its root.
class Forest {
public:
  explicit Forest(const RunGrid& grid) : grid_(grid) {
    const std::size_t count = grid.runs.size();
    parent_.resize(count);
    std::iota(parent_.begin(), parent_.end(), Node{0});
    joined_.assign(count, kNever);
    size_.assign(count, 1);
    way_ = parent_;
    next_ = parent_;
    first_ = parent_;
    seed_ = parent_;
    best_.assign(count, kNone);
    volume_.assign(count, 0);
    sum_.assign(count, 0);
    column_of_.resize(count);
    for (std::size_t c = 0; c + 1 < grid.offset.size(); ++c)
      std::fill(column_of_.begin() + grid.offset[c], column_of_.begin() + grid.offset[c + 1],
                static_cast<Node>(c));
    sorted_ = sorted_by_move(grid);
  }

  /// Calls freed(move, root, seed of the rest) for every body that `move` separates, before it is merged
  /// away.
  template <class Freed> void grow(Freed freed) {
    for (std::size_t group = 0; group + 1 < sorted_.start.size(); ++group) {
      const Node* const from = sorted_.nodes.data() + sorted_.start[group];
      const Node* const to = sorted_.nodes.data() + sorted_.start[group + 1];
      if (from != to)
        add_level(from, to, freed);
    }
    for (Node n = 0; n < parent_.size(); ++n)
      if (parent_[n] == n && (sheet_ == kNone || volume_[n] > volume_[sheet_]))
        sheet_ = n;
  }

  template <class Visit> void for_members(Node root, Visit visit) const {
    Node n = root;
    do {
      visit(n);
      n = next_[n];
    } while (n != root);
  }
  /// The root of n's body as it was at moment t.
  Node root_at(Node n, Moment t) const {
    while (parent_[n] != n && joined_[n] >= t)
      n = parent_[n];
    return n;
  }
  Node sheet_seed() const { return seed_[sheet_]; }
  Node seed(Node root) const { return seed_[root]; }
  double volume(Node root) const { return volume_[root]; }
  std::size_t column(Node n) const { return column_of_[n]; }

private:
  /// The root now, by a way that is halved as it is walked.
  Node find(Node n) {
    while (way_[n] != n)
      n = way_[n] = way_[way_[n]];
    return n;
  }
  void join(Node a, Node b, std::uint32_t move) {
    a = find(a);
    b = find(b);
    if (a == b)
      return;
    if (size_[a] < size_[b])
      std::swap(a, b);
    way_[b] = parent_[b] = a;
    joined_[b] = move;
    size_[a] += size_[b];
  }

  /// Calls visit for the runs touching n that are there at moment `move`; `forward`: only those after n in
  /// the grid.
  template <class Visit> void for_neighbours(Node n, std::uint32_t move, bool forward, Visit visit) const {
    const std::size_t c = column_of_[n];
    const FoamRun& run = grid_.runs[n];
    if (!forward && n > grid_.offset[c] && grid_.runs[n - 1].move >= move &&
        grid_.runs[n - 1].high_mm >= run.low_mm)
      visit(n - 1);
    if (n + 1 < grid_.offset[c + 1] && grid_.runs[n + 1].move >= move &&
        grid_.runs[n + 1].low_mm <= run.high_mm)
      visit(n + 1);
    const std::size_t i = c % static_cast<std::size_t>(grid_.nx), across = static_cast<std::size_t>(grid_.nx);
    const auto look = [&](std::size_t other) {
      for (Node m = grid_.offset[other]; m < grid_.offset[other + 1]; ++m) {
        const FoamRun& beside = grid_.runs[m];
        if (beside.low_mm >= run.high_mm)
          break;
        if (beside.high_mm > run.low_mm && beside.move >= move)
          visit(m);
      }
    };
    if (!forward && i > 0)
      look(c - 1);
    if (i + 1 < across)
      look(c + 1);
    if (!forward && c >= across)
      look(c - across);
    if (c + across < grid_.offset.size() - 1)
      look(c + across);
  }

  double run_volume(Node n) const {
    return (static_cast<double>(grid_.runs[n].high_mm) - grid_.runs[n].low_mm) * grid_.cell_mm2();
  }
  void splice(Node a, Node b) { std::swap(next_[a], next_[b]); } // joins two rings into one

  template <class Freed> void add_level(const Node* from, const Node* to, Freed& freed) {
    const std::uint32_t move = grid_.runs[*from].move;
    touched_.clear();
    pairs_.clear();
    // Foam that stays has no bodies before it: each pair is seen once, from its first node.
    for (const Node* n = from; n != to; ++n)
      for_neighbours(*n, move, move == kNever, [&](Node m) {
        if (move == kNever)
          join(*n, m, move);
        else if (grid_.runs[m].move != move || m > *n)
          pairs_.push_back({*n, m});
      });
    // Bodies of the moment after `move` that its foam touches, before anything is joined.
    for (const auto& [n, m] : pairs_) {
      if (grid_.runs[m].move == move)
        continue;
      const Node root = find(m);
      if (best_[root] == kNone) {
        best_[root] = root; // a mark for now
        touched_.push_back(root);
      }
    }
    for (const Node root : touched_)
      best_[root] = kNone;
    for (const auto& [n, m] : pairs_)
      join(n, m, move);

    // The largest of the old bodies in each new one is the rest; the others come free with this move.
    for (const Node old : touched_) {
      Node& best = best_[find(old)];
      if (best == kNone || volume_[old] > volume_[best] ||
          (volume_[old] == volume_[best] && first_[old] < first_[best]))
        best = old;
    }
    for (const Node old : touched_) {
      const Node rest = best_[find(old)];
      if (old != rest)
        freed(move, old, seed_[rest]);
    }
    merge_books(from, to);
  }

  /// Carries volume, first node, seed and members to the new roots.
  void merge_books(const Node* from, const Node* to) {
    roots_.clear();
    const auto book = [&](Node n, double volume) {
      const Node root = find(n);
      if (sum_[root] == 0)
        roots_.push_back({root, best_[root] == kNone ? seed_[root] : seed_[best_[root]]});
      sum_[root] += volume;
      // `n` stands for its own ring here: old roots and new nodes are all still apart.
      if (n != root)
        splice(root, n);
    };
    for (const Node old : touched_)
      book(old, volume_[old]);
    for (const Node* n = from; n != to; ++n)
      book(*n, run_volume(*n));
    for (const Node old : touched_)
      lower_first(old);
    for (const Node* n = from; n != to; ++n)
      lower_first(*n);
    for (const Root& root : roots_) {
      volume_[root.at] = sum_[root.at];
      sum_[root.at] = 0;
      seed_[root.at] = root.seed;
      best_[root.at] = kNone;
    }
  }
  void lower_first(Node n) {
    const Node root = find(n);
    first_[root] = std::min(first_[root], first_[n]);
  }

  struct Root {
    Node at, seed;
  };
  const RunGrid& grid_;
  std::vector<Node> parent_; // as joined, with the move in joined_: the forest at every moment
  std::vector<Node> way_;    // to the same roots, shortened
  std::vector<Node> next_, first_, seed_, best_, column_of_;
  std::vector<std::uint32_t> joined_, size_;
  std::vector<double> volume_, sum_;
  std::vector<Node> touched_;
  std::vector<std::pair<Node, Node>> pairs_;
  std::vector<Root> roots_;
  ByMove sorted_;
  Node sheet_ = kNone;
};

/// A piece's numbers, from its members at the moment it comes free. `own` holds the true moves of the runs.
LoosePiece measured(const Forest& forest, Node root, std::uint32_t move, const RunGrid& own) {
  LoosePiece piece;
  piece.freed_by = move;
  piece.gone_by = 0;
  float low = std::numeric_limits<float>::max(), high = std::numeric_limits<float>::lowest();
  std::vector<std::size_t> columns;
  forest.for_members(root, [&](Node n) {
    const FoamRun& run = own.runs[n];
    const std::size_t c = forest.column(n);
    const double volume = (static_cast<double>(run.high_mm) - run.low_mm) * own.cell_mm2();
    const Vec2 at = own.centre_mm(c);
    piece.volume_mm3 += volume;
    piece.centre_mm = piece.centre_mm + volume * Vec3{at.x, at.y, 0.5 * (run.low_mm + run.high_mm)};
    if (run.low_mm <= own.underside_mm)
      piece.base_mm2 += own.cell_mm2();
    low = std::min(low, run.low_mm);
    high = std::max(high, run.high_mm);
    piece.next_cut = std::min(piece.next_cut, run.move);
    piece.gone_by = std::max(piece.gone_by, run.move);
    columns.push_back(c);
  });
  piece.centre_mm = (1 / piece.volume_mm3) * piece.centre_mm;
  std::sort(columns.begin(), columns.end());
  columns.erase(std::unique(columns.begin(), columns.end()), columns.end());
  piece.plan_mm2 = static_cast<double>(columns.size()) * own.cell_mm2();
  int i0 = own.nx, i1 = 0;
  for (const std::size_t c : columns) {
    const int i = static_cast<int>(c % own.nx), j = static_cast<int>(c / own.nx);
    i0 = std::min(i0, i);
    i1 = std::max(i1, i + 1);
    if (!piece.rows.empty() && piece.rows.back().j == j && piece.rows.back().i1 == i)
      ++piece.rows.back().i1;
    else
      piece.rows.push_back({j, i, i + 1});
  }
  piece.box = {
      {own.corner_mm.x + i0 * own.dx_mm, own.corner_mm.y + piece.rows.front().j * own.dy_mm, low},
      {own.corner_mm.x + i1 * own.dx_mm, own.corner_mm.y + (piece.rows.back().j + 1) * own.dy_mm, high}};
  return piece;
}

/// Pieces of one view with what is needed to tell whose they are.
struct Released {
  LoosePiece piece;
  Node member, seed, rest_seed;
};
std::vector<Released> releases(Forest& forest, const RunGrid& own, double crumb_mm3, std::size_t& crumbs,
                               double& crumbs_mm3) {
  std::vector<Released> all;
  forest.grow([&](std::uint32_t move, Node root, Node rest_seed) {
    if (forest.volume(root) < crumb_mm3) {
      ++crumbs;
      crumbs_mm3 += forest.volume(root);
      return;
    }
    all.push_back({measured(forest, root, move, own), root, forest.seed(root), rest_seed});
  });
  std::stable_sort(all.begin(), all.end(), [](const Released& a, const Released& b) {
    if (a.piece.freed_by != b.piece.freed_by)
      return a.piece.freed_by < b.piece.freed_by;
    return a.piece.volume_mm3 > b.piece.volume_mm3;
  });
  return all;
}

} // namespace

LoosePieces find_loose_pieces(const RunGrid& grid, const LooseOptions& options) {
  LoosePieces found;
  found.floors = thin_floors(grid, options);
  if (grid.runs.empty())
    return found;
  Forest forest(grid);
  const std::vector<Released> exact =
      releases(forest, grid, options.crumb_mm3, found.crumbs, found.crumbs_mm3);
  std::unordered_map<Node, int> by_seed; // a body keeps its seed from the moment it comes free
  for (std::size_t p = 0; p < exact.size(); ++p)
    by_seed.emplace(exact[p].seed, static_cast<int>(p));
  for (const Released& released : exact) {
    found.pieces.push_back(released.piece);
    const auto rest = by_seed.find(released.rest_seed);
    if (rest != by_seed.end())
      found.pieces.back().from = rest->second;
  }

  bool changed = false;
  const RunGrid view = options.skin_mm > 0 ? without_skin(grid, options.skin_mm, changed) : RunGrid{};
  if (!changed)
    return found;
  // Apart in the view without skins, yet still one body in truth: a skin is all that joins them.
  Forest skinless(view);
  std::size_t crumbs = 0;
  double crumbs_mm3 = 0;
  for (Released& released : releases(skinless, grid, options.crumb_mm3, crumbs, crumbs_mm3)) {
    const Moment t = released.piece.freed_by + 1;
    if (forest.root_at(released.member, t) != forest.root_at(released.rest_seed, t))
      continue;
    released.piece.on_skin = true;
    found.pieces.push_back(std::move(released.piece));
  }
  std::stable_sort(found.pieces.begin() + static_cast<std::ptrdiff_t>(exact.size()), found.pieces.end(),
                   [](const LoosePiece& a, const LoosePiece& b) { return a.freed_by < b.freed_by; });
  return found;
}

} // namespace snagmap
