// Any bytes as a result.json: no crash, no hang; a result in numbers that can be shown, or faults that say
// something.
#include "sim/results/results.hpp"

#include <cstddef>
#include <cstdint>
#include <string>

namespace {

void demand(bool fact) {
  if (!fact)
    __builtin_trap();
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  const auto result = snagmap::parse_result(text, "fuzz.json");
  if (!result) {
    demand(!result.faults().empty());
    for (const snagmap::Fault& fault : result.faults())
      demand(!fault.what.empty() && !snagmap::to_text(fault).empty());
    return 0;
  }
  demand(result->schema == snagmap::kResultSchema);
  int counted = 0;
  for (const int count : snagmap::spots_by_level(result->spots))
    counted += count;
  demand(counted == static_cast<int>(result->spots.size()));
  return 0;
}
