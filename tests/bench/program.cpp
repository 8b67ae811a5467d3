// Reading and motion planning at 10^4, 10^5 and 10^6 moves, beside plain reading of the same file.
#include "sim/program/program.hpp"
#include "sim/motion/motion.hpp"
#include "tests/sim/program/rs274_witness.hpp"
#include "tests/sim/program/rule_programs.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <random>
#include <string>
#include <vector>

#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

using namespace snagmap;
namespace {

/// Processor time: reader and planner run on one core and the file lies in memory, and a busy machine would
/// make any clock on the wall useless.
double now() {
  return static_cast<double>(std::clock()) / CLOCKS_PER_SEC;
}
double peak_MB() {
  rusage use{};
  getrusage(RUSAGE_SELF, &use);
  return use.ru_maxrss / 1024.0;
}
template <class F> double median_of_5(F work) {
  std::vector<double> times;
  for (int i = 0; i < 5; ++i) {
    const double start = now();
    work();
    times.push_back(now() - start);
  }
  std::sort(times.begin(), times.end());
  return times[2];
}

/// A finishing program as a CAM system writes it: short chords, an arc in ten, a feed word now and then.
void write_program(const std::string& file, int lines) {
  std::ofstream out(file);
  std::mt19937 random(7);
  std::uniform_real_distribution<double> step(-4, 4);
  double x = 100, y = 100;
  out << "G21 G90 G17\nT1 M6\nS18000 M3\nG0 Z5\nG0 X100. Y100.\nG1 Z-3. F600\n";
  char text[96];
  int n = 8;
  for (int i = 7; i < lines; ++i) {
    if (i % 10 == 0) {
      std::snprintf(text, sizeof text, "N%d G3 X%.4f Y%.4f I2. J0.\n", n % 100000, x + 4, y);
      x += 4;
    } else {
      x = std::clamp(x + step(random), 0.0, 300.0);
      y = std::clamp(y + step(random), 0.0, 200.0);
      std::snprintf(text, sizeof text, i % 50 == 0 ? "N%d G1 X%.4f Y%.4f F7000.\n" : "N%d G1 X%.4f Y%.4f\n",
                    n % 100000, x, y);
    }
    n += 2;
    out << text;
  }
  out << "M30\n";
}

/// A relief carving as a CAM system writes it: parallel lines over a wavy surface, moves of 0.1 mm.
void write_relief(const std::string& file, int lines) {
  std::ofstream out(file);
  out << "G21 G90 G17\nT1 M6\nS18000 M3\nG0 Z5\nG0 X0 Y0\nG1 Z0 F1200\nF5000\n";
  char text[64];
  const int across = 3000;
  for (int i = 8; i < lines; ++i) {
    const int row = i / across, step = row % 2 ? across - 1 - i % across : i % across;
    const double x = 0.1 * step, y = 0.5 * row;
    const double z = -2 + 1.5 * std::sin(0.11 * x) * std::cos(0.07 * y);
    std::snprintf(text, sizeof text, i % across ? "X%.3f Z%.3f\n" : "X%.3f Y%.3f Z%.3f\n", x,
                  i % across ? z : y, z);
    out << text;
  }
  out << "G0 Z5\nM30\n";
}

struct Run {
  double seconds = 0, peak_MB = 0;
  int status = -1;
};

/// The program itself on the relief, without pictures, so that start-up and files count.
Run preview_of(const std::string& file) {
  const std::string out = file + ".result";
  const auto start = std::chrono::steady_clock::now();
  std::fflush(stdout); // or the child prints it again
  const pid_t child = fork();
  if (child == 0) {
    if (!std::freopen("/dev/null", "w", stdout) || !std::freopen("/dev/null", "w", stderr))
      _exit(127);
    execl(SNAGMAP_BINARY, SNAGMAP_BINARY, "preview", file.c_str(), "--foam", "pu-22", "--cutter",
          "flat-6.35-stub", "--no-pictures", "--out", out.c_str(), static_cast<char*>(nullptr));
    _exit(127);
  }
  int status = 0;
  rusage usage{};
  wait4(child, &status, 0, &usage);
  std::filesystem::remove_all(out);
  const std::chrono::duration<double> spent = std::chrono::steady_clock::now() - start;
  return {spent.count(), static_cast<double>(usage.ru_maxrss) / 1024,
          WIFEXITED(status) ? WEXITSTATUS(status) : -1};
}

void goal(const char* name, double value, double bound, bool met) {
  std::printf("goal %s %.4g %.4g %s\n", name, value, bound, met ? "met" : "short");
}

/// Reading and previewing the relief: the goals of long programs.
int relief(const std::string& file, int lines) {
  write_relief(file, lines);
  const double relief_s = median_of_5([&] { (void)read_program(file, {}); });
  std::printf("relief carving, %d moves of 0.1 mm: read in %.3f s\n", lines, relief_s);
  const Run run = preview_of(file);
  std::printf("previewed without pictures in %.1f s, %.0f MB, exit status %d\n", run.seconds, run.peak_MB,
              run.status);
  goal("million_lines_s", 1e6 * relief_s / lines, 0.5, 1e6 * relief_s / lines <= 0.5);
  const bool ran = run.status == 0 || run.status == 3;
  goal("relief_preview_s", run.seconds, 20, ran && run.seconds <= 20);
  goal("relief_preview_MB", run.peak_MB, 2048, ran && run.peak_MB <= 2048);
  return 0;
}

/// Share of the corpus whose motions are rs274's, in percent; below 0 without rs274.
double agrees_with_rs274_percent() {
  using namespace snagmap::witness;
  if (!has_rs274())
    return -1;
  std::vector<std::string> texts;
  for (const RuleProgram& program : rule_programs())
    texts.push_back(program.text);
  for (unsigned seed = 1; seed <= 200; ++seed)
    texts.push_back(random_program(seed));
  ProgramOptions options;
  options.start_mm = {0, 0, 0};
  int agree = 0;
  for (const std::string& text : texts) {
    const auto path = parse_program(text, "corpus.nc", options);
    agree += path && unlike_rs274(*path, rs274(text)).empty();
  }
  return 100.0 * agree / static_cast<double>(texts.size());
}

double plain_read_s(const std::string& file) {
  return median_of_5([&] {
    std::FILE* in = std::fopen(file.c_str(), "rb");
    static std::vector<char> buffer(256 * 1024);
    std::size_t sum = 0, got = 0;
    while ((got = std::fread(buffer.data(), 1, buffer.size(), in)) > 0)
      sum += static_cast<unsigned char>(buffer[got - 1]);
    std::fclose(in);
    if (sum == 1)
      std::puts("");
  });
}

} // namespace

