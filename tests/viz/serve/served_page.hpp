// `snagmap serve` as a process of its own, and a client that knows the address it printed.
#pragma once

#include "tests/viz/real_program.hpp"

#include <httplib.h>
#include <nlohmann/json.hpp>

#include <memory>
#include <regex>

namespace snagmap::testing {

/// Two slots, a thin wall between them: a preview of a second or two.
inline const char* kTwoSlots =
    "G21 G90 G17\nS18000 M3\nG0 Z5\nG0 X0 Y0\nG1 Z-10 F600\nG1 X80 F3000\nG0 Z5\nG0 X0 "
    "Y14.35\nG1 Z-10 F600\nG1 X80 F3000\nG0 Z5\nM30\n";
/// Slots beside slots: half a minute's work at least, to be met in the middle of it.
inline std::string long_program() {
  std::string text = "G21 G90 G17\nS18000 M3\nG0 Z5\n";
  for (int slot = 0; slot < 200; ++slot)
    for (const int z : {8, 16, 24})
      text += "G0 X0 Y" + std::to_string(12 * slot) + "\nG1 Z-" + std::to_string(z) +
              " F600\nG1 X400 F3000\nG0 Z5\n";
  return text + "M30\n";
}

class ServedPage : public RealProgram {
protected:
  using Json = nlohmann::json;

  void TearDown() override {
    end(SIGKILL);
    RealProgram::TearDown();
  }
  /// Starts the server on the folder "jobs" and reads its address.
  void serve(const std::vector<std::string>& more = {}) {
    fs::remove("out.txt");
    std::vector<std::string> words{"serve", "jobs"};
    words.insert(words.end(), more.begin(), more.end());
    server = start(words);
    ASSERT_TRUE(wait_for(server, [] { return slurp("out.txt").find("Ctrl-C") != std::string::npos; }))
        << slurp("err.txt");
    std::smatch found;
    const std::string said = slurp("out.txt");
    ASSERT_TRUE(std::regex_search(
        said, found, std::regex("http://127\\.0\\.0\\.1:([0-9]+)(/[0-9a-f]{32}/)\\?token=([0-9a-f]{32})")))
        << said;
    address = found[0], port = std::stoi(found[1]), path = found[2], token = found[3];
    client = std::make_unique<httplib::Client>("127.0.0.1", port);
    client->set_read_timeout(60);
  }
  void end(int signal) {
    if (server > 0)
      kill(server, signal), waitpid(server, nullptr, 0);
    server = -1;
  }
  std::string origin() const { return "http://127.0.0.1:" + std::to_string(port); }
  /// The head that the page's own requests have.
  httplib::Headers ours() const { return {{"X-Snagmap-Token", token}, {"Origin", origin()}}; }
  httplib::Result get(const std::string& what, const httplib::Headers& headers) {
    return client->Get((path + what).c_str(), headers);
  }
  httplib::Result get(const std::string& what) { return get(what, ours()); }
  httplib::Result post(const std::string& what, const std::string& body, const httplib::Headers& headers) {
    return client->Post((path + what).c_str(), headers, body, "application/octet-stream");
  }
  httplib::Result post(const std::string& what, const std::string& body = "") {
    return post(what, body, ours());
  }
  Json state() {
    const auto answer = get("state");
    return answer ? Json::parse(answer->body) : Json();
  }
  static std::string request(const std::string& program, const Json& more = {{"quick", true}},
                             const std::string& name = "part.nc") {
    Json head{{"kind", "preview"},
              {"files", {{{"name", name}, {"bytes", program.size()}}}},
              {"foam", "soft grey sponge"},
              {"cutters", {{{"tool", 0}, {"cutter", "6.35 x 22"}}}}};
    head.update(more);
    return head.dump() + "\n" + program;
  }
  std::string ask(const std::string& body) {
    const auto answer = post("jobs", body);
    EXPECT_TRUE(answer && answer->status == 200) << (answer ? answer->body : "no answer");
    return answer && answer->status == 200 ? Json::parse(answer->body).value("id", "") : "";
  }
  Json job(const std::string& id) {
    const Json all = state();
    for (const Json& one : all["jobs"])
      if (one["id"] == id)
        return one;
    return {};
  }
  Json result(const std::string& name) {
    const Json all = state();
    for (const Json& one : all["results"])
      if (one["name"] == name)
        return one;
    return {};
  }
  /// Waits for what must come; the test's own time limit ends it where it does not.
  template <class Seen> bool until(Seen seen) { return wait_for(server, seen); }
  /// Processes whose words hold the test's folder or whose current folder lies in it, but for the server.
  std::vector<pid_t> workers() const {
    std::vector<pid_t> found;
    std::error_code error;
    for (const auto& entry : fs::directory_iterator("/proc", error)) {
      const std::string name = entry.path().filename().string();
      if (name.find_first_not_of("0123456789") != std::string::npos)
        continue;
      const fs::path at = fs::read_symlink(entry.path() / "cwd", error);
      if (!error && at.string().find((root / "jobs").string()) == 0)
        found.push_back(std::stoi(name));
    }
    return found;
  }

  pid_t server = -1;
  int port = 0;
  std::string address, path, token;
  std::unique_ptr<httplib::Client> client;
};

} // namespace snagmap::testing
