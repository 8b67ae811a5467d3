// The page and what a browser opens: how fast, how large, and right under load.
#include "tests/bench/page/parts.hpp"

int main() {
  snagmap::bench::report_goals();
  snagmap::bench::film_goals();
  snagmap::bench::queue_goals();
}
