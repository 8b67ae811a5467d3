#include "jobs.hpp"

#include "sim/program/program.hpp"
#include "sim/scene/scene.hpp"

#include <stdexcept>

namespace snagmap::bench {
namespace {

CutterCard flat(double diameter, double flutes) {
  CutterCard card;
  card.name = "flat";
  card.diameter_mm = card.shank_diameter_mm = diameter;
  card.flute_length_mm = flutes;
  card.stick_out_mm = flutes + 20;
  return card;
}

} // namespace

Job pocket(std::size_t moves, double width, double depth, double height) {
  Job job{"pocket of " + std::to_string(moves / 1000) + "k moves",
          {{0, 0, -height}, {width, depth, 0}},
          {flat(6.35, height)},
          {}};
  Vec3 at{10, 10, 5};
  const auto go = [&](Vec3 to) {
    Move move;
    move.from = at;
    move.to = at = to;
    if (job.path.moves.size() < moves)
      job.path.moves.push_back(move);
  };
  for (int layer = 0; job.path.moves.size() < moves; ++layer) {
    const double z = -5.0 * (layer % static_cast<int>(height / 5 - 1) + 1);
    go({10, 10, z});
    for (double y = 10; y < depth - 10 && job.path.moves.size() < moves; y += 3) {
      const bool right = static_cast<int>(y / 3) % 2 == 1;
      for (double x = 10; x < width - 10; ++x)
        go({right ? x : width - x, y, z});
    }
  }
  return job;
}

Job demo() {
  const auto scene = read_scene(std::string(SNAGMAP_ROOT) + "/scenes/bicycle-case/scene.toml");
  if (!scene)
    throw std::runtime_error(to_text(scene.faults()[0]));
  ProgramOptions options;
  options.start_mm = scene->start_mm;
  options.tool_index = scene->tool_index;
  const auto path = read_program(scene->program_file, options);
  if (!path)
    throw std::runtime_error(to_text(path.faults()[0]));
  return {"demo (a)", scene->sheet, scene->cutters, *path};
}

RemovalRecord cut(const Job& job, double voxel) {
  CutOptions options;
  options.voxel_mm = voxel;
  auto record = RemovalRecord::cut({job.sheet}, job.cutters, job.path, options);
  if (!record)
    throw std::runtime_error(to_text(record.faults()[0]));
  return std::move(*record);
}

} // namespace snagmap::bench
