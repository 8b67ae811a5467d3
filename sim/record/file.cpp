#include "sim/record/file.hpp"

#include "sim/record/estimate.hpp"
#include "sim/record/grid.hpp"
#include "sim/record/mesh.hpp"
#include "sim/record/near.hpp"

#include <fmt/format.h>

#include <chrono>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <optional>
#include <unistd.h>

namespace snagmap {
namespace {

constexpr char kMagic[8] = {'s', 'n', 'a', 'g', 'r', 'e', 'c', '2'};
constexpr std::uint64_t kOrder = 0x0102030405060708ull; ///< tells a machine with other byte order

struct Header {
  char magic[8];
  std::uint64_t order, key, payload_bytes, checksum;
  double cut_s;
};

double seconds_since(std::chrono::steady_clock::time_point start) {
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

Fault unreadable(const std::string& file, const std::string& what) {
  return Fault(what, "cut the program again", file);
}

struct Closer {
  void operator()(std::FILE* f) const { std::fclose(f); }
};
using File = std::unique_ptr<std::FILE, Closer>;

class Writer {
public:
  explicit Writer(std::FILE* file) : file_(file) {}
  void raw(const void* bytes, std::size_t count) {
    if (count > 0 && std::fwrite(bytes, 1, count, file_) != count)
      good_ = false;
    sum_.add(bytes, count);
    bytes_ += count;
  }
  template <class T> void value(const T& v) {
    static_assert(std::is_arithmetic_v<T>);
    raw(&v, sizeof v);
  }
  template <class T> void list(const std::vector<T>& v) {
    static_assert(std::is_trivially_copyable_v<T>);
    value(static_cast<std::uint64_t>(v.size()));
    raw(v.data(), v.size() * sizeof(T));
  }
  bool good() const { return good_; }
  std::uint64_t bytes() const { return bytes_; }
  std::uint64_t checksum() const { return sum_.value(); }

private:
  std::FILE* file_;
  Checksum sum_;
  std::uint64_t bytes_ = 0;
  bool good_ = true;
};

/// Reads what Writer wrote; every count is held against the bytes left, so a false one cannot ask for memory.
class Reader {
public:
  Reader(std::FILE* file, std::uint64_t bytes) : file_(file), left_(bytes) {}
  void raw(void* bytes, std::size_t count) {
    if (!good_ || count > left_ || (count > 0 && std::fread(bytes, 1, count, file_) != count)) {
      good_ = false;
      std::memset(bytes, 0, count);
      return;
    }
    sum_.add(bytes, count);
    left_ -= count;
  }
  template <class T> void value(T& v) { raw(&v, sizeof v); }
  template <class T> void list(std::vector<T>& v) {
    std::uint64_t count = 0;
    value(count);
    if (!good_ || count > left_ / sizeof(T)) {
      good_ = false;
      return;
    }
    v.resize(static_cast<std::size_t>(count));
    raw(v.data(), v.size() * sizeof(T));
  }
  bool good() const { return good_; }
  std::uint64_t left() const { return left_; }
  std::uint64_t checksum() const { return sum_.value(); }

private:
  std::FILE* file_;
  Checksum sum_;
  std::uint64_t left_;
  bool good_ = true;
};

/// One order of the fields for both ways.
template <class Io, class Data> void fields(Io& io, Data& data, const std::function<void()>& after_sheet) {
  io.value(data.voxel_mm);
  for (auto* p : {&data.grid.box.low, &data.grid.box.high})
    io.value(p->x), io.value(p->y), io.value(p->z);
  io.value(data.moves);
  io.list(data.mesh.points);
  io.list(data.mesh.triangles);
  io.list(data.sweeps.kept);
  io.list(data.sweeps.starts);
  io.list(data.sweeps.arcs);
  io.list(data.sweeps.first);
  io.list(data.counted_mm3);
  after_sheet();
  for (auto& tile : data.tiles) {
    io.list(tile.offset);
    io.list(tile.cuts);
    io.list(tile.slices);
    io.list(tile.run_offset);
    io.list(tile.runs);
  }
}

/// Touches and profiles have unset bytes between their fields: they go number by number.
std::vector<double> numbers_of(const std::vector<Touch>& touches) {
  std::vector<double> out;
  for (const Touch& t : touches)
    out.insert(out.end(), {static_cast<double>(t.zone), t.rapid ? 1.0 : 0.0, static_cast<double>(t.move),
                           t.place.x, t.place.y, t.place.z, t.s, t.depth_mm});
  return out;
}
std::vector<double> numbers_of(const std::vector<ProfilePiece>& pieces) {
  std::vector<double> out;
  for (const ProfilePiece& p : pieces)
    out.insert(out.end(), {p.r0_mm, p.z0_mm, p.r1_mm, p.z1_mm, p.arc ? 1.0 : 0.0, p.centre_r_mm,
                           p.centre_z_mm, static_cast<double>(p.zone)});
  return out;
}
bool zone_of(double number, Zone& zone) {
  if (!(number >= 0 && number <= static_cast<double>(Zone::holder)))
    return false;
  zone = static_cast<Zone>(static_cast<int>(number));
  return true;
}

/// Offsets that rise from 0 to the size of what they point into.
bool rises(const std::vector<std::uint32_t>& offset, std::size_t count, std::size_t size) {
  if (offset.size() != count + 1 || offset.front() != 0 || offset.back() != size)
    return false;
  return std::is_sorted(offset.begin(), offset.end());
}

/// What reading a sweep will index with.
bool sweeps_hold_together(const RecordData& data) {
  const std::size_t sweeps = data.sweeps.size();
  std::size_t jumps = 0;
  for (std::size_t n = 0; n < sweeps; ++n) {
    const KeptSweep& sweep = data.sweeps.kept[n];
    if (sweep.flags & KeptSweep::kJumps) {
      if (jumps == data.sweeps.starts.size() || data.sweeps.starts[jumps].sweep != n)
        return false;
      ++jumps;
    } else if (n == 0) {
      return false; // nothing to go on from
    }
    if (sweep.kind > SweepKind::arc)
      return false;
    if (sweep.kind != SweepKind::none && sweep.body >= data.bodies.size())
      return false;
    if (sweep.kind == SweepKind::arc && sweep.arc >= data.sweeps.arcs.size())
      return false;
  }
  return data.sweeps.first.empty() ? sweeps == data.moves : rises(data.sweeps.first, data.moves, sweeps);
}

/// Everything else a query will index with.
bool holds_together(const RecordData& data) {
  const std::size_t sweeps = data.sweeps.size();
  if (data.counted_mm3.size() != data.moves)
    return false;
  const std::size_t blocks = static_cast<std::size_t>(data.grid.blocks_a_side() * data.grid.blocks_a_side());
  for (const Tile& tile : data.tiles) {
    if (tile.cuts.empty() != tile.offset.empty() || tile.cuts.empty() != tile.slices.empty())
      return false;
    if (!tile.cuts.empty() && (!rises(tile.offset, kTileColumns, tile.cuts.size()) ||
                               tile.slices.size() != blocks * static_cast<std::size_t>(data.grid.slices())))
      return false;
    for (const CutInterval& cut : tile.cuts)
      if (cut.stamp > data.moves)
        return false;
    if (tile.runs.empty() != tile.run_offset.empty())
      return false;
    if (!tile.runs.empty() && !rises(tile.run_offset, blocks, tile.runs.size()))
      return false;
    for (const BlockRun& run : tile.runs)
      if (run.first >= sweeps || run.count > sweeps - run.first)
        return false;
  }
  for (const auto& t : data.mesh.triangles)
    for (const std::uint32_t corner : t)
      if (corner >= data.mesh.points.size())
        return false;
  return true;
}

Outcome<Header> read_header(std::FILE* f, const std::string& file) {
  Header header;
  if (std::fread(&header, sizeof header, 1, f) != 1 || std::memcmp(header.magic, kMagic, sizeof kMagic) != 0)
    return unreadable(file, "this is no removal record, or of another version");
  if (header.order != kOrder)
    return unreadable(file, "the record was written on a machine with other byte order");
  std::error_code error;
  const auto size = std::filesystem::file_size(file, error);
  if (error || size != sizeof header + header.payload_bytes)
    return unreadable(file, "the record is cut short or too long");
  return header;
}

/// Why what was read is no record; none where it is one.
using Broken = std::optional<std::string>;

constexpr std::size_t kNumbersEach = 8; // of a touch, and of a piece of a profile

Broken read_cutter(Reader& in, RecordData& data) {
  std::vector<double> numbers;
  in.list(numbers);
  CutterCard card;
  for (std::size_t k = 0; k + kNumbersEach <= numbers.size(); k += kNumbersEach) {
    ProfilePiece p{numbers[k],          numbers[k + 1], numbers[k + 2], numbers[k + 3],
                   numbers[k + 4] != 0, numbers[k + 5], numbers[k + 6], Zone::flutes};
    if (!zone_of(numbers[k + 7], p.zone))
      return "an unknown zone";
    card.own_profile.push_back(p);
  }
  auto body = card.own_profile.empty() ? Outcome<Body>(Fault{}) : body_of(card);
  if (!body)
    return "a cutter that is none";
  data.profiles.push_back(card.own_profile);
  data.bodies.push_back(std::move(*body));
  return {};
}

Broken read_touches(Reader& in, RecordData& data) {
  std::vector<double> numbers;
  in.list(numbers);
  for (std::size_t k = 0; k + kNumbersEach <= numbers.size(); k += kNumbersEach) {
    Touch t;
    if (!zone_of(numbers[k], t.zone))
      return "an unknown zone";
    t.rapid = numbers[k + 1] != 0;
    if (!(numbers[k + 2] >= 0 && numbers[k + 2] < data.moves))
      return "a touch of no move";
    t.move = static_cast<std::uint32_t>(numbers[k + 2]);
    t.place = {numbers[k + 3], numbers[k + 4], numbers[k + 5]};
    t.s = numbers[k + 6];
    t.depth_mm = numbers[k + 7];
    data.touches.push_back(t);
  }
  return {};
}

/// Lays the columns over the sheet and makes room for the tiles.
Broken make_tiles(const Reader& in, RecordData& data) {
  const auto grid = grid_over(data.grid.box, data.voxel_mm);
  if (!in.good() || !grid)
    return "a sheet that is none";
  data.grid = *grid;
  const std::size_t tiles = static_cast<std::size_t>(grid->tiles_x) * static_cast<std::size_t>(grid->tiles_y);
  // Five counts a tile at the least: a false sheet cannot ask for more tiles than the file has bytes for.
  if (tiles > in.left() / (5 * sizeof(std::uint64_t)))
    return "too few bytes for the sheet";
  data.tiles.resize(tiles);
  return {};
}

/// What stands between the sheet and its tiles: cutters and touches.
Broken read_parts(Reader& in, RecordData& data) {
  std::uint64_t cutters = 0;
  in.value(cutters);
  for (std::uint64_t n = 0; in.good() && n < cutters; ++n)
    if (Broken broken = read_cutter(in, data))
      return broken;
  if (Broken broken = read_touches(in, data))
    return broken;
  return make_tiles(in, data);
}

/// Whether all that a query will index with fits; bins a mesh's triangles on the way.
Broken complete(const Reader& in, const Header& header, RecordData& data) {
  if (!in.good() || in.left() != 0)
    return "counts that do not fit its size";
  if (in.checksum() != header.checksum)
    return "another checksum than it was written with";
  if (!sweeps_hold_together(data))
    return "moves that do not fit together";
  choose_slices(data);
  if (!holds_together(data))
    return "parts that do not fit together";
  for (Tile& tile : data.tiles)
    group_runs(tile);
  if (!data.mesh.triangles.empty())
    bin_triangles(data.grid, data.mesh);
  return {};
}

Outcome<RemovalRecord> read_payload(std::FILE* f, const Header& header, const std::string& file) {
  Reader in(f, header.payload_bytes);
  RecordData data;
  data.key = header.key;
  data.cut_s = header.cut_s;
  Broken broken;
  fields(in, data, [&] { broken = read_parts(in, data); });
  if (!broken)
    broken = complete(in, header, data);
  if (broken)
    return unreadable(file, "the record has " + *broken);
  return RemovalRecord(std::move(data));
}

} // namespace

Outcome<std::size_t> save_record(const RemovalRecord& record, const std::string& file) {
  const RecordData& data = record.data();
  const std::string part = fmt::format("{}.part{}", file, ::getpid());
  File f(std::fopen(part.c_str(), "wb"));
  const auto failed = [&]() -> Fault {
    f.reset();
    std::error_code ignored;
    std::filesystem::remove(part, ignored);
    return Fault("the record cannot be written here", "choose a folder that can be written to and has room",
                 file);
  };
  if (!f)
    return failed();
  Header header{};
  std::memcpy(header.magic, kMagic, sizeof kMagic);
  if (std::fwrite(&header, sizeof header, 1, f.get()) != 1)
    return failed();
  Writer out(f.get());
  fields(out, data, [&] {
    out.value(static_cast<std::uint64_t>(data.profiles.size()));
    for (const auto& profile : data.profiles)
      out.list(numbers_of(profile));
    out.list(numbers_of(data.touches));
  });
  header.order = kOrder;
  header.key = data.key;
  header.payload_bytes = out.bytes();
  header.checksum = out.checksum();
  header.cut_s = data.cut_s;
  if (!out.good() || std::fseek(f.get(), 0, SEEK_SET) != 0 ||
      std::fwrite(&header, sizeof header, 1, f.get()) != 1 || std::fflush(f.get()) != 0)
    return failed();
  f.reset();
  std::error_code error;
  std::filesystem::rename(part, file, error);
  if (error)
    return failed();
  return sizeof header + static_cast<std::size_t>(out.bytes());
}

Outcome<RemovalRecord> load_record(const std::string& file) {
  const File f(std::fopen(file.c_str(), "rb"));
  if (!f)
    return unreadable(file, "the record cannot be opened");
  const auto header = read_header(f.get(), file);
  if (!header)
    return header.faults();
  return read_payload(f.get(), *header, file);
}

Outcome<Recall> load_or_cut(const std::string& file, const StockShape& stock,
                            const std::vector<CutterCard>& cutters, const Path& path,
                            const CutOptions& options) {
  const auto start = std::chrono::steady_clock::now();
  Recall recall;
  if (const File f(std::fopen(file.c_str(), "rb")); !f) {
    recall.why = "no saved record";
  } else if (const auto header = read_header(f.get(), file); !header) {
    recall.why = header.faults().front().what;
  } else if (header->key != record_key(stock, cutters, path, options.voxel_mm)) {
    recall.why = "the saved record is of another job";
  } else {
    // A first piece of the file tells how fast it comes.
    constexpr std::uint64_t kTaste = 4 << 20;
    std::vector<char> taste(static_cast<std::size_t>(std::min(kTaste, header->payload_bytes)));
    const auto tasted = std::chrono::steady_clock::now();
    const std::size_t got = std::fread(taste.data(), 1, taste.size(), f.get());
    Checksum sum;
    sum.add(taste.data(), got);
    const double expected = seconds_since(tasted) * static_cast<double>(header->payload_bytes) /
                            static_cast<double>(std::max<std::size_t>(got, 1));
    if (expected > header->cut_s) {
      recall.other_s = expected;
      recall.why = "cutting is faster than reading the saved record";
    } else if (std::fseek(f.get(), sizeof(Header), SEEK_SET) == 0) {
      auto record = read_payload(f.get(), *header, file);
      if (record) {
        recall.record = std::move(*record);
        recall.loaded = true;
        recall.seconds = seconds_since(start);
        recall.other_s = header->cut_s;
        recall.why = "reading the saved record is faster than cutting";
        return recall;
      }
      recall.why = record.faults().front().what;
    }
  }
  auto record = RemovalRecord::cut(stock, cutters, path, options);
  if (!record)
    return record.faults();
  recall.record = std::move(*record);
  recall.seconds = seconds_since(start);
  return recall;
}

} // namespace snagmap
