// Jobs of the page: the command line's own results, in line, cancelled, limited, and whole whoever is killed.
#include "tests/viz/serve/served_page.hpp"

#include <random>
#include <set>

using namespace snagmap::testing;

namespace {

class PageJobs : public ServedPage {};

} // namespace

TEST_F(PageJobs, AJobGivesWhatTheCommandLineGives) {
  serve();
  const std::string id =
      ask(request(kTwoSlots, {{"quick", true},
                              {"sheet", {{"size", {"120", "60", "25 mm"}}, {"zero", "lower left"}}},
                              {"hold", {{"kind", "tape"}, {"area", "100 %"}}}}));
  ASSERT_TRUE(until([&] { return !result(id).is_null(); })) << job(id);
  const Json made = result(id);
  EXPECT_EQ(made["label"], "part.nc");
  const Ran again = run("preview jobs/.snagmap-page/" + id + "/scene.toml --quick --quiet --out again");
  EXPECT_EQ(made["verdict"].get<std::string>() + "\n", again.out);
  EXPECT_EQ(made["alarm"], again.status == 3);
  const std::string ours = slurp(fs::path("jobs") / id / "result.json");
  EXPECT_GT(ours.size(), 1000u);
  EXPECT_EQ(ours, slurp("again/result.json"));
  EXPECT_NE(slurp("jobs/.snagmap-page/" + id + "/scene.toml").find("area = \"100 %\""), std::string::npos);
  // Every file of the folder is there to save, byte for byte; the report cannot reach anything.
  std::size_t files = 0;
  for (const auto& entry : fs::recursive_directory_iterator(fs::path("jobs") / id)) {
    const std::string name = entry.path().lexically_relative(fs::path("jobs") / id).string();
    if (!entry.is_regular_file() || name == "snagmap-files.json")
      continue;
    ++files;
    const auto answer = get("results/" + id + "/files/" + name + "?save");
    ASSERT_TRUE(answer && answer->status == 200) << name;
    EXPECT_EQ(answer->body, slurp(entry.path())) << name;
    EXPECT_EQ(answer->get_header_value("Content-Disposition"),
              "attachment; filename=\"" + entry.path().filename().string() + "\"");
  }
  EXPECT_EQ(files, made["files"].size());
  const auto report = get("results/" + id + "/files/report.html");
  const std::string policy = report->get_header_value("Content-Security-Policy");
  EXPECT_EQ(policy.find("sandbox allow-scripts; default-src 'none'"), 0u) << policy;
  EXPECT_EQ(policy.find("allow-same-origin"), std::string::npos) << policy;
}

TEST_F(PageJobs, AFaultNamesTheUsersFileAndItsLine) {
  serve();
  const std::string id = ask(request("G21\nG1 X5\nM30\n"));
  ASSERT_TRUE(until([&] { return job(id)["state"] == "failed"; }));
  const std::string said = job(id)["said"];
  EXPECT_EQ(said.find("part.nc:2"), 0u) << said; // G1 needs F: RS274/NGC, 3.5.2
  EXPECT_TRUE(result(id).is_null());
  EXPECT_EQ(post("jobs/" + id + "/forget")->status, 200);
  EXPECT_TRUE(state()["jobs"].empty());
  EXPECT_FALSE(fs::exists("jobs/.snagmap-page/" + id));
  EXPECT_EQ(post("jobs", request(kTwoSlots, {{"cutters", Json::array()}}))->status, 400);
  EXPECT_EQ(post("jobs", "no JSON")->status, 400);
  EXPECT_EQ(post("jobs", request(kTwoSlots).substr(0, request(kTwoSlots).size() - 20))->status, 400)
      << "shorter than it says";
}

