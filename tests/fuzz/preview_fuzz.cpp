// Any bytes as a whole job: no crash, no hang, no number that is none. Half of the mutations know what people
// cut.
#include "tests/fuzz/preview_check.hpp"
#include "tests/fuzz/tiny_program.hpp"

#include "sim/threads/parallel.hpp"

#include <cstdint>
#include <cstdio>
#include <cstring>
#include <ctime>

extern "C" std::size_t LLVMFuzzerMutate(std::uint8_t* data, std::size_t size, std::size_t most);

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::clock_t start = std::clock(); // processor time: a loaded machine makes no hang
  std::string broken = snagmap::broken_preview({reinterpret_cast<const char*>(data), size});
  if (std::clock() - start > 10 * CLOCKS_PER_SEC)
    broken = "over ten seconds of processor time";
  if (broken.empty())
    return 0;
  std::fprintf(stderr, "%s\n", broken.c_str());
  __builtin_trap();
}

extern "C" std::size_t LLVMFuzzerCustomMutator(std::uint8_t* data, std::size_t size, std::size_t most,
                                               unsigned seed) {
  std::minstd_rand random(seed + 1);
  if (random() % 2)
    return LLVMFuzzerMutate(data, size, most);
  const std::string text =
      snagmap::changed_job(std::string(reinterpret_cast<char*>(data), size), random).substr(0, most);
  std::memcpy(data, text.data(), text.size());
  return text.size();
}
