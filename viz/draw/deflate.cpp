#include "viz/draw/deflate.hpp"

#include <new>
#include <zlib.h>

namespace snagmap {

std::vector<std::uint8_t> deflated(const std::vector<std::uint8_t>& bytes) {
  std::vector<std::uint8_t> out(compressBound(bytes.size()));
  uLongf size = out.size();
  if (compress2(out.data(), &size, bytes.data(), bytes.size(), Z_BEST_COMPRESSION) != Z_OK)
    throw std::bad_alloc(); // the only way it fails when the room is large enough
  out.resize(size);
  return out;
}

} // namespace snagmap
