#include "tests/bench/page/parts.hpp"

#include "tests/bench/measure.hpp"

#include <httplib.h>
#include <nlohmann/json.hpp>

#include <atomic>
#include <csignal>
#include <cstdlib>
#include <fcntl.h>
#include <filesystem>
#include <sstream>
#include <sys/wait.h>
#include <thread>
#include <unistd.h>

namespace snagmap::bench {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;

constexpr int kClients = 20, kEach = 5;

std::string slurp(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

/// Two slots whose wall is of another thickness for each of a client's jobs.
std::string program_of(int which) {
  return "G21 G90 G17\nS18000 M3\nG0 Z5\nG0 X0 Y0\nG1 Z-10 F600\nG1 X80 F3000\nG0 Z5\nG0 X0 Y" +
         std::to_string(11 + 2 * which) + "\nG1 Z-10 F600\nG1 X80 F3000\nG0 Z5\nM30\n";
}

struct Page {
  pid_t process = -1;
  int port = 0;
  std::string path, token;

  httplib::Headers headers() const {
    return {{"X-Snagmap-Token", token}, {"Origin", "http://127.0.0.1:" + std::to_string(port)}};
  }
};

Page served(const fs::path& root) {
  Page page;
  page.process = fork();
  if (page.process == 0) {
    const int out = open((root / "out.txt").c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
    dup2(out, STDOUT_FILENO);
    execl(SNAGMAP_BINARY, "snagmap", "serve", (root / "jobs").c_str(), nullptr);
    _exit(127);
  }
  std::string said;
  while ((said = slurp(root / "out.txt")).find("Ctrl-C") == std::string::npos)
    std::this_thread::sleep_for(std::chrono::milliseconds(10));
  const std::size_t at = said.find("127.0.0.1:") + 10, slash = said.find('/', at),
                    ask = said.find("?token=", slash);
  page.port = std::atoi(said.c_str() + at);
  page.path = said.substr(slash, ask - slash), page.token = said.substr(ask + 7, 32);
  return page;
}

std::string asked(const Page& page, int which) {
  const std::string program = program_of(which);
  const Json head{{"kind", "preview"},
                  {"quick", true},
                  {"files", {{{"name", "part.nc"}, {"bytes", program.size()}}}},
                  {"foam", "soft grey sponge"},
                  {"cutters", {{{"tool", 0}, {"cutter", "flat-6.35-long"}}}}};
  httplib::Client client("127.0.0.1", page.port);
  client.set_read_timeout(60);
  const auto answer = client.Post((page.path + "jobs").c_str(), page.headers(), head.dump() + "\n" + program,
                                  "application/octet-stream");
  return answer && answer->status == 200 ? Json::parse(answer->body).value("id", "") : "";
}

double server_peak_MB(pid_t process) {
  std::ifstream status("/proc/" + std::to_string(process) + "/status");
  for (std::string word; status >> word;)
    if (word == "VmHWM:") {
      double kB = 0;
      status >> kB;
      return kB / 1024;
    }
  return 0;
}

} // namespace

void queue_goals() {
  std::string name = (fs::temp_directory_path() / "snagmap-queue-XXXXXX").string();
  const fs::path root = mkdtemp(name.data());
  const Page page = served(root);
  std::vector<std::string> ids(kClients * kEach);
  std::vector<double> answers_s;
  std::atomic<bool> done{false};
  std::thread watch([&] {
    while (!done) {
      httplib::Client client("127.0.0.1", page.port);
      bool right = false;
      const double s = timed([&] {
        const auto answer = client.Get((page.path + "state").c_str(), page.headers());
        right = answer && answer->status == 200;
      });
      answers_s.push_back(right ? s : 1e9);
      std::this_thread::sleep_for(std::chrono::milliseconds(50));
    }
  });
  const double took_s = timed([&] {
    std::vector<std::thread> clients;
    for (int c = 0; c < kClients; ++c)
      clients.emplace_back([&, c] {
        for (int k = 0; k < kEach; ++k)
          ids[static_cast<std::size_t>(c * kEach + k)] = asked(page, k);
      });
    for (std::thread& client : clients)
      client.join();
    for (const std::string& id : ids)
      while (!id.empty() && !fs::exists(root / "jobs" / ".snagmap-page" / id / "ended.json"))
        std::this_thread::sleep_for(std::chrono::milliseconds(20));
  });
  done = true;
  watch.join();
  const double peak = server_peak_MB(page.process);
  kill(page.process, SIGTERM);
  waitpid(page.process, nullptr, 0);
  // What the command line says of the same scenes.
  std::vector<std::string> truth;
  for (int k = 0; k < kEach; ++k) {
    const fs::path out = root / ("truth-" + std::to_string(k));
    const std::string scene =
        (root / "jobs/.snagmap-page" / ids[static_cast<std::size_t>(k)] / "scene.toml").string();
    if (std::system(("'" SNAGMAP_BINARY "' preview '" + scene + "' --quick --quiet --out '" + out.string() +
                     "' >/dev/null 2>&1")
                        .c_str()) < 0)
      return;
    truth.push_back(slurp(out / "result.json"));
  }
  int right = 0;
  for (int i = 0; i < kClients * kEach; ++i) {
    std::string made = slurp(root / "jobs" / ids[static_cast<std::size_t>(i)] / "result.json");
    // Only the scene's own place differs between jobs.
    for (std::size_t at; (at = made.find("/" + ids[static_cast<std::size_t>(i)] + "/")) != std::string::npos;)
      made.replace(at, ids[static_cast<std::size_t>(i)].size() + 2,
                   "/" + ids[static_cast<std::size_t>(i % kEach)] + "//");
    std::string wanted = truth[static_cast<std::size_t>(i % kEach)];
    const std::string own = "/" + ids[static_cast<std::size_t>(i % kEach)] + "/";
    for (std::size_t at = 0; (at = wanted.find(own, at)) != std::string::npos; at += own.size() + 1)
      wanted.replace(at, own.size(), own + "/");
    right += !made.empty() && made == wanted;
  }
  std::sort(answers_s.begin(), answers_s.end());
  const auto at = [&](double share) {
    return 1e3 * answers_s[static_cast<std::size_t>(share * static_cast<double>(answers_s.size() - 1))];
  };
  std::printf("%d previews by %d clients in %.1f s; %zu answers of the page meanwhile: median %.1f ms, 95 %% "
              "%.1f ms, "
              "longest %.1f ms; the server's peak %.0f MB\n",
              kClients * kEach, kClients, took_s, answers_s.size(), at(0.5), at(0.95), at(1), peak);
  goal("queue_100_right", right, kClients * kEach, false);
  goal("page_answer_95_ms", at(0.95), 100, true);
  fs::remove_all(root);
}

} // namespace snagmap::bench
