// The study behind Lambda of soft polyurethane: Gamma of every plausible feature, by preview and finite
// elements.
//
//   PRACTICE_TABLE=FILE.csv build/release/tests/test_long --gtest_filter='Practice.*'
//
// writes it (and goes on where a stopped run left the file). scripts/calibrate runs this and puts the
// quantiles into the card.
#include "tests/sim/practice.hpp"

#include <gtest/gtest.h>

#include <cstdio>

using namespace snagmap;

TEST(Practice, EveryFeatureIsJudged) {
  const char* file = std::getenv("PRACTICE_TABLE");
  if (!file)
    GTEST_SKIP() << "names no PRACTICE_TABLE to write";
  const FoamCard foam = *find_foam("pu-22");
  const std::size_t have = practice::stored_rows(file).size();
  std::FILE* out = std::fopen(file, have ? "a" : "w");
  ASSERT_TRUE(out);
  if (!have)
    std::fputs(practice::header().c_str(), out);
  for (int n = static_cast<int>(have); n < practice::kFeatures; ++n) {
    const Outcome<practice::Row> row = practice::judge(practice::feature(n), foam);
    ASSERT_TRUE(row) << to_text(row.faults().front());
    ASSERT_GT(row->solved, 0) << "feature " << n;
    std::fputs(practice::line_of(*row).c_str(), out);
    std::fflush(out);
  }
  std::fclose(out);
}
