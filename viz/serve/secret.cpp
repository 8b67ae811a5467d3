#include "viz/serve/secret.hpp"

#include <cerrno>
#include <stdexcept>
#include <sys/random.h>

namespace snagmap {

std::string random_secret() {
  unsigned char bytes[16];
  ssize_t n;
  while ((n = getrandom(bytes, sizeof bytes, 0)) < 0 && errno == EINTR) {
  }
  if (n != static_cast<ssize_t>(sizeof bytes))
    throw std::runtime_error("the system gives no random numbers");
  constexpr char kDigits[] = "0123456789abcdef";
  std::string text;
  for (const unsigned char byte : bytes)
    text += {kDigits[byte >> 4], kDigits[byte & 15]};
  return text;
}

bool same_secret(const std::string& a, const std::string& b) {
  unsigned char differ = a.size() == b.size() ? 0 : 1;
  for (std::size_t i = 0; i < a.size() && i < b.size(); ++i)
    differ = static_cast<unsigned char>(differ | (a[i] ^ b[i]));
  return differ == 0;
}

} // namespace snagmap
