// A headless Chromium driven through its own protocol over a pipe: no port that another program could use.
#pragma once

#include <gtest/gtest.h>

#include <chrono>
#include <csignal>
#include <cstdlib>
#include <fcntl.h>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <poll.h>
#include <string>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <thread>
#include <unistd.h>

namespace snagmap::testing {

class Browser {
public:
  using Json = nlohmann::json;

  explicit Browser(const std::filesystem::path& profile, int width = 1400, int height = 900) {
    int to[2], from[2];
    if (pipe2(to, O_CLOEXEC) != 0 || pipe2(from, O_CLOEXEC) != 0)
      return;
    const std::string folder = "--user-data-dir=" + profile.string(),
                      window = "--window-size=" + std::to_string(width) + "," + std::to_string(height);
    process_ = fork();
    if (process_ == 0) {
      prctl(PR_SET_PDEATHSIG, SIGKILL);
      const int read_end = fcntl(to[0], F_DUPFD, 10), write_end = fcntl(from[1], F_DUPFD, 10);
      dup2(read_end, 3), dup2(write_end, 4);
      const int nowhere = open("/dev/null", O_RDWR);
      dup2(nowhere, 0), dup2(nowhere, 1), dup2(nowhere, 2);
      execlp("chromium", "chromium", "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic",
             "--no-first-run", "--disable-background-networking", "--disable-component-update",
             "--disable-sync", "--remote-debugging-pipe", folder.c_str(), window.c_str(), "about:blank",
             nullptr);
      _exit(127);
    }
    close(to[0]), close(from[1]);
    to_ = to[1], from_ = from[0];
  }
  ~Browser() {
    if (to_ >= 0 && process_ > 0) {
      call("Browser.close");
      kill(process_, SIGKILL);
      waitpid(process_, nullptr, 0);
    }
    close(to_), close(from_);
  }
  Browser(const Browser&) = delete;
  Browser& operator=(const Browser&) = delete;

  static bool installed() { return std::system("command -v chromium >/dev/null") == 0; }

  /// A tab at an address; its name for the other calls.
  std::string tab(const std::string& address) {
    const std::string target = call("Target.createTarget", {{"url", "about:blank"}}).value("targetId", "");
    const std::string session =
        call("Target.attachToTarget", {{"targetId", target}, {"flatten", true}}).value("sessionId", "");
    call("Page.enable", {}, session), call("Runtime.enable", {}, session);
    go(session, address);
    return session;
  }
  void go(const std::string& session, const std::string& address) {
    call("Page.navigate", {{"url", address}}, session);
    wait(session, "document.readyState === 'complete' && location.href !== 'about:blank'");
  }
  /// The value of an expression in the tab, a promise's once it is kept.
  Json eval(const std::string& session, const std::string& expression) {
    const Json answer =
        call("Runtime.evaluate",
             {{"expression", expression}, {"awaitPromise", true}, {"returnByValue", true}}, session);
    if (answer.contains("exceptionDetails"))
      return "threw: " + answer["exceptionDetails"].dump();
    return answer.contains("result") ? answer["result"].value("value", Json()) : Json();
  }
  /// Until the expression holds; false after so many seconds, which is a failure and no measurement.
  bool wait(const std::string& session, const std::string& expression, int seconds = 120) {
    const auto end = std::chrono::steady_clock::now() + std::chrono::seconds(seconds);
    while (eval(session, "!!(" + expression + ")") != Json(true)) {
      if (std::chrono::steady_clock::now() > end)
        return false;
      std::this_thread::sleep_for(std::chrono::milliseconds(50));
    }
    return true;
  }
  /// PNG in base64.
  std::string screenshot(const std::string& session) {
    return call("Page.captureScreenshot", {{"captureBeyondViewport", true}}, session).value("data", "");
  }
  Json call(const std::string& method, const Json& params = Json::object(), const std::string& session = "") {
    Json message{{"id", ++last_}, {"method", method}, {"params", params.is_null() ? Json::object() : params}};
    if (!session.empty())
      message["sessionId"] = session;
    const std::string text = message.dump() + '\0';
    if (write(to_, text.data(), text.size()) != static_cast<ssize_t>(text.size()))
      return Json::object();
    for (;;) {
      const std::size_t end = heard_.find('\0');
      if (end == std::string::npos) {
        char bytes[1 << 16];
        pollfd waited{from_, POLLIN, 0};
        if (poll(&waited, 1, 120'000) <= 0)
          return Json::object();
        const ssize_t n = read(from_, bytes, sizeof bytes);
        if (n <= 0)
          return Json::object();
        heard_.append(bytes, static_cast<std::size_t>(n));
        continue;
      }
      const Json answer = Json::parse(heard_.substr(0, end), nullptr, false);
      heard_.erase(0, end + 1);
      if (answer.is_object() && answer.value("id", -1) == last_)
        return answer.value("result", Json::object());
      if (answer.is_object() && answer.value("method", "") == "Runtime.exceptionThrown")
        errors.push_back(answer["params"].dump());
      if (answer.is_object() && answer.value("method", "") == "Page.javascriptDialogOpening")
        write_only("Page.handleJavaScriptDialog", {{"accept", true}}, answer.value("sessionId", ""));
    }
  }

  std::vector<std::string> errors; ///< that scripts of the tabs threw

private:
  void write_only(const std::string& method, const Json& params, const std::string& session) {
    const std::string text =
        Json{{"id", 1'000'000 + last_}, {"method", method}, {"params", params}, {"sessionId", session}}
            .dump() +
        '\0';
    if (write(to_, text.data(), text.size()) < 0)
      heard_.clear();
  }
  pid_t process_ = -1;
  int to_ = -1, from_ = -1, last_ = 0;
  std::string heard_;
};

} // namespace snagmap::testing
