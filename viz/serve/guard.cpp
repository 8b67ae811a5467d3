#include "viz/serve/guard.hpp"

#include "viz/jobs/drop.hpp"
#include "viz/serve/secret.hpp"

#include <algorithm>
#include <arpa/inet.h>
#include <netinet/in.h>

namespace snagmap {
namespace {

constexpr const char* kCookie = "snagmap";

/// The cookie's value in "a=b; snagmap=VALUE"; the first of that name counts.
std::string cookie_value(const std::string& line) {
  const std::string name = std::string(kCookie) + "=";
  for (std::size_t at = 0; at < line.size();) {
    const std::size_t end = std::min(line.find(';', at), line.size());
    if (line.compare(at, name.size(), name) == 0)
      return line.substr(at + name.size(), end - at - name.size());
    at = line.find_first_not_of("; ", end);
  }
  return "";
}

bool starts_with(const std::string& text, const std::string& what) {
  return text.compare(0, what.size(), what) == 0;
}

std::optional<Refused> body_refusal(const Asking& asking) {
  if (!asking.transfer_encoding.empty())
    return Refused{411, "a body needs its length beforehand"};
  if (!asking.content_encoding.empty())
    return Refused{415, "a packed body is not taken"};
  const std::string& length = asking.content_length;
  if (asking.method == "GET" || asking.method == "HEAD")
    return length.empty() || length == "0" ? std::nullopt
                                           : std::optional(Refused{400, "no body belongs here"});
  if (length.empty() || length.size() > 12 || length.find_first_not_of("0123456789") != std::string::npos)
    return Refused{411, "a body needs its length beforehand"};
  if (std::stoull(length) > kMostDropped_bytes)
    return Refused{413, "more than 64 MB at once is not taken"};
  // Both make a browser ask beforehand when another page would send them.
  if (asking.content_type != "application/octet-stream" && asking.content_type != "application/json")
    return Refused{415, "the body is not of the page's kind"};
  return {};
}

} // namespace

bool is_numeric_address(const std::string& text) {
  in6_addr bytes; // large enough for both
  return inet_pton(AF_INET, text.c_str(), &bytes) == 1 || inet_pton(AF_INET6, text.c_str(), &bytes) == 1;
}

bool Guard::host_is_ours(const std::string& host) const {
  const std::string end = ":" + std::to_string(port);
  if (host.size() <= end.size() || host.compare(host.size() - end.size(), end.size(), end) != 0)
    return false;
  std::string name = host.substr(0, host.size() - end.size());
  if (name == "127.0.0.1" || name == "localhost" || name == "[::1]")
    return true;
  if (name.size() > 2 && name.front() == '[' && name.back() == ']')
    name = name.substr(1, name.size() - 2);
  // Rebinding turns a name; digits stay what they are.
  return name == address || ((address == "0.0.0.0" || address == "::") && is_numeric_address(name));
}

std::optional<Refused> Guard::refusal(const Asking& asking) const {
  if (!host_is_ours(asking.host))
    return Refused{403, "this page has another address"};
  const bool reads = asking.method == "GET" || asking.method == "HEAD";
  if (!reads && asking.method != "POST")
    return Refused{405, "the page asks by GET and POST alone"};
  if (!asking.origin.empty() && asking.origin != "http://" + asking.host)
    return Refused{403, "another page asked"};
  if (!reads && asking.origin.empty())
    return Refused{403, "who asks must be said (Origin)"};
  if (!asking.fetch_site.empty() && asking.fetch_site != "same-origin" && asking.fetch_site != "none")
    return Refused{403, "another page asked"};
  if (!starts_with(asking.path, prefix()))
    return Refused{404, "nothing is here"};
  const std::string given = asking.token.empty() ? cookie_value(asking.cookie) : asking.token;
  if (!enters(asking) && !same_secret(given, token))
    return Refused{403, "open the address that `snagmap serve` printed"};
  return body_refusal(asking);
}

bool Guard::enters(const Asking& asking) const {
  return asking.method == "GET" && asking.path == prefix() && same_secret(asking.query_token, token);
}

std::string Guard::cookie() const {
  return std::string(kCookie) + "=" + token + "; Path=" + prefix() + "; HttpOnly; SameSite=Strict";
}

std::string Guard::first_address() const {
  const std::string shown = address == "0.0.0.0" || address == "::" ? "127.0.0.1" : address;
  const bool six = shown.find(':') != std::string::npos;
  return "http://" + (six ? "[" + shown + "]" : shown) + ":" + std::to_string(port) + prefix() +
         "?token=" + token;
}

} // namespace snagmap
