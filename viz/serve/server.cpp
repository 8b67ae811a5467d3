#include "viz/serve/server.hpp"

#include "viz/jobs/drop.hpp"
#include "viz/serve/answers.hpp"
#include "viz/serve/file_answer.hpp"
#include "viz/serve/pages.hpp"
#include "viz/serve/secret.hpp"

#include <httplib.h>

#include <sys/socket.h>
#include <thread>

namespace snagmap {
namespace {

using httplib::Request, httplib::Response, httplib::Server;

/// Threads that answer: a slow or silent caller holds one for five seconds.
constexpr std::size_t kThreads = 32;

constexpr const char* kPagePolicy =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "frame-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

void answer(Response& to, std::string_view text, const char* type) {
  safe_headers(to, kPagePolicy);
  to.set_header("Cross-Origin-Opener-Policy",
                "same-origin"); // a sandboxed file with it would not open at all
  to.set_content(text.data(), text.size(), type);
}

void answer_json(Response& to, const std::string& text, int status = 200) {
  to.status = status;
  answer(to, text, "application/json");
}

void refuse(Response& to, int status, const std::string& why) {
  to.status = status;
  // The connection ends with it: what may still come is never taken for a request.
  answer(to, why + "\n", "text/plain; charset=utf-8");
}

Asking asking_of(const Request& from) {
  const auto line = [&from](const char* name) {
    // A line given twice is no browser's: it is refused by being empty or wrong.
    return from.get_header_value_count(name) > 1 ? std::string("twice") : from.get_header_value(name);
  };
  return {from.method,
          from.path,
          line("Host"),
          line("Origin"),
          line("Sec-Fetch-Site"),
          line("Cookie"),
          line("X-Snagmap-Token"),
          from.get_param_value("token"),
          line("Content-Type"),
          line("Content-Length"),
          line("Content-Encoding"),
          line("Transfer-Encoding")};
}

} // namespace

struct PageServer::Http {
  Server server;
  int socket = -1;
};

PageServer::PageServer(ServedFolder& folder, JobLine& line)
    : folder_(folder), line_(line), http_(std::make_unique<Http>()) {}
PageServer::~PageServer() = default;

Outcome<std::unique_ptr<PageServer>> PageServer::open(ServedFolder& folder, JobLine& line,
                                                      const std::string& address, int port) {
  std::unique_ptr<PageServer> page(new PageServer(folder, line));
  Server& server = page->http_->server;
  server.new_task_queue = [] { return new httplib::ThreadPool(kThreads); };
  server.set_keep_alive_max_count(1); // one request a connection: none can hide behind another
  server.set_payload_max_length(kMostDropped_bytes);
  server.set_socket_options([&page](int socket) { // not shared: the library's own would let others listen too
    const int yes = 1;
    setsockopt(socket, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
    page->http_->socket = socket;
  });
  const int taken = port == 0                            ? server.bind_to_any_port(address)
                    : server.bind_to_port(address, port) ? port
                                                         : -1;
  if (taken <= 0)
    return Fault("cannot listen at " + address + (port ? ":" + std::to_string(port) : ""),
                 "name another port with --port, or an address of this machine with --listen");
  ::listen(page->http_->socket, 128); // the library's five is short for many tabs
  page->guard_ = {address, taken, random_secret(), random_secret()};
  page->routes();
  return page;
}

void PageServer::routes() {
  Server& server = http_->server;
  const std::string at = "/" + guard_.path_secret;
  server.set_pre_routing_handler([this](const Request& from, Response& to) {
    const auto refusal = guard_.refusal(asking_of(from));
    if (!refusal)
      return Server::HandlerResponse::Unhandled;
    refuse(to, refusal->status, refusal->why);
    return Server::HandlerResponse::Handled;
  });
  server.set_error_handler([](const Request&, Response& to) {
    if (to.body.empty())
      refuse(to, to.status, to.status == 404 ? "nothing is here" : "this cannot be answered");
  });
  server.set_exception_handler(
      [](const Request&, Response& to, std::exception_ptr) { refuse(to, 500, "this cannot be answered"); });

  server.Get(at + "/", [this](const Request& from, Response& to) {
    if (!guard_.enters(asking_of(from)))
      return answer(to, kPageHtml, "text/html; charset=utf-8");
    // From here on the token is in no address any more.
    to.set_header("Set-Cookie", guard_.cookie());
    to.set_header("Location", guard_.prefix());
    refuse(to, 303, "go on");
  });
  server.Get(at + "/page.css",
             [](const Request&, Response& to) { answer(to, kPageStyle, "text/css; charset=utf-8"); });
  server.Get(at + "/page.js",
             [](const Request&, Response& to) { answer(to, kPageScript, "text/javascript; charset=utf-8"); });
  server.Get(at + "/cards", [this](const Request&, Response& to) { answer_json(to, cards_answer(folder_)); });
  server.Get(at + "/state",
             [this](const Request&, Response& to) { answer_json(to, state_answer(folder_, line_)); });

  server.Post(at + "/jobs", [this](const Request& from, Response& to) {
    Outcome<PreparedJob> made = prepare_job(folder_, from.body);
    if (!made)
      return answer_json(to, fault_answer(made.faults()), 400);
    const Outcome<std::string> id = line_.add(std::move(made->job), made->files);
    if (!id)
      return answer_json(to, fault_answer(id.faults()), 503);
    answer_json(to, "{\"id\": \"" + *id + "\"}");
  });
  server.Post(at + "/jobs/(job-[0-9]+)/cancel", [this](const Request& from, Response& to) {
    answer_json(to, "{}", line_.cancel(from.matches[1]) ? 200 : 409);
  });
  server.Post(at + "/jobs/(job-[0-9]+)/forget", [this](const Request& from, Response& to) {
    const std::string id = from.matches[1];
    answer_json(to, "{}", !result_named(folder_.path(), id) && line_.forget(id) ? 200 : 409);
  });
  server.Get(at + "/results/([^/]+)/walls", [this](const Request& from, Response& to) {
    const auto result = result_named(folder_.path(), from.matches[1]);
    if (!result)
      return refuse(to, 404, "nothing is here");
    const Outcome<std::string> walls = piece_answer(folder_, *result);
    answer_json(to, walls ? *walls : fault_answer(walls.faults()), walls ? 200 : 404);
  });
  server.Get(at + "/results/([^/]+)/files/(.+)", [this](const Request& from, Response& to) {
    const auto result = result_named(folder_.path(), from.matches[1]);
    const auto file = result ? listed_file(folder_.path(), *result, from.matches[2]) : std::nullopt;
    if (!file || !answer_file(*file, from.has_param("save"), to))
      refuse(to, 404, "nothing is here");
  });
  server.Post(at + "/results/([^/]+)/delete", [this](const Request& from, Response& to) {
    const auto result = result_named(folder_.path(), from.matches[1]);
    if (!result)
      return refuse(to, 404, "nothing is here");
    const auto stays = delete_result(folder_.path(), *result);
    if (!stays)
      return answer_json(to, fault_answer(stays.faults()), 409);
    if (is_job_id(result->name))
      line_.forget(result->name);
    answer_json(to, stays_answer(*stays));
  });
}

void PageServer::run(const std::function<bool()>& go_on) {
  std::thread answers([this] { http_->server.listen_after_bind(); });
  while (go_on())
    std::this_thread::sleep_for(std::chrono::milliseconds(100));
  http_->server.stop();
  answers.join();
}

} // namespace snagmap
