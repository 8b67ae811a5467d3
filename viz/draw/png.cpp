#include "viz/draw/png.hpp"

#include "viz/draw/deflate.hpp"

#include <zlib.h>

#include <algorithm>

namespace snagmap {
namespace {

void put_word(std::vector<std::uint8_t>& out, std::uint32_t word) {
  for (int shift = 24; shift >= 0; shift -= 8)
    out.push_back(static_cast<std::uint8_t>(word >> shift));
}

/// Length, name, content, checksum of name and content: ISO/IEC 15948, 5.3.
void put_chunk(std::vector<std::uint8_t>& out, const char (&name)[5],
               const std::vector<std::uint8_t>& content) {
  put_word(out, static_cast<std::uint32_t>(content.size()));
  const std::size_t from = out.size();
  out.insert(out.end(), name, name + 4);
  out.insert(out.end(), content.begin(), content.end());
  put_word(out,
           static_cast<std::uint32_t>(crc32(0, out.data() + from, static_cast<unsigned>(out.size() - from))));
}

} // namespace

std::vector<std::uint8_t> png_of(const Pixels& pixels) {
  std::vector<std::uint8_t> out{0x89, 'P', 'N', 'G', '\r', '\n', 0x1a, '\n'}, head, rows;
  put_word(head, static_cast<std::uint32_t>(pixels.columns));
  put_word(head, static_cast<std::uint32_t>(pixels.rows));
  head.insert(head.end(), {8, 2, 0, 0, 0}); // bits a channel, RGB, deflate, filters by row, not interlaced
  put_chunk(out, "IHDR", head);
  const std::size_t row = 3u * static_cast<std::size_t>(pixels.columns);
  rows.reserve(pixels.rgb.size() + static_cast<std::size_t>(pixels.rows));
  for (int y = 0; y < pixels.rows; ++y) {
    const auto from = pixels.rgb.begin() + static_cast<std::ptrdiff_t>(row) * y;
    rows.push_back(0); // no filter
    rows.insert(rows.end(), from, from + static_cast<std::ptrdiff_t>(row));
  }
  put_chunk(out, "IDAT", deflated(rows));
  put_chunk(out, "IEND", {});
  return out;
}

} // namespace snagmap