TEST_F(PageJobs, OneRunsAndTheRestWaitUntilItIsCancelled) {
  serve({"--at-once", "1"});
  const std::string first = ask(request(long_program(), {{"quick", false}})),
                    second = ask(request(kTwoSlots)), third = ask(request(kTwoSlots));
  ASSERT_TRUE(until([&] { return job(first)["state"] == "running" && job(first)["share"] > 0; }));
  EXPECT_EQ(job(second)["words"], "next in line");
  EXPECT_EQ(job(third)["words"], "number 2 in line");
  EXPECT_EQ(workers().size(), 1u);
  EXPECT_NE(job(first)["stage"], "");
  EXPECT_EQ(post("jobs/" + third + "/cancel")->status, 200);
  EXPECT_EQ(job(third)["state"], "cancelled");
  EXPECT_EQ(post("jobs/" + first + "/cancel")->status, 200);
  ASSERT_TRUE(until([&] { return job(first)["state"] == "cancelled"; }));
  ASSERT_TRUE(until([&] { return !result(second).is_null(); })) << job(second);
  EXPECT_TRUE(until([&] { return workers().empty(); }));
  EXPECT_EQ(post("jobs/" + first + "/cancel")->status, 409) << "it has ended";
  for (const auto& entry : fs::directory_iterator("jobs"))
    EXPECT_TRUE(entry.path().filename() == second || entry.path().filename() == ".snagmap-page")
        << entry.path();
}

TEST_F(PageJobs, AJobBeyondItsTimeOrMemoryEndsAndTheLineGoesOn) {
  serve({"--at-once", "1", "--time", "1 s", "--memory", "4 GB"});
  const std::string late = ask(request(long_program(), {{"quick", false}}));
  ASSERT_TRUE(until([&] { return job(late)["state"] == "late"; })) << job(late);
  EXPECT_TRUE(until([&] { return workers().empty(); }));
  end(SIGINT);
  serve({"--memory", "20 MB"});
  EXPECT_EQ(job(late)["state"], "late") << "remembered";
  const std::string large = ask(request(long_program()));
  ASSERT_TRUE(until([&] { return job(large)["state"] == "failed"; })) << job(large);
  EXPECT_NE(job(large)["said"].get<std::string>().find("20 MB are allowed"), std::string::npos) << job(large);
}

TEST_F(PageJobs, AKilledServerLeavesNothingRunningAndTheNextGoesOn) {
  serve({"--at-once", "1"});
  const std::string first = ask(request(long_program(), {{"quick", false}})),
                    second = ask(request(kTwoSlots));
  ASSERT_TRUE(until([&] { return job(first)["state"] == "running" && job(first)["share"] > 0; }));
  ASSERT_EQ(workers().size(), 1u);
  const pid_t worker = workers().front();
  end(SIGKILL);
  // The kernel tells the child; it answers within half a second.
  while (!workers().empty())
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
  EXPECT_NE(kill(worker, 0) == 0 && fs::exists("/proc/" + std::to_string(worker) + "/exe"), true);
  for (const auto& entry : fs::directory_iterator("jobs"))
    EXPECT_EQ(entry.path().filename(), ".snagmap-page") << "half a result";
  serve({"--at-once", "1"});
  ASSERT_TRUE(until([&] { return job(first)["state"] == "running"; }));
  EXPECT_EQ(job(second)["state"], "waiting");
  post("jobs/" + first + "/cancel");
  ASSERT_TRUE(until([&] { return !result(second).is_null(); }));
  EXPECT_GT(ask(request(kTwoSlots)), second) << "numbers go on";
}

TEST_F(PageJobs, KilledAtAnyMomentNoResultIsHalfAndAllJobsComeToTheirEnd) {
  std::mt19937 moments(20261201);
  std::set<std::string> ids;
  for (int kill = 0; kill < 20; ++kill) {
    serve();
    for (int more = 0; more < 2 && ids.size() < 20; ++more)
      ids.insert(ask(request(kTwoSlots)));
    std::this_thread::sleep_for(std::chrono::milliseconds(moments() % 400));
    end(SIGKILL);
  }
  serve();
  ASSERT_TRUE(until([&] { return state()["jobs"].empty(); }));
  for (const std::string& id : ids) {
    const Json made = result(id);
    ASSERT_FALSE(made.is_null()) << id;
    for (const Json& file : made["files"])
      EXPECT_EQ(fs::file_size(fs::path("jobs") / id / file["name"].get<std::string>()), file["bytes"])
          << id << file;
  }
  EXPECT_EQ(state()["results"].size(), ids.size());
}

TEST_F(PageJobs, AFolderIsServedOnce) {
  serve();
  const Ran second = run("serve jobs");
  EXPECT_EQ(second.status, 2);
  EXPECT_NE(second.err.find("is served already"), std::string::npos) << second.err;
  EXPECT_EQ(run("serve other --listen example.org").status, 2);
  EXPECT_FALSE(fs::exists("other"));
}

