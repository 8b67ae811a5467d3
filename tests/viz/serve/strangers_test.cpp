// The server on its socket: what strangers, hostile requests and names out of the folder get.
#include "tests/viz/serve/served_page.hpp"

#include <arpa/inet.h>
#include <set>
#include <sys/socket.h>

using namespace snagmap::testing;

namespace {

class Strangers : public ServedPage {
protected:
  void SetUp() override {
    ServedPage::SetUp();
    serve();
  }
  int status(const httplib::Result& answer) { return answer ? answer->status : -1; }
  /// The answer's first line to bytes that no client would send.
  std::string raw(const std::string& text) {
    const int to = socket(AF_INET, SOCK_STREAM, 0);
    sockaddr_in at{};
    at.sin_family = AF_INET, at.sin_port = htons(static_cast<uint16_t>(port)),
    at.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    EXPECT_EQ(connect(to, reinterpret_cast<sockaddr*>(&at), sizeof at), 0);
    EXPECT_EQ(send(to, text.data(), text.size(), MSG_NOSIGNAL), static_cast<ssize_t>(text.size()));
    std::string heard;
    char bytes[4096];
    for (ssize_t n; heard.find('\n') == std::string::npos && (n = recv(to, bytes, sizeof bytes, 0)) > 0;)
      heard.append(bytes, static_cast<std::size_t>(n));
    close(to);
    return heard.substr(0, heard.find('\r'));
  }
  std::string head(const std::string& more) {
    return "POST " + path + "jobs HTTP/1.1\r\nHost: 127.0.0.1:" + std::to_string(port) +
           "\r\nOrigin: " + origin() + "\r\nX-Snagmap-Token: " + token +
           "\r\nContent-Type: application/octet-stream\r\n" + more + "\r\n\r\n";
  }
};

} // namespace

TEST_F(Strangers, GetNothingWithoutTokenHostAndOrigin) {
  EXPECT_EQ(status(get("state")), 200);
  EXPECT_EQ(status(get("state", {})), 403);
  EXPECT_EQ(status(get("state", {{"X-Snagmap-Token", std::string(32, '0')}})), 403);
  EXPECT_EQ(status(client->Get("/", ours())), 404);
  EXPECT_EQ(status(client->Get("/state", ours())), 404);
  EXPECT_EQ(
      status(get("state", {{"X-Snagmap-Token", token}, {"Host", "evil.example:" + std::to_string(port)}})),
      403);
  EXPECT_EQ(status(get("state", {{"X-Snagmap-Token", token}, {"Origin", "http://evil.example"}})), 403);
  EXPECT_EQ(status(post("jobs", request(kTwoSlots), {{"X-Snagmap-Token", token}, {"Origin", "null"}})), 403);
  EXPECT_EQ(status(post("jobs", request(kTwoSlots), {{"X-Snagmap-Token", token}})), 403);
  EXPECT_TRUE(state()["jobs"].empty());
}

TEST_F(Strangers, TheFirstAddressGivesACookieAndLeavesTheTokenOutOfTheNext) {
  const auto first = get("?token=" + token, {});
  ASSERT_EQ(status(first), 303);
  EXPECT_EQ(first->get_header_value("Location"), path);
  const std::string cookie = first->get_header_value("Set-Cookie");
  EXPECT_EQ(cookie, "snagmap=" + token + "; Path=" + path + "; HttpOnly; SameSite=Strict");
  const auto page = get("", {{"Cookie", "snagmap=" + token}});
  ASSERT_EQ(status(page), 200);
  EXPECT_EQ(page->body.find(token), std::string::npos);
  const std::string policy = page->get_header_value("Content-Security-Policy");
  EXPECT_EQ(policy.find("unsafe"), std::string::npos) << policy;
  EXPECT_NE(policy.find("default-src 'none'"), std::string::npos) << policy;
  EXPECT_EQ(page->get_header_value("X-Content-Type-Options"), "nosniff");
  EXPECT_EQ(page->get_header_value("Cache-Control"), "no-store");
  EXPECT_EQ(page->body.find("<script>"), std::string::npos);
}

TEST_F(Strangers, ABodyTooLargeInPiecesOrPackedIsRefusedByItsHeadAlone) {
  EXPECT_EQ(raw(head("Content-Length: 67108865")), "HTTP/1.1 413 Payload Too Large");
  EXPECT_EQ(raw(head("Transfer-Encoding: chunked")), "HTTP/1.1 411 Length Required");
  EXPECT_EQ(raw(head("Content-Length: 5\r\nContent-Encoding: gzip")), "HTTP/1.1 415 Unsupported Media Type");
  EXPECT_EQ(raw(head("Content-Length: 5\r\nContent-Length: 50")), "HTTP/1.1 411 Length Required");
  EXPECT_TRUE(state()["jobs"].empty());
}

