#include "sim/hold/break_up.hpp"

#include <algorithm>
#include <numeric>

namespace snagmap {

BreakUp::ByMove BreakUp::sorted_by_move(const RunGrid& grid) {
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

BreakUp::BreakUp(const RunGrid& grid) : grid_(grid) {
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

void BreakUp::grow(const Freed& freed) {
  for (std::size_t group = 0; group + 1 < sorted_.start.size(); ++group) {
    const Node* const from = sorted_.nodes.data() + sorted_.start[group];
    const Node* const to = sorted_.nodes.data() + sorted_.start[group + 1];
    if (from != to)
      add_level(from, to, freed);
  }
}

BreakUp::Node BreakUp::root_at(Node n, Moment t) const {
  while (parent_[n] != n && joined_[n] >= t)
    n = parent_[n];
  return n;
}

/// The root now, by a way that is halved as it is walked.
BreakUp::Node BreakUp::find(Node n) {
  while (way_[n] != n)
    n = way_[n] = way_[way_[n]];
  return n;
}

void BreakUp::join(Node a, Node b, std::uint32_t move) {
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
template <class Visit>
void BreakUp::for_neighbours(Node n, std::uint32_t move, bool forward, Visit visit) const {
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
    const auto under = [&](const FoamRun& one) { return one.high_mm <= run.low_mm; };
    const auto from = std::partition_point(grid_.begin(other), grid_.end(other), under);
    for (Node m = static_cast<Node>(from - grid_.runs.data()); m < grid_.offset[other + 1]; ++m) {
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

double BreakUp::run_volume(Node n) const {
  return (static_cast<double>(grid_.runs[n].high_mm) - grid_.runs[n].low_mm) * grid_.cell_mm2();
}

void BreakUp::add_level(const Node* from, const Node* to, const Freed& freed) {
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
void BreakUp::merge_books(const Node* from, const Node* to) {
  roots_.clear();
  const auto book = [&](Node n, double volume) {
    const Node root = find(n);
    if (sum_[root] == 0)
      roots_.push_back({root, best_[root] == kNone ? seed_[root] : seed_[best_[root]]});
    sum_[root] += volume;
    // `n` stands for its own ring here: old roots and new nodes are all still apart.
    if (n != root)
      std::swap(next_[root], next_[n]); // two rings into one
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

void BreakUp::lower_first(Node n) {
  const Node root = find(n);
  first_[root] = std::min(first_[root], first_[n]);
}

} // namespace snagmap
