// The plan of stops: as few as can be, at times at which a person can stand at a cutter out of the foam.
#include "sim/checks/stops.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <random>

using namespace snagmap;

namespace {

constexpr double kNoEnd = 1e9;

/// A way run at 1 mm/s: lengths are times.
const WayClock kOneMmASecond{[](double s) { return s; }, [](double mm) { return mm; }};

struct Case {
  std::vector<StopNeed> needs;
  std::vector<GrowingStrand> strands;
  double within_s = 0;
  StopPlaces places;
};

/// Does this set of times (ascending) serve everything? By the definition: each need holds a stop; a strand
/// over its limit meets one within the patience, and grows anew from a stop within its cut.
bool serves(const Case& job, const std::vector<double>& stops) {
  const auto next = [&](double from_s) {
    const auto at = std::lower_bound(stops.begin(), stops.end(), from_s);
    return at == stops.end() ? std::numeric_limits<double>::infinity() : *at;
  };
  for (const StopNeed& need : job.needs)
    if (next(need.from_s) > need.by_s && need.by_s < job.places.end_s)
      return false;
  for (const GrowingStrand& strand : job.strands)
    for (double from_s = strand.from_s; strand.to_s - from_s > strand.limit_mm + 1e-6;) {
      // A stop before the strand is long restarts it, too.
      const double stop_s = next(std::nextafter(from_s, kNoEnd)),
                   by_s = from_s + strand.limit_mm + job.within_s;
      if (stop_s > by_s && by_s < job.places.end_s)
        return false;
      from_s = stop_s;
    }
  return true;
}

/// Fewest stops of `from` that serve, tried from none upward; nothing when all of them do not.
std::size_t fewest(const Case& job, const std::vector<double>& from) {
  for (std::size_t count = 0; count <= from.size(); ++count) {
    std::vector<char> taken(from.size(), 0);
    std::fill(taken.end() - static_cast<std::ptrdiff_t>(count), taken.end(), 1);
    do {
      std::vector<double> stops = job.places.given_s;
      for (std::size_t n = 0; n < from.size(); ++n)
        if (taken[n])
          stops.push_back(from[n]);
      std::sort(stops.begin(), stops.end());
      if (serves(job, stops))
        return count;
    } while (std::next_permutation(taken.begin(), taken.end()));
  }
  return std::numeric_limits<std::size_t>::max();
}

std::vector<double> times(const std::vector<PlannedStop>& stops, const StopPlaces& places) {
  std::vector<double> all = places.given_s;
  for (const PlannedStop& stop : stops)
    all.push_back(stop.time_s);
  std::sort(all.begin(), all.end());
  return all;
}

std::vector<PlannedStop> plan(const Case& job) {
  return plan_stops(job.needs, job.strands, job.within_s, job.places, kOneMmASecond);
}

} // namespace

// Gallai's theorem for intervals on a line: the fewest points that meet all of them are as many as the most
// that are disjoint (Hajnal & Suranyi 1958; from memory). Whole numbers, so ends that touch are met.
TEST(Stops, AreAsManyAsTheMostNeedsOfWhichNoTwoShareAMoment) {
  std::mt19937 random(3);
  std::uniform_int_distribution<int> at(0, 60), length(0, 15);
  for (int n = 0; n < 400; ++n) {
    Case job;
    job.places.end_s = kNoEnd;
    for (int k = 0; k < 12; ++k) {
      const double from = at(random);
      job.needs.push_back({from, from + length(random)});
    }
    // The most disjoint ones, by trying all sets.
    std::size_t most = 0;
    for (unsigned set = 0; set < 1u << 12; ++set) {
      const auto size = static_cast<std::size_t>(__builtin_popcount(set));
      if (size <= most)
        continue;
      bool apart = true;
      for (int a = 0; a < 12 && apart; ++a)
        for (int b = 0; b < a && apart; ++b)
          apart =
              !(set >> a & 1 && set >> b & 1) ||
              job.needs[static_cast<std::size_t>(a)].by_s < job.needs[static_cast<std::size_t>(b)].from_s ||
              job.needs[static_cast<std::size_t>(b)].by_s < job.needs[static_cast<std::size_t>(a)].from_s;
      if (apart)
        most = size;
    }
    const std::vector<PlannedStop> stops = plan(job);
    ASSERT_EQ(stops.size(), most) << "case " << n;
    ASSERT_TRUE(serves(job, times(stops, job.places))) << "case " << n;
  }
}