TEST_F(Strangers, NoRequestHidesBehindAnother) {
  const std::string hidden = "GET " + path + "state HTTP/1.1\r\nHost: 127.0.0.1:" + std::to_string(port) +
                             "\r\nX-Snagmap-Token: " + token + "\r\n\r\n";
  const int to = socket(AF_INET, SOCK_STREAM, 0);
  sockaddr_in at{};
  at.sin_family = AF_INET, at.sin_port = htons(static_cast<uint16_t>(port)),
  at.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  ASSERT_EQ(connect(to, reinterpret_cast<sockaddr*>(&at), sizeof at), 0);
  const std::string both = "POST / HTTP/1.1\r\nHost: evil.example\r\nContent-Length: 5\r\n\r\n" + hidden;
  ASSERT_EQ(send(to, both.data(), both.size(), MSG_NOSIGNAL), static_cast<ssize_t>(both.size()));
  std::string heard;
  char bytes[4096];
  for (ssize_t n; (n = recv(to, bytes, sizeof bytes, 0)) > 0;)
    heard.append(bytes, static_cast<std::size_t>(n));
  close(to);
  EXPECT_EQ(heard.find("HTTP/1.1 403"), 0u) << heard;
  EXPECT_EQ(heard.find("HTTP/1.1 ", 5), std::string::npos) << "one answer, then the end: " << heard;
}

TEST_F(Strangers, NoNameLeadsOutOfAResult) {
  put("secret.txt", "nobody's business");
  fs::create_directories("jobs/made/pictures");
  put("jobs/made/a.txt", "listed");
  put("jobs/made/b.txt", "not listed");
  fs::create_symlink(root / "secret.txt", "jobs/made/link.txt");
  fs::create_directory_symlink(root, "jobs/made/up");
  fs::create_directory_symlink(root / "jobs/made", "jobs/alias");
  const std::string entry = "\", \"bytes\": 6, \"sha256\": \"0\"}";
  put("jobs/made/snagmap-files.json",
      "{\"written_by\": \"snagmap\", \"command\": \"preview\", \"files\": [{\"name\": \"a.txt" + entry +
          ", {\"name\": \"link.txt" + entry + ", {\"name\": \"up/secret.txt" + entry + "]}");
  EXPECT_EQ(status(get("results/made/files/a.txt")), 200);
  for (const char* name :
       {"results/made/files/b.txt", "results/made/files/link.txt", "results/made/files/up/secret.txt",
        "results/made/files/../../secret.txt", "results/made/files/..%2f..%2fsecret.txt",
        "results/made/files/%2e%2e/%2e%2e/secret.txt", "results/../files/secret.txt",
        "results/%2e%2e/files/secret.txt", "results/..%2f/files/secret.txt", "results/alias/files/a.txt",
        "results/.snagmap-page/files/lock", "results/made%00/files/a.txt", "results/made/files//etc/passwd",
        "results/made/files/a.txt%00"})
    EXPECT_EQ(status(get(name)), 404) << name;
  EXPECT_EQ(status(post("results/..%2f/delete")), 404);
  EXPECT_EQ(slurp("secret.txt"), "nobody's business");
}

TEST_F(Strangers, ADroppedNameIsShownAndNeverAPath) {
  const std::string id = ask(request("nonsense\n", {{"quick", true}}, "../../../tmp/evil\n.nc"));
  ASSERT_TRUE(until([&] { return job(id)["state"] == "failed"; }));
  std::set<std::string> names;
  for (const auto& entry : fs::recursive_directory_iterator("jobs"))
    names.insert(entry.path().filename().string());
  EXPECT_EQ(names, (std::set<std::string>{".snagmap-page", "lock", id, "job.json", "ended.json", "out.txt",
                                          "err.txt", "scene.toml", "program.nc"}));
  EXPECT_FALSE(fs::exists("/tmp/evil\n.nc"));
}

TEST_F(Strangers, ASceneOnThePageReadsOnlyWhatWasDroppedWithIt) {
  put("mine.nc", kTwoSlots);
  const auto dropped = [&](const std::string& program) {
    const std::string scene = "program = '" + program + "'\nfoam = \"pu-22\"\ncutter = \"flat-6.35-long\"\n";
    const Json head{
        {"kind", "preview"}, {"quick", true}, {"files", {{{"name", "job.toml"}, {"bytes", scene.size()}}}}};
    return post("jobs", head.dump() + "\n" + scene);
  };
  for (const std::string& elsewhere :
       {(root / "mine.nc").string(), std::string("../../../mine.nc"), std::string("a/../../mine.nc")}) {
    const auto answer = dropped(elsewhere);
    EXPECT_EQ(status(answer), 400) << elsewhere;
    EXPECT_NE(answer->body.find("names a file elsewhere"), std::string::npos) << answer->body;
  }
  const std::string scene = "program = \"my part.nc\"\nfoam = \"pu-22\"\ncutter = \"flat-6.35-long\"\n";
  const Json head{{"kind", "preview"},
                  {"quick", true},
                  {"files",
                   {{{"name", "my part.nc"}, {"bytes", std::string(kTwoSlots).size()}},
                    {{"name", "job.toml"}, {"bytes", scene.size()}}}}};
  const std::string id = ask(head.dump() + "\n" + kTwoSlots + scene);
  EXPECT_TRUE(until([&] { return !result(id).is_null() || job(id)["state"] == "failed"; }));
  EXPECT_EQ(result(id)["label"], "job.toml") << job(id);
}