TEST_F(PageJobs, DeletingTakesOnlyWhatTheListNames) {
  serve();
  const std::string id = ask(request(kTwoSlots)), other = ask(request(kTwoSlots));
  ASSERT_TRUE(until([&] { return !result(id).is_null() && !result(other).is_null(); }));
  put("jobs/" + id + "/notes.txt", "mine");
  EXPECT_EQ(post("results/" + id + "/delete")->body, "{\"stays\":[\"notes.txt\"]}");
  EXPECT_EQ(slurp("jobs/" + id + "/notes.txt"), "mine");
  EXPECT_EQ(std::distance(fs::directory_iterator("jobs/" + id), fs::directory_iterator()), 1);
  EXPECT_TRUE(result(id).is_null());
  EXPECT_EQ(post("results/" + other + "/delete")->body, "{\"stays\":[]}");
  EXPECT_FALSE(fs::exists("jobs/" + other));
  EXPECT_FALSE(fs::exists("jobs/.snagmap-page/" + other));
  EXPECT_EQ(post("results/" + other + "/delete")->status, 404);
}

TEST_F(PageJobs, ATestPieceIsPlannedReadAndBecomesACardThatAJobTakes) {
  serve();
  const std::string job_id =
      ask(request(kTwoSlots, {{"quick", true}, {"sheet", {{"size", {"", "", "25"}}}}}));
  ASSERT_TRUE(until([&] { return !result(job_id).is_null(); })) << job(job_id);
  const std::string piece = ask(Json{{"kind", "coupon"}, {"of", {job_id}}}.dump());
  ASSERT_TRUE(until([&] { return !result(piece).is_null() || job(piece)["state"] == "failed"; }));
  ASSERT_FALSE(result(piece).is_null()) << job(piece);
  EXPECT_EQ(get("results/" + piece + "/files/sheet.html")->status, 200);
  Json walls = Json::parse(get("results/" + piece + "/walls")->body)["walls"], read = Json::array();
  ASSERT_GT(walls.size(), 3u);
  double middle = 0;
  for (const Json& wall : walls)
    middle += wall["w"].get<double>() / static_cast<double>(walls.size());
  for (const Json& wall : walls) // thin walls tear, thick ones hold
    read.push_back({{"wall", wall["wall"]}, {"outcome", wall["w"] < middle ? "torn" : "held"}});
  EXPECT_EQ(post("jobs", Json{{"kind", "fit"}, {"of", {piece}}, {"walls", Json::array()}}.dump())->status,
            400);
  const std::string fit = ask(Json{{"kind", "fit"}, {"of", {piece}}, {"walls", read}}.dump());
  ASSERT_TRUE(until([&] { return !result(fit).is_null() || job(fit)["state"] == "failed"; }));
  ASSERT_FALSE(result(fit).is_null()) << job(fit);
  // The command line makes the same card of the same readings.
  fs::copy_file("jobs/" + fit + "/readings.csv", "readings.csv");
  EXPECT_EQ(run("fit readings.csv --piece jobs/" + piece + "/walls.toml --card own-foam.toml").status, 0);
  EXPECT_EQ(slurp("own-foam.toml"), slurp("jobs/" + fit + "/own-foam.toml"));
  EXPECT_NE(get("cards")->body.find("\"value\":\"" + fit + "\""), std::string::npos);
  const std::string with_card = ask(request(kTwoSlots, {{"quick", true}, {"foam", fit}}));
  ASSERT_TRUE(until([&] { return !result(with_card).is_null() || job(with_card)["state"] == "failed"; }));
  EXPECT_FALSE(result(with_card).is_null()) << job(with_card);
}

TEST_F(PageJobs, TwoResultsAreCompared) {
  serve();
  const std::string a = ask(request(kTwoSlots)),
                    b = ask(request(kTwoSlots, {{"quick", true}, {"foam", "stiff camp mat"}}));
  ASSERT_TRUE(until([&] { return !result(a).is_null() && !result(b).is_null(); }));
  const std::string both = ask(Json{{"kind", "compare"}, {"of", {a, b}}}.dump());
  ASSERT_TRUE(until([&] { return !result(both).is_null() || job(both)["state"] == "failed"; }));
  ASSERT_FALSE(result(both).is_null()) << job(both);
  EXPECT_EQ(Json::parse(slurp("jobs/" + both + "/compare.json"))["cases"].size(), 2u);
  EXPECT_EQ(post("jobs", Json{{"kind", "compare"}, {"of", {a, "nothing"}}}.dump())->status, 400);
}
