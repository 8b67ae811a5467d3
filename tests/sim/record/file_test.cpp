// Keeping a record: every query comes back bit for bit; broken files are refused; estimates hold.
#include "sim/probe/volumes.hpp"
#include "sim/record/file.hpp"
#include "tests/sim/record_fixture.hpp"

#include <filesystem>
#include <fstream>
#include <random>

using namespace snagmap;
using namespace snagmap::testing;

namespace {

const Box3 kSheet{{0, 0, -30}, {70, 50, 0}};

Path busy_program() {
  std::mt19937 random(12);
  std::uniform_real_distribution<double> x(0, 70), y(0, 50), z(-28, 3);
  std::vector<Move> moves;
  Vec3 at{0, 0, 5};
  for (int n = 0; n < 60; ++n) {
    Move move = line(at, {x(random), y(random), n % 3 ? at.z : z(random)},
                     n % 9 == 4 ? MoveKind::rapid : MoveKind::line);
    if (n % 5 == 2)
      move = arc(at, {at.x + 6, at.y + 2}, n % 2 ? 3.0 : -2.0, n % 4 ? 0 : -1);
    move.tool = static_cast<std::int16_t>(n % 2);
    moves.push_back(move);
    at = move.to;
  }
  return path_of(moves);
}

std::vector<CutterCard> two_cutters() {
  CutterCard ball = flat_cutter(8, 9);
  ball.tip = TipShape::ball;
  ball.neck_diameter_mm = 6;
  ball.neck_length_mm = 20;
  return {flat_cutter(6, 12), ball};
}

std::string answers(const RemovalRecord& record) {
  std::string bits;
  const auto put = [&](auto v) { bits.append(reinterpret_cast<const char*>(&v), sizeof v); };
  put(record.end()), put(record.voxel_mm()), put(record.box().low.x), put(record.box().high.z);
  for (double v : removed_mm3(record))
    put(v);
  for (const Touch& t : record.touches()) {
    put(static_cast<int>(t.zone)), put(t.rapid), put(t.move), put(t.place.x), put(t.place.y), put(t.place.z),
        put(t.s), put(t.depth_mm);
  }
  std::mt19937 random(1);
  std::uniform_real_distribution<double> u(0, 1);
  for (int n = 0; n < 4000; ++n) {
    const Vec3 p{70 * u(random), 50 * u(random), -30 * u(random)};
    const double phi = 6.28 * u(random);
    const auto t = static_cast<Moment>(u(random) * (record.end() + 1));
    put(record.removed_by(p)), put(record.solid(p, t)), put(record.top_mm(xy(p), t));
    const Span span = record.look(p, {std::cos(phi), std::sin(phi)}, 40, t);
    put(span.gap_mm), put(span.thickness_mm), put(span.hit), put(span.through);
    for (const Slab& slab : record.column(xy(p), t))
      put(slab.low_mm), put(slab.high_mm);
  }
  return bits;
}

/// A folder of the test's own, gone afterwards.
class RecordFile : public ::testing::Test {
protected:
  RecordFile()
      : folder_(std::filesystem::temp_directory_path() / ("snagmap_record_" + std::to_string(::getpid()))) {
    std::filesystem::create_directories(folder_);
  }
  ~RecordFile() override { std::filesystem::remove_all(folder_); }
  std::string name(const char* file) const { return (folder_ / file).string(); }
  std::filesystem::path folder_;
};

std::vector<char> content(const std::string& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}
void write(const std::string& file, const std::vector<char>& bytes) {
  std::ofstream(file, std::ios::binary).write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
}

} // namespace

TEST_F(RecordFile, LoadedRecordAnswersBitForBit) {
  const auto record = cut(kSheet, two_cutters(), busy_program());
  const auto bytes = save_record(record, name("a"));
  ASSERT_TRUE(bytes) << to_text(bytes.faults()[0]);
  EXPECT_EQ(*bytes, std::filesystem::file_size(name("a")));
  const auto loaded = load_record(name("a"));
  ASSERT_TRUE(loaded) << to_text(loaded.faults()[0]);
  EXPECT_FALSE(record.touches().empty());
  EXPECT_TRUE(answers(record) == answers(*loaded));
  EXPECT_EQ(std::distance(std::filesystem::directory_iterator(folder_), {}), 1) << "no partial file is left";
}

