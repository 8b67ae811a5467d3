// How the sheet breaks up: the bodies of foam at every moment, found from the last move back to the first.
#pragma once

#include "sim/probe/run_grid.hpp"

#include <cstdint>
#include <functional>
#include <utility>
#include <vector>

namespace snagmap {

/// A forest that grows from the last move back to the first. Its nodes are the grid's runs; bodies are known
/// by the root of their nodes; volume, first node, seed and member list of a body sit at its root.
class BreakUp {
public:
  using Node = std::uint32_t;

  explicit BreakUp(const RunGrid& grid);

  /// Calls freed(move, root, seed of the rest) for every body that `move` separates, before it is merged
  /// away.
  using Freed = std::function<void(std::uint32_t move, Node root, Node rest_seed)>;
  void grow(const Freed& freed);

  template <class Visit> void for_members(Node root, Visit visit) const {
    Node n = root;
    do {
      visit(n);
      n = next_[n];
    } while (n != root);
  }
  /// The root of n's body as it was at moment t.
  Node root_at(Node n, Moment t) const;
  Node seed(Node root) const { return seed_[root]; }
  double volume(Node root) const { return volume_[root]; }
  std::size_t column(Node n) const { return column_of_[n]; }

private:
  static constexpr Node kNone = 0xffffffffu;
  /// Nodes grouped by move, last move first; kNever leads. Nodes of one move stay in their order.
  struct ByMove {
    std::vector<Node> nodes;
    std::vector<std::uint32_t> start; // by group; the last entry ends the list
  };
  static ByMove sorted_by_move(const RunGrid& grid);

  Node find(Node n);
  void join(Node a, Node b, std::uint32_t move);
  template <class Visit> void for_neighbours(Node n, std::uint32_t move, bool forward, Visit visit) const;
  double run_volume(Node n) const;
  void add_level(const Node* from, const Node* to, const Freed& freed);
  void merge_books(const Node* from, const Node* to);
  void lower_first(Node n);

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
};

} // namespace snagmap
