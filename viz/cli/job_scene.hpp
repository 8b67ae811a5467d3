// The scene a command line asks for: from a scene file, or made of a program, a foam and cutters.
#pragma once

#include "models/base/fault.hpp"
#include "sim/scene/scene.hpp"

#include <string>
#include <vector>

namespace CLI {
class App;
}

namespace snagmap {

/// Adds --foam and --cutter, for a program without a scene.
void add_job_options(CLI::App& command, std::string& foam, std::vector<std::string>& cutters);

/// Reads a scene (.toml), or makes one of a program. Faults: foam or cutter missing beside a program, or
/// given beside a scene; what is wrong in the files.
Outcome<Scene> asked_scene(const std::string& file, const std::string& foam,
                           const std::vector<std::string>& cutters);

} // namespace snagmap
