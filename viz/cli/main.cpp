// The program: its streams are guarded, Ctrl-C is watched for, the rest is the command line.
#include "viz/cli/command_line.hpp"
#include "viz/terminal/stop.hpp"
#include "viz/terminal/streams.hpp"

int main(int argc, char** argv) {
  snagmap::guard_streams();
  // Where no thread can be started, loops must not ask for any.
  const auto alone = snagmap::watch_for_stop() ? std::shared_ptr<void>() : snagmap::limit_threads(1);
  return snagmap::status_with_streams(snagmap::run_command_line(argc, argv));
}
