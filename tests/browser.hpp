// A headless Chromium driven by its own protocol (DevTools, JSON parted by zero bytes) over two pipes: no
// port is open and no client library needed. Draws by software, as a machine without a graphics card does.
#pragma once

#include <nlohmann/json.hpp>

#include <cerrno>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <poll.h>
#include <stdexcept>
#include <string>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <system_error>
#include <unistd.h>
#include <vector>

namespace snagmap {

/// Removes a browser's folder: its processes write for a moment after it was killed.
inline void clear_away(const std::filesystem::path& folder) {
  std::error_code error;
  for (int n = 0;
       n < 50 && (std::filesystem::remove_all(folder, error), std::filesystem::exists(folder, error)); ++n)
    usleep(100'000);
}

class Browser {
public:
  using Json = nlohmann::json;

  static bool installed() { return std::system("command -v chromium >/dev/null") == 0; }

  /// `more`: further options, such as "--disable-webgl". The profile lies in `folder`.
  explicit Browser(const std::filesystem::path& folder, const std::vector<std::string>& more = {}) {
    std::vector<std::string> words{"chromium",
                                   "--headless",
                                   "--no-sandbox",
                                   "--remote-debugging-pipe",
                                   "--no-first-run",
                                   "--disable-background-networking",
                                   "--disable-component-update",
                                   "--disable-sync",
                                   "--use-gl=angle",
                                   "--use-angle=swiftshader",
                                   "--enable-unsafe-swiftshader",
                                   "--user-data-dir=" + folder.string()};
    words.insert(words.end(), more.begin(), more.end());
    int to[2], from[2];
    if (pipe(to) != 0 || pipe(from) != 0)
      throw std::runtime_error("no pipes for the browser");
    child_ = fork();
    if (child_ == 0) {
      prctl(PR_SET_PDEATHSIG, SIGKILL); // a test that is killed leaves none behind
      // It reads commands from 3 and answers on 4; the ends are moved out of the way first.
      const int in = fcntl_copy(to[0]), out = fcntl_copy(from[1]);
      dup2(in, 3), dup2(out, 4);
      if (std::freopen("/dev/null", "w", stderr) == nullptr)
        _exit(126);
      std::vector<char*> arguments;
      for (std::string& word : words)
        arguments.push_back(word.data());
      arguments.push_back(nullptr);
      execvp("chromium", arguments.data());
      _exit(127);
    }
    close(to[0]), close(from[1]);
    to_ = to[1], from_ = from[0];
    const Json target = call("Target.createTarget", {{"url", "about:blank"}}).at("targetId");
    session_ = call("Target.attachToTarget", {{"targetId", target}, {"flatten", true}})
                   .at("sessionId")
                   .get<std::string>();
    for (const char* domain : {"Page", "Runtime", "Network", "Log"})
      call(std::string(domain) + ".enable");
  }
  ~Browser() {
    close(to_), close(from_);
    kill(child_, SIGKILL); // its own children end with it
    waitpid(child_, nullptr, 0);
  }
  Browser(const Browser&) = delete;
  Browser& operator=(const Browser&) = delete;

  /// Sends a command and waits for its answer; what the browser tells meanwhile is kept in `told`.
  Json call(const std::string& method, Json parameters = Json::object()) {
    Json message{{"id", ++last_}, {"method", method}, {"params", std::move(parameters)}};
    if (!session_.empty())
      message["sessionId"] = session_;
    std::string bytes = message.dump();
    bytes.push_back('\0');
    for (std::size_t sent = 0; sent < bytes.size();) {
      const ssize_t n = write(to_, bytes.data() + sent, bytes.size() - sent);
      if (n <= 0)
        throw std::runtime_error("the browser does not listen");
      sent += static_cast<std::size_t>(n);
    }
    for (;;) {
      Json answer = next();
      if (answer.value("id", 0) != last_)
        told.push_back(std::move(answer));
      else if (answer.contains("error"))
        throw std::runtime_error(method + ": " + answer["error"].dump());
      else
        return answer["result"];
    }
  }

  /// The value of an expression in the page; waits when it is a promise.
  Json value(const std::string& expression) {
    const Json answer = call("Runtime.evaluate",
                             {{"expression", expression}, {"awaitPromise", true}, {"returnByValue", true}});
    if (answer.contains("exceptionDetails"))
      throw std::runtime_error(answer["exceptionDetails"].dump());
    return answer["result"].value("value", Json());
  }
  /// Waits until an expression is true; false after about half a minute.
  bool wait_for(const std::string& expression) {
    return value("new Promise(r=>{let n=0;(function f(){(" + expression +
                 ")?r(true):++n>600?r(false):setTimeout(f,50)})()})");
  }
  void open(const std::string& url) { call("Page.navigate", {{"url", url}}); }
  void resize(int width, int height) {
    call("Emulation.setDeviceMetricsOverride",
         {{"width", width}, {"height", height}, {"deviceScaleFactor", 1}, {"mobile", false}});
  }
  void press(const std::string& key, int code, int modifiers = 0) {
    for (const char* type : {"rawKeyDown", "keyUp"})
      call("Input.dispatchKeyEvent", {{"type", type},
                                      {"key", key},
                                      {"code", key},
                                      {"windowsVirtualKeyCode", code},
                                      {"modifiers", modifiers}});
  }
  void mouse(const std::string& type, double x, double y, bool held) {
    call("Input.dispatchMouseEvent", {{"type", type},
                                      {"x", x},
                                      {"y", y},
                                      {"button", "left"},
                                      {"buttons", held ? 1 : 0},
                                      {"clickCount", 1}});
  }

  std::vector<Json> told; ///< events, in their order

private:
  static int fcntl_copy(int fd) {
    int copy = dup(fd);
    while (copy >= 0 && copy < 5)
      copy = dup(copy);
    return copy;
  }
  Json next() {
    for (;;) {
      if (const std::size_t end = got_.find('\0'); end != std::string::npos) {
        Json message = Json::parse(got_.substr(0, end));
        got_.erase(0, end + 1);
        return message;
      }
      pollfd ready{from_, POLLIN, 0};
      char bytes[65536];
      const ssize_t n = poll(&ready, 1, 120'000) == 1 ? read(from_, bytes, sizeof bytes) : 0;
      if (n <= 0)
        throw std::runtime_error("the browser says nothing");
      got_.append(bytes, static_cast<std::size_t>(n));
    }
  }

  pid_t child_ = -1;
  int to_ = -1, from_ = -1, last_ = 0;
  std::string session_, got_;
};

} // namespace snagmap
