// Who may ask: one wrong line of a request's head is enough to be refused.
#include "viz/serve/guard.hpp"
#include "viz/serve/secret.hpp"

#include <gtest/gtest.h>

#include <set>

using namespace snagmap;

namespace {

const Guard kGuard{"127.0.0.1", 8100, "path00", "token0"};

Asking right(const std::string& method = "GET") {
  Asking asking;
  asking.method = method, asking.path = "/path00/state", asking.host = "127.0.0.1:8100";
  asking.cookie = "other=1; snagmap=token0";
  if (method == "POST") {
    asking.origin = "http://127.0.0.1:8100", asking.content_type = "application/octet-stream";
    asking.content_length = "10";
  }
  return asking;
}

int status(const Asking& asking, const Guard& guard = kGuard) {
  const auto refusal = guard.refusal(asking);
  return refusal ? refusal->status : 0;
}

template <class Change> int with(const std::string& method, Change change) {
  Asking asking = right(method);
  change(asking);
  return status(asking);
}

} // namespace

TEST(Guard, ARightRequestGoesOn) {
  EXPECT_EQ(status(right("GET")), 0);
  EXPECT_EQ(status(right("POST")), 0);
  EXPECT_EQ(with("GET", [](Asking& a) { a.cookie = "", a.token = "token0"; }), 0);
  EXPECT_EQ(with("GET", [](Asking& a) { a.host = "localhost:8100"; }), 0);
}

TEST(Guard, ANameThatIsTurnedToThisMachineIsRefused) { // DNS rebinding: the name stays in Host
  for (const char* host : {"evil.example:8100", "127.0.0.1.evil.example:8100", "127.0.0.1:8101", "127.0.0.1",
                           "", ":8100", "127.0.0.1:8100:8100", "[::1:8100", "0.0.0.0:8100"})
    EXPECT_EQ(with("GET", [&](Asking& a) { a.host = host; }), 403) << host;
}

TEST(Guard, AnotherPageIsRefusedEvenWithTheToken) {
  for (const char* method : {"GET", "POST"}) {
    for (const char* origin :
         {"http://evil.example", "null", "http://127.0.0.1:8101", "https://127.0.0.1:8100",
          "http://localhost:8100", "http://127.0.0.1:8100.evil.example"})
      EXPECT_EQ(with(method, [&](Asking& a) { a.origin = origin; }), 403) << origin;
    for (const char* site : {"cross-site", "same-site"}) // Fetch Metadata: another port is the same site
      EXPECT_EQ(with(method, [&](Asking& a) { a.fetch_site = site; }), 403) << site;
  }
  EXPECT_EQ(with("POST", [](Asking& a) { a.origin = ""; }), 403);
}

TEST(Guard, WithoutTheTokenOrThePathNothingIsTold) {
  for (const char* cookie :
       {"", "snagmap=", "snagmap=token1", "snagmap=token00", "xsnagmap=token0", "snagmap2=token0"})
    EXPECT_EQ(with("GET", [&](Asking& a) { a.cookie = cookie; }), 403) << cookie;
  for (const char* path : {"/", "/state", "/path01/state", "/path00", "/path0"})
    EXPECT_EQ(with("GET", [&](Asking& a) { a.path = path; }), 404) << path;
  EXPECT_EQ(with("GET", [](Asking& a) { a.cookie = "", a.query_token = "token0"; }), 403)
      << "the token in an address opens the first page alone";
  EXPECT_EQ(with("GET", [](Asking& a) { a.cookie = "", a.query_token = "token0", a.path = "/path00/"; }), 0);
  EXPECT_EQ(with("GET", [](Asking& a) { a.cookie = "", a.query_token = "token1", a.path = "/path00/"; }),
            403);
}

TEST(Guard, ABodyOfUnknownOrTooGreatLengthIsRefusedBeforeItIsRead) {
  EXPECT_EQ(with("POST", [](Asking& a) { a.content_length = "67108865"; }), 413); // 64 MB and one
  EXPECT_EQ(with("POST", [](Asking& a) { a.content_length = "67108864"; }), 0);
  for (const char* length : {"", "-1", "+5", "twice", "18446744073709551617"})
    EXPECT_EQ(with("POST", [&](Asking& a) { a.content_length = length; }), 411) << length;
  EXPECT_EQ(with("POST", [](Asking& a) { a.transfer_encoding = "chunked"; }), 411);
  EXPECT_EQ(with("POST", [](Asking& a) { a.content_encoding = "gzip"; }), 415);
  // What a form or a script without asking beforehand can send (Fetch, CORS-safelisted request-header).
  for (const char* type :
       {"", "text/plain", "multipart/form-data; boundary=x", "application/x-www-form-urlencoded"})
    EXPECT_EQ(with("POST", [&](Asking& a) { a.content_type = type; }), 415) << type;
  EXPECT_EQ(with("GET", [](Asking& a) { a.content_length = "5"; }), 400);
  for (const char* method : {"PUT", "DELETE", "OPTIONS", "PATCH", "TRACE"})
    EXPECT_EQ(with("POST", [&](Asking& a) { a.method = method; }), 405) << method;
}

TEST(Guard, ListeningToAllTakesAddressesInDigitsAndNoNames) {
  const Guard all{"0.0.0.0", 8100, "path00", "token0"};
  Asking asking = right();
  asking.host = "192.168.1.20:8100";
  EXPECT_EQ(status(asking, all), 0);
  EXPECT_EQ(status(asking), 403) << "of this machine alone";
  asking.host = "router.example:8100";
  EXPECT_EQ(status(asking, all), 403);
}

TEST(Guard, SecretsAreOf128BitsAndNeverTheSame) {
  std::set<std::string> seen;
  for (int i = 0; i < 1000; ++i)
    seen.insert(random_secret());
  EXPECT_EQ(seen.size(), 1000u);
  for (const std::string& one : seen)
    ASSERT_TRUE(one.size() == 32 && one.find_first_not_of("0123456789abcdef") == std::string::npos) << one;
  EXPECT_TRUE(same_secret("abc", "abc"));
  EXPECT_FALSE(same_secret("abc", "abd") || same_secret("abc", "ab") || same_secret("", "a"));
}

TEST(Guard, TheCookieIsForThisPathAndNoScript) {
  EXPECT_EQ(kGuard.cookie(), "snagmap=token0; Path=/path00/; HttpOnly; SameSite=Strict");
}
