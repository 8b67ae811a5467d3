// The real program's films: whole in three forms, of the length asked for, or none at all.
#include "tests/viz/real_program.hpp"

#include <cstdio>

using namespace snagmap::testing;

namespace {

class FilmLine : public RealProgram {
protected:
  void SetUp() override {
    RealProgram::SetUp();
    put("part.nc", "G21 G90 G17\nS18000 M3\nG0 Z5\nG0 X0 Y0\nG1 Z-10 F600\nG1 X80 F3000\nG0 Z5\nG0 X0 "
                   "Y14.35\nG1 Z-10 F600\nG1 X80 F3000\nG0 Z5\nM30\n");
    put("job.toml", "program = \"part.nc\"\nfoam = \"pu-22\"\ncutter = \"flat-6.35-long\"\n");
  }
  static bool installed() { return std::system("command -v ffmpeg ffprobe >/dev/null") == 0; }
  /// What ffprobe says of a film's frames: their number and size.
  static std::string frames(const std::string& film) {
    std::system(("ffprobe -v error -count_frames -select_streams v:0 -show_entries "
                 "stream=width,height,nb_read_frames -of csv=p=0 '" +
                 film + "' >frames.txt 2>&1")
                    .c_str());
    return slurp("frames.txt");
  }
};

} // namespace

TEST_F(FilmLine, IsWholeInThreeFormsAndOfTheLengthAskedFor) {
  if (!installed())
    GTEST_SKIP() << "ffmpeg is not installed";
  const Ran made = run("film job.toml --from 0:02 --to 0:04 --speed 2 --size 320x240 --out film");
  ASSERT_EQ(made.status, 0) << made.err;
  EXPECT_EQ(frames("film/film.mp4"), "320,240,21\n"); // one second at 20 frames, both ends
  EXPECT_EQ(frames("film/film.webm"), "320,240,21\n");
  EXPECT_EQ(slurp("film/film.mp4").substr(4, 4), "ftyp");              // ISO/IEC 14496-12, 4.3
  EXPECT_EQ(slurp("film/film.webm").substr(0, 4), "\x1a\x45\xdf\xa3"); // RFC 8794, EBML magic
  EXPECT_EQ(slurp("film/film.gif").substr(0, 6), "GIF89a");
  EXPECT_TRUE(fs::exists("film/snagmap-files.json"));
}

TEST_F(FilmLine, WithoutFfmpegSaysWhatToInstallBeforeAnyWork) {
  const Ran none = run("film job.toml --out film", "PATH=/nowhere");
  EXPECT_EQ(none.status, 2);
  EXPECT_NE(none.err.find("apt-get install ffmpeg"), std::string::npos) << none.err;
  EXPECT_FALSE(fs::exists("film"));
}

TEST_F(FilmLine, StoppedInTheMiddleLeavesNothing) {
  if (!installed())
    GTEST_SKIP() << "ffmpeg is not installed";
  const pid_t child = start({"film", "job.toml", "--speed", "0.05", "--out", "film"});
  const bool met = wait_for(child, [&] { // the encoder's first bytes
    for (const auto& entry : fs::recursive_directory_iterator(root))
      if (entry.path().filename() == "film.webm")
        return true;
    return false;
  });
  kill(child, SIGINT);
  EXPECT_EQ(status_of(child), 130);
  ASSERT_TRUE(met) << slurp("err.txt");
  for (const auto& entry : fs::directory_iterator(root))
    EXPECT_EQ(entry.path().filename().string().find("film"), std::string::npos) << entry.path();
}

TEST_F(FilmLine, WhatIsNoPartOfTheProgramIsRefused) {
  if (!installed())
    GTEST_SKIP() << "ffmpeg is not installed";
  for (const char* words : {"--from 5:00 --to 6:00", "--from 0:04 --to 0:02", "--web 99", "--from 3:99",
                            "--size 321x240", "--speed 0.01"}) {
    const Ran wrong = run("film job.toml --out film " + std::string(words));
    EXPECT_EQ(wrong.status, 2) << words << wrong.err;
    EXPECT_FALSE(fs::exists("film")) << words;
  }
}
