// Who may ask: every request is held against this before anything of it is read but its head.
#pragma once

#include <optional>
#include <string>

namespace snagmap {

/// The head of a request; texts are empty when it has no such line.
struct Asking {
  std::string method, path, host, origin, fetch_site, cookie, token, query_token;
  std::string content_type, content_length, content_encoding, transfer_encoding;
};

struct Refused {
  int status = 0;
  std::string why;
};

/// The address has two secrets. The path's is in every address of the page; the token only in the first one
/// and then in a cookie for that path: a cookie goes to every port of a host, so another server there, whose
/// page somebody opens, would get it if its path could be guessed; and a script in a served file, which sees
/// its own address, cannot read the cookie.
struct Guard {
  std::string address; ///< that is listened at
  int port = 0;
  std::string path_secret, token;

  /// Nothing when the request may go on. Rebinding: Host must be the loopback's names or the address listened
  /// at with the port. Another page: Origin, where a browser sends it, must be this one, and what changes
  /// anything must have it; Sec-Fetch-Site must not say that another page asked. A body needs its length
  /// beforehand, and neither pieces nor packing.
  std::optional<Refused> refusal(const Asking& asking) const;
  bool enters(const Asking& asking) const; ///< the first address, with its token
  std::string cookie() const;
  std::string first_address() const; ///< what the command prints
  std::string prefix() const { return "/" + path_secret + "/"; }
  bool host_is_ours(const std::string& host) const;
};

/// An IPv4 or IPv6 address in digits, without brackets.
bool is_numeric_address(const std::string& text);

} // namespace snagmap
