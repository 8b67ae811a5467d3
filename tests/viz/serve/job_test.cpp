// What a file of jobs can say, and the room there is for jobs.
#include "viz/jobs/line.hpp"

#include <gtest/gtest.h>

using namespace snagmap;

TEST(Jobs, AFileOfJobsGivesBackTheJobAndTakesNothingElse) {
  Job job;
  job.id = "job-12", job.kind = JobKind::fit, job.label = "a \"b\"\n\xff", job.of = {"job-3"},
  job.advise = true;
  job.names = {{"program.nc", "my part.nc"}};
  const auto read = parse_job(job_text(job));
  ASSERT_TRUE(read);
  EXPECT_EQ(read->id, "job-12");
  EXPECT_EQ(read->kind, JobKind::fit);
  EXPECT_EQ(read->label, "a \"b\"\n\xef\xbf\xbd") << "what is no UTF-8 becomes the mark for it";
  EXPECT_EQ(read->of, job.of);
  EXPECT_EQ(read->names, job.names);
  EXPECT_TRUE(read->advise && !read->quick);
  const std::string right = job_text(job);
  const auto with = [&](const std::string& from, const std::string& to) {
    std::string text = right;
    text.replace(text.find(from), from.size(), to);
    return parse_job(text).has_value();
  };
  EXPECT_TRUE(with("job-12", "job-13"));
  for (const char* id : {"job-", "job-1/../..", "../job-1", "job-1234567890", "--out"})
    EXPECT_FALSE(with("job-12", id)) << id;
  for (const char* kind : {"sweep", "look", "fit --card /tmp/x", ""})
    EXPECT_FALSE(with("\"fit\"", "\"" + std::string(kind) + "\"")) << kind;
  EXPECT_FALSE(with("true", "1"));
  EXPECT_FALSE(parse_job(right.substr(0, right.size() / 2)));
  EXPECT_FALSE(parse_job("[]"));
}

TEST(Jobs, RoomIsTwoAndOneMoreForFourCoresWithinTheMemory) {
  EXPECT_EQ(room_for(2, 0, 0), 2);
  EXPECT_EQ(room_for(8, 0, 0), 2);
  EXPECT_EQ(room_for(12, 0, 0), 3);
  EXPECT_EQ(room_for(64, 0, 0), 16);
  EXPECT_EQ(room_for(64, 8'000'000'000, 2'000'000'000), 4);
  EXPECT_EQ(room_for(2, 1'000'000'000, 2'000'000'000), 1) << "one, whatever there is: it may be refused";
}