TEST_F(RecordFile, BrokenFilesAreRefused) {
  ASSERT_TRUE(save_record(cut(kSheet, two_cutters(), busy_program()), name("a")));
  const std::vector<char> good = content(name("a"));
  EXPECT_FALSE(load_record(name("none")));
  std::mt19937 random(3);
  for (int n = 0; n < 300; ++n) {
    std::vector<char> bad = good;
    if (n % 3 == 0)
      bad.resize(random() % bad.size());
    else
      bad[n % 2 ? random() % bad.size() : random() % 200] ^= static_cast<char>(1 + random() % 255);
    if (n % 2 && n % 3) { // behind the header: the checksum must tell
      bad = good;
      bad[56 + random() % (bad.size() - 56)] ^= 4;
    }
    write(name("b"), bad);
    const auto loaded = load_record(name("b"));
    // The key (bytes 16..23) and the time of the cut (40..47) are no part of the record itself.
    if (loaded) {
      EXPECT_TRUE(std::equal(good.begin() + 48, good.end(), bad.begin() + 48)) << n;
    }
  }
  std::vector<char> longer = good;
  longer.push_back(0);
  write(name("b"), longer);
  EXPECT_FALSE(load_record(name("b")));
  EXPECT_EQ(load_record(name("b")).faults()[0].what, "the record is cut short or too long");
}

TEST_F(RecordFile, UnwritablePlaceIsAFault) {
  const auto record = cut(kSheet, two_cutters(), busy_program());
  EXPECT_FALSE(save_record(record, name("no/such/folder/a")));
}

TEST_F(RecordFile, AnotherJobsRecordIsNotTaken) {
  const Path path = busy_program();
  CutOptions options;
  ASSERT_TRUE(save_record(cut(kSheet, two_cutters(), path), name("a")));
  const auto same = load_or_cut(name("a"), {kSheet}, two_cutters(), path, options);
  ASSERT_TRUE(same);
  EXPECT_TRUE(same->loaded || same->why == "cutting is faster than reading the saved record") << same->why;
  EXPECT_GT(same->other_s, 0) << "both times are reported";
  Path other = path;
  other.moves[3].to.x += 0.001;
  other.moves[4].from.x += 0.001;
  const auto changed = load_or_cut(name("a"), {kSheet}, two_cutters(), other, options);
  ASSERT_TRUE(changed);
  EXPECT_FALSE(changed->loaded);
  EXPECT_EQ(changed->why, "the saved record is of another job");
  EXPECT_TRUE(answers(changed->record) == answers(cut(kSheet, two_cutters(), other)));
}

TEST(RecordEstimates, EstimateIsNearTheTruth) {
  const Box3 sheet{{0, 0, -30}, {200, 150, 0}};
  std::vector<Move> moves;
  Vec3 at{10, 10, 5};
  for (double z : {-6.0, -12.0, -18.0})
    for (int row = 0; row < 40; ++row) {
      const Vec3 to{row % 2 ? 10.0 : 190.0, 10.0 + 3.2 * row, z};
      moves.push_back(line(at, {at.x, to.y, z}));
      moves.push_back(line(moves.back().to, to));
      at = to;
    }
  const Path path = path_of(moves);
  const std::vector<CutterCard> cutters{flat_cutter(6, 25)};
  for (double voxel : {0.5, 0.25}) {
    const auto estimate = RemovalRecord::estimate({sheet}, cutters, path, voxel);
    ASSERT_TRUE(estimate);
    const auto record = cut(sheet, cutters, path, voxel);
    // Edges of the cut count by the outline, so coarse columns of 0.35 mm are off by their share of it.
    EXPECT_GT(static_cast<double>(estimate->bytes), 0.9 * static_cast<double>(record.bytes()));
    EXPECT_LT(static_cast<double>(estimate->bytes), 1.3 * static_cast<double>(record.bytes()) + 4e6);
  }
}

TEST(RecordEstimates, CutThatWouldNotFitSaysWhichVoxelWould) {
  const Path path = path_of({line({-5, 25, -5}, {75, 25, -5}), line({75, 25, -10}, {-5, 25, -10})});
  CutOptions options;
  options.voxel_mm = 0.05;
  options.memory_limit_bytes = 10'000'000;
  const auto refused = RemovalRecord::cut({kSheet}, {flat_cutter(6, 25)}, path, options);
  ASSERT_FALSE(refused);
  const Fault fault = refused.faults()[0];
  EXPECT_NE(fault.what.find("the limit is 10 MB"), std::string::npos) << fault.what;
  double voxel = 0;
  ASSERT_EQ(std::sscanf(fault.way_out.c_str(), "voxels of %lf mm would fit", &voxel), 1) << fault.way_out;
  options.voxel_mm = voxel;
  const auto fits = RemovalRecord::cut({kSheet}, {flat_cutter(6, 25)}, path, options);
  ASSERT_TRUE(fits) << to_text(fits.faults()[0]);
  EXPECT_LE(fits->bytes(), options.memory_limit_bytes);
}
