// The table of narrowest webs against combs through the whole pipeline, and its order.
#include "sim/study/narrowest.hpp"
#include "tests/sim/comb.hpp"

#include <random>

using namespace snagmap;

namespace {

NarrowestSpec comb_spec(const comb::Job& job) {
  NarrowestSpec spec;
  spec.foams = {*find_foam(job.foam)};
  spec.flute_lengths_mm = {job.flute_length_mm};
  spec.depths_mm = {comb::kDepth_mm};
  spec.diameter_mm = job.diameter_mm;
  spec.length_mm = comb::kLength_mm;
  spec.ends = job.free_ends ? WebEnd::free : WebEnd::built_in;
  return spec;
}

/// The table's width, bracketed within 5 % by two walls of a comb, comes back from the pipeline within 2 %.
void expect_the_comb_to_agree(comb::Job job) {
  const NarrowestTable table = narrowest_table(comb_spec(job));
  const double w = table.rows.front().w_mm;
  job.widths_mm = {0.95 * w, 1.05 * w};
  EXPECT_NEAR(comb::critical_width_mm(job, comb::s_of_walls(job, comb::run(job))), w, 0.02 * w)
      << job.foam << ", flutes " << job.flute_length_mm;
}

} // namespace

TEST(Narrowest, AgreesWithCombsThroughThePipeline) {
  comb::Job job;
  expect_the_comb_to_agree(job);
  job.flute_length_mm = 15;
  expect_the_comb_to_agree(job);
  job.flute_length_mm = 6.35;
  expect_the_comb_to_agree(job);
  job.flute_length_mm = 30; // past the top
  job.foam = "pu-32";
  expect_the_comb_to_agree(job);
  job.flute_length_mm = 22;
  job.free_ends = false;
  expect_the_comb_to_agree(job);
  job.foam = "pu-22";
  expect_the_comb_to_agree(job);
  job.free_ends = true;
  job.foam = "pe-32";
  expect_the_comb_to_agree(job);
}

// Bisection over the same formula, foam by foam and band by band: the shared curves must lose nothing.
TEST(Narrowest, SharedCurvesGiveWhatSolvingEachCaseAloneGives) {
  NarrowestSpec spec;
  spec.foams = {*find_foam("pu-22"), *find_foam("pu-32"), *find_foam("eva-64"), *find_foam("pe-24")};
  spec.flute_lengths_mm = {6.35, 15, 22};
  spec.depths_mm = {20, 40};
  spec.ends = WebEnd::built_in;
  const NarrowestTable table = narrowest_table(spec);
  ASSERT_EQ(table.rows.size(), 24u);
  EXPECT_LT(table.curves, 24u) << "foams of the same contact share a curve";
  for (const NarrowestRow& row : table.rows) {
    const FoamCard& foam = spec.foams[row.foam];
    SnagQuestion question;
    question.web.h_mm = row.depth_mm;
    question.web.end1 = question.web.end2 = WebEnd::built_in;
    question.web.nu = foam.nu.nominal;
    question.web.b_p_mm = contact_length_mm(0.5 * spec.diameter_mm, foam.bite_depth_mm.nominal);
    question.contact = {0, std::min(row.depth_mm, row.flute_length_mm)};
    for (const auto& [w, lambda] : {std::pair{row.w_mm, foam.lambda.nominal},
                                    {row.w_low_mm, foam.lambda.low},
                                    {row.w_high_mm, foam.lambda.high}}) {
      double alone = 0;
      for (const double d : {25, 50}) {
        question.web.d1_mm = d;
        question.web.d2_mm = 100 - d;
        alone = std::max(alone, narrowest_width(question, lambda).w_mm);
      }
      EXPECT_NEAR(w, alone, 1e-5 * w) << foam.name << " " << row.flute_length_mm;
    }
    EXPECT_LE(row.w_low_mm, row.w_mm);
    EXPECT_LE(row.w_mm, row.w_high_mm);
  }
}

// Over random cases inside the fit's range (w/h 0.1 to 1): the order that makes the advice mean something.
TEST(SnagNumber, ALongerFluteNeverLowersItAndAWiderWebNeverRaisesIt) {
  std::mt19937 random(7);
  const auto between = [&](double a, double b) {
    return std::uniform_real_distribution<double>(a, b)(random);
  };
  const std::vector<FoamCard>& foams = foam_cards();
  for (int n = 0; n < 1000; ++n) {
    SnagQuestion q;
    q.web.h_mm = between(8, 50);
    q.web.w_mm = between(0.1, 0.9) * q.web.h_mm;
    q.web.d1_mm = between(0.3, 4) * q.web.h_mm;
    q.web.d2_mm = between(0.3, 4) * q.web.h_mm;
    q.web.end1 = n % 2 ? WebEnd::free : WebEnd::built_in;
    q.web.end2 = n % 3 ? WebEnd::free : WebEnd::built_in;
    q.web.b_p_mm = between(2, 7);
    q.contact = {0, between(0.15, 0.95) * q.web.h_mm};
    q.pass_depth_mm = between(0.2, 1) * q.contact.high_mm;
    q.gap_mm.fill(0);
    const FoamCard& foam = foams[static_cast<std::size_t>(n) % foams.size()];
    const double s = judge(q, foam).s;
    SnagQuestion longer = q, wider = q;
    longer.contact.high_mm = between(q.contact.high_mm, q.web.h_mm);
    wider.web.w_mm = between(q.web.w_mm, q.web.h_mm);
    EXPECT_GE(judge(longer, foam).s, s * (1 - 1e-9)) << "case " << n;
    EXPECT_LE(judge(wider, foam).s, s * (1 + 1e-9)) << "case " << n;
  }
}
