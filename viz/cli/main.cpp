// The program: Ctrl-C is watched for, the rest is the command line.
#include "viz/cli/command_line.hpp"
#include "viz/cli/stop.hpp"

int main(int argc, char** argv) {
  snagmap::watch_for_stop();
  return snagmap::run_command_line(argc, argv);
}
