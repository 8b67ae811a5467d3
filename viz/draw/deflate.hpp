// Bytes made smaller: the zlib format (RFC 1950), which PNG holds and browsers read.
#pragma once

#include <cstdint>
#include <vector>

namespace snagmap {

/// The zlib stream of the bytes, at zlib's smallest; the same bytes in, the same out.
std::vector<std::uint8_t> deflated(const std::vector<std::uint8_t>& bytes);

} // namespace snagmap
