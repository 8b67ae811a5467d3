#include "models/base/fault.hpp"
#include "models/base/plain_text.hpp"
#include "tests/python.hpp"

#include <gtest/gtest.h>
#include <random>

using namespace snagmap;

// Python's own decoder says which bytes are UTF-8, its Unicode tables which characters act: category Cc
// (controls), Zl and Zp (separators), and the classes and marks of the bidirectional algorithm (UAX 9).
TEST(PlainText, EscapesWhatPythonCallsControlsAndBytesThatAreNoText) {
  const char* const script = R"(
import sys, unicodedata
data = open(sys.argv[1], 'rb').read()
turns = {'LRE', 'RLE', 'PDF', 'LRO', 'RLO', 'LRI', 'RLI', 'FSI', 'PDI'}
marks = '\u200e\u200f\u061c\ufeff'
def shown(c):
    if c == '\t': return ' '
    if c == '\n': return r'\n'
    if c == '\r': return r'\r'
    if unicodedata.category(c) in ('Cc', 'Zl', 'Zp') or unicodedata.bidirectional(c) in turns or c in marks:
        return '\\x%02x' % ord(c) if ord(c) < 128 else '\\u%04x' % ord(c)
    return c
out = []
for k in range(0, len(data), 16):
    bad = []
    words = data[k:k + 16].decode('utf-8', 'surrogateescape')
    out.append(''.join('\\x%02x' % (ord(c) - 0xdc00) if 0xdc80 <= ord(c) <= 0xdcff else shown(c) for c in words))
sys.stdout.buffer.write('\0'.join(out).encode('utf-8'))
)";
  // Random bytes, most of them such as begin and continue characters, and every character below U+3000.
  std::mt19937 random(5);
  std::string data;
  const std::string common =
      "\xc2\x9b\xe2\x80\xae\xa8\xf0\x9f\x98\x80\xed\xa0\xc0\xaf\xf4\x90\xff\x1b\r\n\t a";
  for (int i = 0; i < 16 * 4000; ++i)
    data += i % 2 ? common[random() % common.size()] : static_cast<char>(random());
  for (unsigned code = 0; code < 0x3000; ++code) {
    std::string one =
        code < 0x80 ? std::string(1, static_cast<char>(code))
        : code < 0x800
            ? std::string{static_cast<char>(0xc0 | code >> 6), static_cast<char>(0x80 | (code & 0x3f))}
            : std::string{static_cast<char>(0xe0 | code >> 12), static_cast<char>(0x80 | (code >> 6 & 0x3f)),
                          static_cast<char>(0x80 | (code & 0x3f))};
    data += one + std::string(16 - one.size(), 'x');
  }
  std::string ours;
  for (std::size_t k = 0; k < data.size(); k += 16)
    ours += (k > 0 ? std::string(1, '\0') : "") + plain_text(std::string_view(data).substr(k, 16));
  EXPECT_TRUE(snagmap::python(script, data) == ours);
}

TEST(PlainText, LeavesWordsOfAnyLanguageAndIsTheSameTwice) {
  for (const char* words : {"schwer entflammbar, 12 µm", "スポンジ 22", "رغوة", "a \\ b", "naïve – 3⁄4″"})
    EXPECT_EQ(plain_text(words), words);
  const std::string once = plain_text("a\x1b[31m\r\nG0 Z-200\xc2\x9b\xff");
  EXPECT_EQ(once, "a\\x1b[31m\\r\\nG0 Z-200\\u009b\\xff");
  EXPECT_EQ(plain_text(once), once);
  EXPECT_EQ(plain_lines("a\tb\n\x07"), "a\tb\n\\x07");
}

TEST(Fault, SaysWhatItQuotesAsPlainTextWithItsCaretUnderThePlace) {
  const Fault fault("\"\x1b]0;x\x07\" is not known", "", "a\x1b[2J.nc", 3, 7, "G1 \x1b\xc2\xb5X1");
  EXPECT_EQ(to_text(fault),
            "a\\x1b[2J.nc:3:7: \"\\x1b]0;x\\x07\" is not known\n"
            "  G1 \\x1b\xc2\xb5X1\n"
            "           ^"); // under the 1: six characters before it, one of them shown in four
}
