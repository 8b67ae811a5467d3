#include "sim/probe/vdb.hpp"

#include "sim/probe/distance.hpp"
#include "sim/record/estimate.hpp"
#include "sim/threads/parallel.hpp"

#include <fmt/format.h>
#include <openvdb/io/File.h>
#include <openvdb/openvdb.h>
#include <openvdb/tools/Morphology.h>
#include <openvdb/tools/Prune.h>
#include <openvdb/tools/SignedFloodFill.h>
#include <openvdb/tools/VolumeToMesh.h>
#include <openvdb/tree/LeafManager.h>

#include <chrono>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <mutex>
#include <unistd.h>

namespace snagmap {
namespace {

constexpr char kSeal[8] = {'s', 'n', 'a', 'g',
                           'v', 'd', 'b', '1'}; ///< behind the last byte, then the checksum
constexpr int kBand_voxel = 3;

/// Voxels over the sheet: voxel (i, j, k) has its centre at low + (i + 1/2, j + 1/2, k + 1/2) h.
struct Lattice {
  Vec3 low;
  double h;
  int nx, ny, nz;
  Vec3 centre(const openvdb::Coord& c) const {
    return {low.x + (c.x() + 0.5) * h, low.y + (c.y() + 0.5) * h, low.z + (c.z() + 0.5) * h};
  }
};

Lattice lattice_over(const RemovalRecord& record, double voxel_mm) {
  const double h = voxel_mm > 0 ? voxel_mm : record.voxel_mm();
  const Vec3 size = record.box().high - record.box().low;
  const auto count = [h](double length) { return static_cast<int>(std::ceil(length / h - 1e-9)); };
  return {record.box().low, h, count(size.x), count(size.y), count(size.z)};
}

openvdb::math::Transform::Ptr transform_of(const Lattice& lattice) {
  auto transform = openvdb::math::Transform::createLinearTransform(lattice.h);
  const double half = 0.5 * lattice.h;
  transform->postTranslate({lattice.low.x + half, lattice.low.y + half, lattice.low.z + half});
  return transform;
}

void start_library() {
  static std::once_flag once;
  std::call_once(once, [] { openvdb::initialize(); });
}

/// Voxels whose centre is foam. Columns of 8 x 8 make leaves from their slabs; a leaf's z column is one byte.
openvdb::MaskTree foam_mask(const RemovalRecord& record, Moment t, const Lattice& lattice) {
  using Leaf = openvdb::MaskTree::LeafNodeType;
  const int leaves_x = (lattice.nx + 7) / 8, leaves_y = (lattice.ny + 7) / 8, leaves_z = (lattice.nz + 7) / 8;
  std::vector<std::vector<Leaf*>> found(static_cast<std::size_t>(leaves_x) *
                                        static_cast<std::size_t>(leaves_y));
  parallel_each(found.size(), [&](std::size_t n) {
    const int x0 = 8 * static_cast<int>(n % static_cast<std::size_t>(leaves_x)),
              y0 = 8 * static_cast<int>(n / static_cast<std::size_t>(leaves_x));
    std::vector<std::array<std::uint8_t, 64>> bytes(static_cast<std::size_t>(leaves_z));
    for (auto& leaf : bytes)
      leaf.fill(0);
    for (int x = x0; x < std::min(x0 + 8, lattice.nx); ++x) {
      for (int y = y0; y < std::min(y0 + 8, lattice.ny); ++y) {
        const Vec3 p = lattice.centre({x, y, 0});
        for (const Slab& slab : record.column(xy(p), t)) {
          const int k0 =
              std::max(0, static_cast<int>(std::ceil((slab.low_mm - lattice.low.z) / lattice.h - 0.5)));
          const int k1 =
              std::min(lattice.nz - 1,
                       static_cast<int>(std::ceil((slab.high_mm - lattice.low.z) / lattice.h - 0.5)) - 1);
          for (int k = k0; k <= k1; ++k)
            bytes[static_cast<std::size_t>(k >> 3)][static_cast<std::size_t>(((x & 7) << 3) | (y & 7))] |=
                static_cast<std::uint8_t>(1u << (k & 7));
        }
      }
    }
    for (int k = 0; k < leaves_z; ++k) {
      const auto& own = bytes[static_cast<std::size_t>(k)];
      if (std::all_of(own.begin(), own.end(), [](std::uint8_t b) { return b == 0; }))
        continue;
      auto* leaf = new Leaf(openvdb::Coord(x0, y0, 8 * k), false);
      Leaf::NodeMaskType mask;
      for (openvdb::Index word = 0; word < 8; ++word)
        std::memcpy(&mask.getWord<openvdb::Index64>(word), own.data() + 8 * word, 8);
      leaf->setValueMask(mask);
      found[n].push_back(leaf);
    }
  });
  openvdb::MaskTree tree(false);
  for (const auto& leaves : found)
    for (Leaf* leaf : leaves)
      tree.addLeaf(leaf);
  return tree;
}

openvdb::FloatGrid::Ptr level_set(const RemovalRecord& record, Moment t, const Lattice& lattice) {
  const openvdb::MaskTree foam = foam_mask(record, t, lattice);
  // A band of three voxels either side of the seam between foam and air; every distance is taken from the
  // moves.
  openvdb::MaskTree band = foam, inner = foam;
  openvdb::tools::dilateActiveValues(band, kBand_voxel, openvdb::tools::NN_FACE,
                                     openvdb::tools::EXPAND_TILES);
  openvdb::tools::erodeActiveValues(inner, kBand_voxel, openvdb::tools::NN_FACE,
                                    openvdb::tools::EXPAND_TILES);
  band.topologyDifference(inner);
  openvdb::tools::pruneInactive(band); // flood fill would take an empty leaf's own sign for its neighbours'
  const double far = kBand_voxel * lattice.h;
  auto tree = std::make_shared<openvdb::FloatTree>(band, static_cast<float>(far), openvdb::TopologyCopy());
  openvdb::tree::LeafManager<openvdb::FloatTree> leaves(*tree);
  static_assert(openvdb::FloatTree::LeafNodeType::DIM == 8);
  parallel_each(leaves.leafCount(), [&](std::size_t n) {
    openvdb::FloatTree::LeafNodeType& leaf = leaves.leaf(n);
    const openvdb::Coord& at = leaf.origin();
    FoamDistance distance(record.data(), t);
    distance.aim({lattice.centre(at), lattice.centre(at.offsetBy(7))}, far + lattice.h);
    for (auto it = leaf.beginValueOn(); it; ++it)
      it.setValue(static_cast<float>(std::clamp(distance.at(lattice.centre(it.getCoord())), -far, far)));
  });
  openvdb::tools::signedFloodFill(*tree);
  auto grid = openvdb::FloatGrid::create(tree);
  grid->setTransform(transform_of(lattice));
  grid->setGridClass(openvdb::GRID_LEVEL_SET);
  return grid;
}

void describe(openvdb::GridBase& grid, const RemovalRecord& record, Moment t, const std::string& name) {
  grid.setName(name);
  const Box3& box = record.box();
  grid.insertMeta("sheet_low_mm", openvdb::Vec3DMetadata({box.low.x, box.low.y, box.low.z}));
  grid.insertMeta("sheet_high_mm", openvdb::Vec3DMetadata({box.high.x, box.high.y, box.high.z}));
  grid.insertMeta("moves_done", openvdb::Int64Metadata(t));
  grid.insertMeta("record_voxel_mm", openvdb::DoubleMetadata(record.voxel_mm()));
}

std::uint64_t sum_of(const std::string& file, std::uint64_t count) {
  std::ifstream in(file, std::ios::binary);
  std::vector<char> piece(1 << 20);
  Checksum sum;
  while (count > 0 && in) {
    in.read(piece.data(), static_cast<std::streamsize>(std::min<std::uint64_t>(piece.size(), count)));
    sum.add(piece.data(), static_cast<std::size_t>(in.gcount()));
    count -= static_cast<std::uint64_t>(in.gcount());
    if (in.gcount() == 0)
      break;
  }
  return sum.value();
}

/// Writes the grids, seals the file and renames it.
Outcome<std::size_t> write_sealed(const openvdb::GridCPtrVec& grids, const std::string& file) {
  const std::string part = fmt::format("{}.part{}", file, ::getpid());
  errno = 0; // a stream keeps the system's cause there and nowhere else
  try {
    openvdb::io::File out(part);
    out.setCompression(openvdb::io::COMPRESS_ZIP | openvdb::io::COMPRESS_ACTIVE_MASK);
    openvdb::MetaMap meta;
    out.write(grids, meta);
    out.close();
    const std::uint64_t size = std::filesystem::file_size(part), sum = sum_of(part, size);
    std::ofstream seal(part, std::ios::binary | std::ios::app);
    seal.write(kSeal, sizeof kSeal);
    seal.write(reinterpret_cast<const char*>(&sum), sizeof sum);
    seal.close();
    if (!seal)
      throw std::runtime_error("no room");
    std::filesystem::rename(part, file);
    return static_cast<std::size_t>(size) + sizeof kSeal + sizeof sum;
  } catch (const std::exception& e) {
    const std::string cause = errno ? std::strerror(errno) : e.what();
    std::error_code ignored;
    std::filesystem::remove(part, ignored);
    return Fault("the volume cannot be written: " + cause,
                 "choose a folder that can be written to and has room", file);
  }
}

double seconds_since(std::chrono::steady_clock::time_point start) {
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

/// First move of each voxel, tiles where one move took all. Coarse enough to stay within some millions of
/// voxels.
openvdb::Int32Grid::Ptr first_moves(const RemovalRecord& record, double voxel_mm) {
  constexpr double kVoxelsMost = 8e6;
  const Vec3 size = record.box().high - record.box().low;
  const double least = std::cbrt(size.x * size.y * size.z / kVoxelsMost);
  const Lattice lattice = lattice_over(record, std::max(voxel_mm > 0 ? voxel_mm : record.voxel_mm(), least));
  auto grid = openvdb::Int32Grid::create(-1);
  grid->setTransform(transform_of(lattice));
  auto accessor = grid->getAccessor();
  for (int i = 0; i < lattice.nx; ++i)
    for (int j = 0; j < lattice.ny; ++j)
      for (int k = 0; k < lattice.nz; ++k) {
        const std::uint32_t move = record.removed_by(lattice.centre({i, j, k}));
        if (move != kNever)
          accessor.setValue({i, j, k}, static_cast<std::int32_t>(move));
      }
  grid->pruneGrid();
  return grid;
}

} // namespace

Outcome<VdbFacts> write_stock_vdb(const RemovalRecord& record, Moment t, VdbForm form,
                                  const std::string& file, double voxel_mm) {
  start_library();
  const auto start = std::chrono::steady_clock::now();
  const Lattice lattice = lattice_over(record, voxel_mm);
  openvdb::GridBase::Ptr grid;
  if (form == VdbForm::mask) {
    auto mask = openvdb::MaskGrid::create(std::make_shared<openvdb::MaskTree>(foam_mask(record, t, lattice)));
    mask->setTransform(transform_of(lattice));
    mask->pruneGrid();
    grid = mask;
  } else {
    grid = level_set(record, t, lattice);
  }
  describe(*grid, record, t, "foam");
  VdbFacts facts;
  facts.foam_voxels = grid->activeVoxelCount();
  const auto bytes = write_sealed({grid}, file);
  if (!bytes)
    return bytes.faults();
  facts.file_bytes = *bytes;
  facts.seconds = seconds_since(start);
  return facts;
}

Outcome<VdbFacts> write_record_vdb(const RemovalRecord& record, const std::string& file, double voxel_mm) {
  start_library();
  const auto start = std::chrono::steady_clock::now();
  const auto foam = level_set(record, record.end(), lattice_over(record, voxel_mm));
  describe(*foam, record, record.end(), "foam");
  const auto moves = first_moves(record, voxel_mm);
  describe(*moves, record, record.end(), "removed_by");
  VdbFacts facts;
  facts.foam_voxels = foam->activeVoxelCount();
  const auto bytes = write_sealed({foam, moves}, file);
  if (!bytes)
    return bytes.faults();
  facts.file_bytes = *bytes;
  facts.seconds = seconds_since(start);
  return facts;
}

Outcome<StockShape> read_stock_vdb(const std::string& file) {
  start_library();
  const auto refused = [&](std::string what) {
    return Fault(std::move(what), "start from a level set this program wrote, or from a closed mesh", file);
  };
  std::error_code error;
  const std::uint64_t size = std::filesystem::file_size(file, error);
  if (error)
    return refused("the volume cannot be opened");
  std::ifstream in(file, std::ios::binary);
  char seal[sizeof kSeal];
  std::uint64_t sum = 0;
  constexpr std::uint64_t kTail = sizeof seal + sizeof sum;
  if (size < kTail)
    return refused("the volume was not written by this program");
  in.seekg(static_cast<std::streamoff>(size - kTail));
  in.read(seal, sizeof seal);
  in.read(reinterpret_cast<char*>(&sum), sizeof sum);
  if (!in || std::memcmp(seal, kSeal, sizeof seal) != 0)
    return refused("the volume was not written by this program");
  if (sum_of(file, size - kTail) != sum)
    return refused("the volume is damaged: its checksum differs");
  try {
    openvdb::io::File source(file);
    source.open(false); // no delayed loading: the file may go away
    const auto grid = openvdb::gridPtrCast<openvdb::FloatGrid>(source.readGrid("foam"));
    source.close();
    if (!grid || grid->getGridClass() != openvdb::GRID_LEVEL_SET)
      return refused("the volume holds a mask, from which no wall can be measured");
    std::vector<openvdb::Vec3s> points;
    std::vector<openvdb::Vec3I> triangles;
    std::vector<openvdb::Vec4I> quads;
    openvdb::tools::volumeToMesh(*grid, points, triangles, quads, 0.0, 0.0);
    std::vector<Vec3> corners;
    for (const auto& p : points)
      corners.push_back({p.x(), p.y(), p.z()});
    std::vector<std::array<std::uint32_t, 3>> sides;
    for (const auto& t : triangles)
      sides.push_back({t[0], t[1], t[2]});
    for (const auto& q : quads) {
      sides.push_back({q[0], q[1], q[2]});
      sides.push_back({q[0], q[2], q[3]});
    }
    return stock_from_mesh(std::move(corners), std::move(sides));
  } catch (const std::exception& e) {
    return refused(fmt::format("the volume cannot be read: {}", e.what()));
  }
}

} // namespace snagmap
