// The greatest value on a stretch.
#pragma once

namespace snagmap {

struct Greatest {
  double at = 0, value = 0;
};

/// The greatest of `count` values (two at least) on [low, high] by golden section, which closes in on the top
/// of what rises and then falls; it needs no slope and bears steps (Kiefer 1953).
template <class Value> Greatest greatest_on(double low, double high, int count, const Value& value) {
  constexpr double kGolden = 0.6180339887498949;
  double x1 = high - kGolden * (high - low), x2 = low + kGolden * (high - low);
  double at_x1 = value(x1), at_x2 = value(x2);
  Greatest best = at_x1 >= at_x2 ? Greatest{x1, at_x1} : Greatest{x2, at_x2};
  for (int n = 2; n < count; ++n) {
    if (at_x1 >= at_x2) {
      high = x2, x2 = x1, at_x2 = at_x1;
      x1 = high - kGolden * (high - low), at_x1 = value(x1);
      best = at_x1 > best.value ? Greatest{x1, at_x1} : best;
    } else {
      low = x1, x1 = x2, at_x1 = at_x2;
      x2 = low + kGolden * (high - low), at_x2 = value(x2);
      best = at_x2 > best.value ? Greatest{x2, at_x2} : best;
    }
  }
  return best;
}

} // namespace snagmap
