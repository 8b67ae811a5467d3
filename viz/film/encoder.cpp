#include "viz/film/encoder.hpp"

#include "models/base/plain_text.hpp"

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <cstdlib>
#include <cstring>
#include <fcntl.h>
#include <fmt/format.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>
#include <utility>
#include <vector>

namespace snagmap {
namespace {

/// ffmpeg's words. Even sizes only: H.264 halves the colours both ways.
std::vector<std::string> words_for(const std::string& ffmpeg, const std::string& folder, int width,
                                   int height, int rate) {
  const std::string gif = fmt::format("[0:v]split=3[a][b][c];[c]fps=10,scale={}:-2:flags=area,split[d][e];"
                                      "[d]palettegen=stats_mode=single[p];[e][p]paletteuse=new=1[g]",
                                      width / 2);
  return {ffmpeg,
          "-hide_banner",
          "-loglevel",
          "error",
          "-nostdin",
          "-y",
          "-f",
          "rawvideo",
          "-pix_fmt",
          "rgb24",
          "-s",
          fmt::format("{}x{}", width, height),
          "-r",
          std::to_string(rate),
          "-i",
          "pipe:0",
          "-filter_complex",
          gif,
          "-map",
          "[a]",
          "-c:v",
          "libx264",
          "-preset",
          "veryfast",
          "-crf",
          "23",
          "-pix_fmt",
          "yuv420p",
          "-movflags",
          "+faststart",
          folder + "/" + kFilmNames[0],
          "-map",
          "[b]",
          "-c:v",
          "libvpx-vp9",
          "-crf",
          "34",
          "-b:v",
          "0",
          "-deadline",
          "realtime",
          "-cpu-used",
          "8",
          "-row-mt",
          "1",
          "-pix_fmt",
          "yuv420p",
          folder + "/" + kFilmNames[1],
          "-map",
          "[g]",
          folder + "/" + kFilmNames[2]};
}

} // namespace

Outcome<std::string> find_ffmpeg() {
  const char* path = std::getenv("PATH");
  const std::string folders = path ? path : "/usr/local/bin:/usr/bin:/bin";
  for (std::size_t at = 0; at <= folders.size();) {
    const std::size_t end = std::min(folders.find(':', at), folders.size());
    const std::string file = folders.substr(at, end - at) + "/ffmpeg";
    if (file[0] == '/' && access(file.c_str(), X_OK) == 0)
      return file;
    at = end + 1;
  }
  return Fault("the program ffmpeg was not found", "install it: apt-get install ffmpeg");
}

Outcome<Encoder> Encoder::start(const std::string& folder, int width, int height, int rate) {
  const Outcome<std::string> ffmpeg = find_ffmpeg();
  if (!ffmpeg)
    return ffmpeg.faults();
  std::vector<std::string> words = words_for(*ffmpeg, folder, width, height, rate);
  std::vector<char*> argv;
  for (std::string& word : words)
    argv.push_back(word.data());
  argv.push_back(nullptr);
  int ends[2];
  const int said = memfd_create("ffmpeg", MFD_CLOEXEC);
  if (said < 0 || pipe2(ends, O_CLOEXEC) != 0)
    return Fault(std::string("no pipe to ffmpeg: ") + std::strerror(errno), "try again");
  fcntl(ends[1], F_SETPIPE_SZ, 1 << 20);
  const pid_t parent = getpid(), process = fork();
  if (process == 0) {
    prctl(PR_SET_PDEATHSIG, SIGKILL);
    if (getppid() != parent)
      _exit(1);
    setpgid(0, 0); // Ctrl-C in the terminal is the parent's to answer
    signal(SIGPIPE, SIG_DFL);
    const int nowhere = open("/dev/null", O_WRONLY | O_CLOEXEC);
    dup2(ends[0], STDIN_FILENO), dup2(nowhere, STDOUT_FILENO), dup2(said, STDERR_FILENO);
    execv(argv[0], argv.data());
    _exit(127);
  }
  close(ends[0]);
  if (process < 0) {
    close(ends[1]), close(said);
    return Fault(std::string("no process for ffmpeg: ") + std::strerror(errno), "try again");
  }
  return Encoder(process, ends[1], said);
}

Encoder::Encoder(Encoder&& other) noexcept
    : process_(std::exchange(other.process_, -1)), to_(std::exchange(other.to_, -1)),
      said_(std::exchange(other.said_, -1)) {}

Encoder::~Encoder() {
  if (to_ >= 0)
    close(to_);
  if (process_ > 0) {
    kill(process_, SIGKILL);
    waitpid(process_, nullptr, 0);
  }
  if (said_ >= 0)
    close(said_);
}

Fault Encoder::failed() {
  char bytes[600];
  const ssize_t n = pread(said_, bytes, sizeof bytes, 0);
  const std::string words = plain_text(std::string(bytes, static_cast<std::size_t>(std::max<ssize_t>(0, n))));
  return Fault("ffmpeg made no film" + (words.empty() ? "" : ": " + words),
               "is it Debian's package, with libx264 and libvpx?");
}

std::optional<Fault> Encoder::add(const Pixels& frame) {
  for (std::size_t done = 0; done < frame.rgb.size();) {
    const ssize_t n = write(to_, frame.rgb.data() + done, frame.rgb.size() - done);
    if (n < 0 && errno == EINTR)
      continue;
    if (n <= 0)
      return failed();
    done += static_cast<std::size_t>(n);
  }
  return {};
}

std::optional<Fault> Encoder::finish() {
  close(std::exchange(to_, -1));
  int status = 0;
  while (waitpid(process_, &status, 0) < 0 && errno == EINTR) {
  }
  process_ = -1;
  if (!WIFEXITED(status) || WEXITSTATUS(status) != 0)
    return failed();
  return {};
}

} // namespace snagmap