// Brute force over every choice of places: clear ones, and where a need has none of these, any moment that
// could matter.
TEST(Stops, NoSmallerChoiceOfPlacesServesAllNeeds) {
  std::mt19937 random(5);
  std::uniform_int_distribution<int> at(0, 40), length(0, 12), few(0, 7);
  int lifted = 0, planned = 0;
  for (int n = 0; n < 1500; ++n) {
    Case job;
    job.places.end_s = 45;
    const int needs = 1 + few(random);
    for (int k = 0; k < needs; ++k) {
      const double from = at(random);
      job.needs.push_back({from, from + length(random)});
    }
    for (int k = few(random); k > 0; --k)
      job.places.clear_s.push_back(at(random));
    if (n % 3 == 0)
      job.places.given_s.push_back(at(random));
    std::sort(job.places.clear_s.begin(), job.places.clear_s.end());
    std::vector<double> candidates = job.places.clear_s;
    for (const StopNeed& need : job.needs) {
      const auto clear = std::lower_bound(job.places.clear_s.begin(), job.places.clear_s.end(), need.from_s);
      if (clear == job.places.clear_s.end() || *clear > need.by_s)
        candidates.push_back(need.by_s); // the right ends are enough: a point may move right to the next one
    }
    const std::vector<PlannedStop> stops = plan(job);
    ASSERT_TRUE(serves(job, times(stops, job.places))) << "case " << n;
    ASSERT_EQ(stops.size(), fewest(job, candidates)) << "case " << n;
    for (const PlannedStop& stop : stops) {
      ++planned, lifted += stop.lifted;
      if (stop.lifted) {
        EXPECT_TRUE(std::any_of(job.needs.begin(), job.needs.end(), [&](const StopNeed& need) {
          return need.by_s == stop.time_s &&
                 std::none_of(job.places.clear_s.begin(), job.places.clear_s.end(),
                              [&](double s) { return s >= need.from_s && s <= need.by_s; });
        }));
      }
    }
  }
  EXPECT_GT(lifted, 100); // both kinds of place were tried
  EXPECT_GT(planned - lifted, 100);
}

TEST(Stops, NoSmallerChoiceServesStrandsThatGrowAnewAfterEachStop) {
  std::mt19937 random(7);
  std::uniform_int_distribution<int> cut(1, 9), gap(1, 3), patience(0, 6);
  for (int n = 0; n < 600; ++n) {
    Case job;
    job.places.end_s = kNoEnd;
    job.within_s = patience(random);
    double s = 0;
    for (int k = 0; k < 3; ++k) {
      const double from = s + gap(random), to = from + cut(random);
      job.strands.push_back({from, to, 3});
      s = to;
    }
    for (double t = 0.5; t < s + 8; ++t) { // clear between the cuts
      const auto within = [&](const GrowingStrand& c) { return t > c.from_s && t < c.to_s; };
      if (std::none_of(job.strands.begin(), job.strands.end(), within) && n % 2)
        job.places.clear_s.push_back(t);
    }
    const std::vector<PlannedStop> stops = plan(job);
    ASSERT_TRUE(serves(job, times(stops, job.places))) << "case " << n;
    // Without clear places a stop may be at any whole moment: all deadlines are whole.
    std::vector<double> candidates = job.places.clear_s;
    if (candidates.empty())
      for (double t = 1; t < s + 7; ++t)
        candidates.push_back(t);
    if (candidates.size() > 14)
      candidates.resize(14);
    const std::size_t least = fewest(job, candidates);
    if (least <= candidates.size()) {
      ASSERT_LE(stops.size(), least) << "case " << n;
    }
  }
}

// A cut of length L holds ceil(L / limit) - 1 stops when none may wait: that many parts are the fewest.
TEST(Stops, WithoutPatienceACutIsPartedIntoTheFewestStrandsUnderTheLimit) {
  for (const auto& [length, limit] :
       {std::pair{538.9, 75.0}, {150.0, 150.0}, {150.1, 150.0}, {900.0, 75.0}}) {
    const std::vector<PlannedStop> stops =
        plan_stops({}, {{10, 10 + length, limit}}, 0, {{}, {}, kNoEnd}, kOneMmASecond);
    EXPECT_EQ(static_cast<double>(stops.size()), std::ceil(length / limit) - 1) << length;
    double from = 10;
    for (const PlannedStop& stop : stops) {
      EXPECT_TRUE(stop.lifted);
      EXPECT_LE(stop.time_s - from, limit + 1e-6);
      from = stop.time_s;
    }
    EXPECT_LE(10 + length - from, limit + 1e-6);
  }
}

TEST(Stops, AToolChangeServesForNothing) {
  Case job;
  job.within_s = 60;
  job.strands = {{0, 100, 50}};
  job.places = {{101}, {}, kNoEnd};
  ASSERT_EQ(plan(job).size(), 1u);
  EXPECT_EQ(plan(job)[0].time_s, 101);
  EXPECT_FALSE(plan(job)[0].lifted);
  job.places.given_s = {105};
  EXPECT_TRUE(plan(job).empty());
  job.places.given_s = {40}; // too early: the strand is not there yet, but it is broken there
  EXPECT_EQ(plan(job).size(), 1u);
}

TEST(Stops, WhatMayWaitForTheEndNeedsNone) {
  Case job;
  job.needs = {{50, 200}};
  job.places = {{60, 90}, {}, 150};
  EXPECT_TRUE(plan(job).empty());
  job.places.end_s = 250;
  ASSERT_EQ(plan(job).size(), 1u);
  EXPECT_EQ(plan(job)[0].time_s, 90);
}