/// With `relief [LINES]` only that part.
int main(int count, char** words) {
  const std::string file = (std::filesystem::temp_directory_path() / "snagmap_bench_program.nc").string();
  if (count > 1 && std::string(words[1]) == "relief") {
    relief(file, count > 2 ? std::atoi(words[2]) : 1'000'000);
    std::filesystem::remove(file);
    return 0;
  }
  MachineCard machine;
  machine.feed_mm_min = machine.rapid_mm_min = {8000, 5000, 3000};
  machine.acceleration_mm_s2 = {500, 300, 200};
  std::printf("%9s %8s %12s %9s %11s %12s %12s %14s\n", "lines", "MB", "lines/s", "MB/s", "plain MB/s",
              "moves/s plan", "with jerk", "reader adds MB");
  double rate_small = 0, rate_large = 0, plan_small = 0, plan_large = 0, lines_per_s = 0, million_s = 0,
         adds = 0;
  for (const int lines : {10000, 100000, 1000000}) {
    write_program(file, lines);
    const double megabytes = static_cast<double>(std::filesystem::file_size(file)) / 1e6;
    const double before = peak_MB();
    Path path;
    {
      auto read = read_program(file, {});
      if (!read) {
        std::puts(to_text(read.faults().front()).c_str());
        return 1;
      }
      path = std::move(*read);
    }
    // The peak includes the path itself, which is not the reader's.
    const double path_MB = static_cast<double>(path.moves.size() * sizeof(Move)) / (1024.0 * 1024);
    adds = std::max(0.0, peak_MB() - before - path_MB);
    const double read_s = median_of_5([&] { (void)read_program(file, {}); });
    const double plan_s = median_of_5([&] { (void)plan_motion(path, machine); });
    MachineCard smooth = machine;
    smooth.jerk_mm_s3 = {5000, 5000, 5000};
    const double start = now();
    (void)plan_motion(path, smooth);
    const double smooth_s = now() - start;
    const double n = static_cast<double>(path.moves.size());
    std::printf("%9d %8.2f %12.0f %9.1f %11.0f %12.0f %12.0f %14.1f\n", lines, megabytes, lines / read_s,
                megabytes / read_s, megabytes / plain_read_s(file), n / plan_s, n / smooth_s, adds);
    if (lines == 10000)
      rate_small = read_s / lines, plan_small = plan_s / n;
    rate_large = read_s / lines;
    plan_large = plan_s / n;
    lines_per_s = lines / read_s;
    million_s = plan_s;
  }
  relief(file, 1'000'000);
  std::filesystem::remove(file);
  const double agree = agrees_with_rs274_percent();
  std::printf("bytes a move: path %zu, motion 24\n", sizeof(Move));
  goal("read_lines_per_s", lines_per_s, 2e6, lines_per_s >= 2e6);
  goal("agrees_with_rs274", agree, 100, agree >= 100);
  goal("read_growth_1e4_to_1e6", rate_large / rate_small, 1.5, rate_large / rate_small <= 1.5);
  goal("plan_million_moves_s", million_s, 3, million_s <= 3);
  goal("plan_growth_1e4_to_1e6", plan_large / plan_small, 1.5, plan_large / plan_small <= 1.5);
  goal("reader_adds_MB", adds, 16, adds <= 16);
  goal("bytes_a_move", sizeof(Move), 96, sizeof(Move) <= 96);
  return 0;
}
