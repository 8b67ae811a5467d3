// A problem as an input deck for CalculiX, and its printed displacements read back.
#pragma once

#include "sim/solid/solid.hpp"

#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>
#include <string>

namespace snagmap::testing {

/// Bricks as C3D8I; `solver` as CalculiX names it: SPOOLES (direct) or ITERATIVE CHOLESKY.
inline void write_deck(const SolidProblem& p, const std::filesystem::path& file, const std::string& solver) {
  const BrickBox& box = p.box;
  const auto [nx, ny, nz] = box.bricks;
  std::ofstream out(file);
  out.precision(12);
  std::vector<bool> used(box.node_count());
  std::map<float, std::vector<std::size_t>> by_modulus;
  std::ostringstream elements;
  for (int k = 0; k < nz; ++k)
    for (int j = 0; j < ny; ++j)
      for (int i = 0; i < nx; ++i) {
        const std::size_t b = box.brick(i, j, k);
        if (box.modulus_MPa[b] == 0)
          continue;
        by_modulus[box.modulus_MPa[b]].push_back(b + 1);
        elements << b + 1;
        const int order[8][3] = {{0, 0, 0}, {1, 0, 0}, {1, 1, 0}, {0, 1, 0},
                                 {0, 0, 1}, {1, 0, 1}, {1, 1, 1}, {0, 1, 1}};
        for (const auto& o : order) {
          const std::size_t node = box.node(i + o[0], j + o[1], k + o[2]);
          used[node] = true;
          elements << ", " << node + 1;
        }
        elements << '\n';
      }
  out << "*NODE, NSET=ALL\n";
  for (std::size_t n = 0; n < used.size(); ++n)
    if (used[n]) {
      const Vec3 x = box.node_mm(n);
      out << n + 1 << ", " << x.x << ", " << x.y << ", " << x.z << '\n';
    }
  out << "*ELEMENT, TYPE=C3D8I\n" << elements.str();
  int group = 0;
  for (const auto& [modulus, bricks] : by_modulus) {
    out << "*ELSET, ELSET=E" << ++group << '\n';
    for (const std::size_t b : bricks)
      out << b << '\n';
    out << "*MATERIAL, NAME=M" << group << "\n*ELASTIC\n"
        << double(modulus) << ", " << box.nu << "\n*SOLID SECTION, ELSET=E" << group << ", MATERIAL=M"
        << group << '\n';
  }
  out << "*BOUNDARY\n";
  for (std::size_t n = 0; n < used.size(); ++n)
    for (int c = 0; c < 3; ++c)
      if (used[n] && box.fixed[n] >> c & 1)
        out << n + 1 << ", " << c + 1 << ", " << c + 1 << '\n';
  out << "*STEP\n*STATIC, SOLVER=" << solver << "\n*CLOAD\n";
  std::map<std::pair<std::size_t, int>, double> loads;
  for (const NodeValue& v : p.loads)
    loads[{v.node, v.axis}] += v.value;
  for (const auto& [at, force] : loads)
    if (!(box.fixed[at.first] >> at.second & 1))
      out << at.first + 1 << ", " << at.second + 1 << ", " << force << '\n';
  out << "*NODE PRINT, NSET=ALL\nU\n*END STEP\n";
}

inline std::map<std::size_t, Vec3> read_displacements(const std::filesystem::path& file) {
  std::map<std::size_t, Vec3> u;
  std::ifstream in(file);
  for (std::string line; std::getline(in, line);) {
    std::istringstream words(line);
    std::size_t node;
    Vec3 v;
    if (words >> node >> v.x >> v.y >> v.z)
      u[node - 1] = v;
  }
  return u;
}

} // namespace snagmap::testing
