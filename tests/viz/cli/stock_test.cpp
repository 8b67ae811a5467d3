// A sheet with a pocket already in it, given as a file, previews as the sheet whose program cuts that pocket.
#include "tests/viz/real_program.hpp"

#include <nlohmann/json.hpp>
#include <vtkMassProperties.h>
#include <vtkNew.h>
#include <vtkPolyData.h>
#include <vtkXMLPolyDataReader.h>

#include <algorithm>
#include <cmath>

using namespace snagmap::testing;
using Json = nlohmann::ordered_json;

namespace {

constexpr double kRadius_mm = 3.175, kDepth_mm = 20, kX0 = -20, kX1 = 100, kY0 = -20, kY1 = 35,
                 kHeight_mm = 30;
constexpr int kEnd = 48; // edges of half a turn: within 0.0017 mm of the round end

/// The sheet with a slot from x = 0 to 80 at y = 0 in it, by points and triangles.
struct Block {
  std::vector<std::array<double, 3>> points;
  std::vector<std::array<std::size_t, 3>> triangles;
};

Block block_with_slot() {
  Block b;
  const double box[4][2] = {{kX0, kY0}, {kX1, kY0}, {kX1, kY1}, {kX0, kY1}};
  for (const double z : {-kHeight_mm, 0.0})
    for (const auto& c : box)
      b.points.push_back({c[0], c[1], z});
  const std::size_t n = 2 * (kEnd + 1);
  for (const double z : {-kDepth_mm, 0.0})
    for (std::size_t k = 0; k < n; ++k) { // anticlockwise from the lower end of the right half circle
      const bool right = k <= kEnd;
      const double phi =
          (right ? -0.5 : 0.5) * M_PI + M_PI * static_cast<double>(right ? k : k - kEnd - 1) / kEnd;
      b.points.push_back({(right ? 80 : 0) + kRadius_mm * std::cos(phi), kRadius_mm * std::sin(phi), z});
    }
  const auto quad = [&b](std::size_t p, std::size_t q, std::size_t r, std::size_t s) {
    b.triangles.push_back({p, q, r});
    b.triangles.push_back({p, r, s});
  };
  const std::size_t floor = 8, rim = 8 + n;
  quad(3, 2, 1, 0);
  for (std::size_t k = 0; k < 4; ++k)
    quad(k, (k + 1) % 4, 4 + (k + 1) % 4, 4 + k);
  for (std::size_t k = 0; k < n; ++k)
    quad(floor + (k + 1) % n, floor + k, rim + k, rim + (k + 1) % n);
  for (std::size_t k = 1; k + 1 < n; ++k)
    b.triangles.push_back({floor, floor + k, floor + k + 1});
  // Between rim and box: a fan from each corner of the box over a quarter of the rim, and a triangle at each
  // seam.
  const std::size_t seam[4] = {0, kEnd / 2, kEnd + 1,
                               kEnd + 1 + kEnd / 2}; // where corner k - 1 hands over to corner k
  for (std::size_t c = 0; c < 4; ++c) {
    const std::size_t corner = 4 + (c + 1) % 4, end = c == 3 ? n : seam[c + 1];
    b.triangles.push_back({4 + c, corner, rim + seam[c]});
    for (std::size_t k = seam[c]; k < end; ++k)
      b.triangles.push_back({corner, rim + (k + 1) % n, rim + k});
  }
  return b;
}

std::string stl(const Block& b) { // ASCII form, by the format's usual description; normals are not read
  std::ostringstream out;
  out.precision(9);
  out << "solid block\n";
  for (const auto& t : b.triangles) {
    out << "facet normal 0 0 0\nouter loop\n";
    for (const std::size_t p : t)
      out << "vertex " << b.points[p][0] << ' ' << b.points[p][1] << ' ' << b.points[p][2] << "\n";
    out << "endloop\nendfacet\n";
  }
  out << "endsolid block\n";
  return out.str();
}

std::string ply(const Block& b) {
  std::ostringstream out;
  out.precision(9);
  out << "ply\nformat ascii 1.0\nelement vertex " << b.points.size()
      << "\nproperty float x\nproperty float y\nproperty float z\nelement face " << b.triangles.size()
      << "\nproperty list uchar int vertex_indices\nend_header\n";
  for (const auto& p : b.points)
    out << p[0] << ' ' << p[1] << ' ' << p[2] << "\n";
  for (const auto& t : b.triangles)
    out << "3 " << t[0] << ' ' << t[1] << ' ' << t[2] << "\n";
  return out.str();
}

std::string obj(const Block& b) {
  std::ostringstream out;
  out.precision(9);
  for (const auto& p : b.points)
    out << "v " << p[0] << ' ' << p[1] << ' ' << p[2] << "\n";
  for (const auto& t : b.triangles)
    out << "f " << t[0] + 1 << ' ' << t[1] + 1 << ' ' << t[2] + 1 << "\n";
  return out.str();
}

class StockLine : public RealProgram {
protected:
  void SetUp() override {
    RealProgram::SetUp();
    const std::string start = "G21 G90 G17\nS18000 M3\nG0 Z5\n", end = "M30\n";
    const std::string pocket = "G0 X0 Y0\nG1 Z-20 F600\nG1 X80 F3000\nG0 Z5\n",
                      gap = "\n\n\n\n"; // same line numbers
    const std::string slot = "G0 X0 Y12.35\nG1 Z-20 F600\nG1 X80 F3000\nG0 Z5\n";
    put("both.nc", start + pocket + slot + end);
    put("pocket.nc", start + pocket + end);
    put("slot.nc", start + gap + slot + end);
    put("both.toml", scene("both.nc", kBox));
    put("pocket.toml", scene("pocket.nc", kBox));
  }
  static std::string scene(const std::string& program, const std::string& sheet) {
    return "program = \"" + program +
           "\"\nfoam = \"pu-22\"\ncutter = \"flat-6.35-long\"\nvoxel = \"0.5 mm\"\nsample = \"1 "
           "mm\"\n[sheet]\n" +
           sheet;
  }
  static Json preview(const std::string& words) {
    const Ran ran = run("preview " + words + " --json");
    EXPECT_EQ(ran.status & ~3, 0) << ran.err; // 0 or 3
    return Json::parse(ran.out);
  }
  /// Spots beside the slot, which is cut last and by the same lines in every program.
  static std::vector<Json> slot_spots(const Json& result) {
    std::vector<Json> spots;
    for (const Json& spot : result.at("spots"))
      if (spot.at("program_line") >= 8)
        spots.push_back(spot);
    return spots;
  }
  /// Every spot beside the slot is found again, up to a share in S and a length in place across the web. (A
  /// web that the pocket's own cut made worst has its spot there, so what is given may have more.)
  static void expect_found(const std::vector<Json>& spots, const std::vector<Json>& given, double share,
                           double length_mm) {
    ASSERT_GE(spots.size(), 2u);
    for (const Json& spot : spots) {
      const auto off = [&](const Json& other) {
        double far = 0;
        for (const std::size_t k : {1, 2}) // along X the web gives way alike, and rounding picks the place
          far = std::max(
              far, std::abs(spot.at("place_mm")[k].get<double>() - other.at("place_mm")[k].get<double>()));
        return far;
      };
      // Webs at both ends of the slot lie at one Y: the one that gives way alike is meant.
      const Json* found = nullptr;
      const auto apart = [&](const Json& other) {
        return std::abs(other.at("s_formula").get<double>() - spot.at("s_formula").get<double>());
      };
      for (const Json& other : given)
        if (off(other) <= length_mm && (!found || apart(other) < apart(*found)))
          found = &other;
      ASSERT_TRUE(found) << spot.dump(1);
      EXPECT_EQ(found->at("program_line"), spot.at("program_line"));
      EXPECT_EQ(found->at("level"), spot.at("level"));
      EXPECT_NEAR(found->at("s_formula").get<double>(), spot.at("s_formula").get<double>(),
                  share * spot.at("s_formula").get<double>());
    }
  }
  static constexpr const char* kBox =
      "size = [\"120 mm\", \"55 mm\", \"30 mm\"]\nzero = [\"20 mm\", \"20 mm\"]\n";
};

} // namespace

TEST_F(StockLine, MeshWithAPocketGivesTheSpotsOfTheSamePocketCut) {
  put("block.stl", stl(block_with_slot()));
  put("slot.toml", scene("slot.nc", "stock = \"block.stl\"\n"));
  const Json cut = preview("both.toml --verify none"), given = preview("slot.toml --verify 1 --out result");
  // The web's sides are planes, equal to the single precision of STL; its ends are round within 0.0017 mm,
  // and a length of 80 mm moves S by no more than its share of that.
  expect_found(slot_spots(cut), slot_spots(given), 1e-4, 0.002);
  EXPECT_EQ(given.at("scene").at("stock"), "block.stl");
  EXPECT_TRUE(cut.at("scene").at("stock").is_null());
  EXPECT_EQ(given.at("scene").at("sheet_low_mm"), cut.at("scene").at("sheet_low_mm"));
  const std::vector<Json> spots = slot_spots(given);
  EXPECT_TRUE(std::any_of(spots.begin(), spots.end(), [](const Json& spot) {
    return !spot.at("fe").is_null() && spot.at("fe").at("verified").get<bool>();
  })) << "finite elements see the pocket too";

  // What is left: the block less two slots with round ends; columns on the walls count whole or not at all.
  const double slot = (80 * 2 * kRadius_mm + M_PI * kRadius_mm * kRadius_mm) * kDepth_mm,
               left = (kX1 - kX0) * (kY1 - kY0) * kHeight_mm - 2 * slot;
  vtkNew<vtkXMLPolyDataReader> reader;
  reader->SetFileName("result/stock.vtp");
  vtkNew<vtkMassProperties> mass;
  mass->SetInputConnection(reader->GetOutputPort());
  mass->Update();
  EXPECT_NEAR(mass->GetVolume(), left, 0.002 * left);
  const std::string report = slurp("result/report.html");
  const double air = 100 * slot / ((kX1 - kX0) * (kY1 - kY0) * kHeight_mm);
  char words[80];
  std::snprintf(words, sizeof words, "block.stl; %.1f %% of the box around it is air before the first move",
                air);
  EXPECT_NE(report.find(words), std::string::npos) << words;
  EXPECT_TRUE(fs::exists("result/pictures/sheet.png"));
}

TEST_F(StockLine, EveryMeshFormatGivesTheSameResult) {
  const Block block = block_with_slot();
  put("block.stl", stl(block));
  put("block.ply", ply(block));
  put("block.OBJ", obj(block));
  std::vector<Json> results;
  for (const char* file : {"block.stl", "block.ply", "block.OBJ"}) {
    put("job.toml", scene("slot.nc", "stock = \"" + std::string(file) + "\"\n"));
    results.push_back(preview("job.toml --quick"));
    EXPECT_EQ(results.back().at("scene").at("stock"), file);
    results.back().at("scene").erase("stock");
  }
  EXPECT_EQ(results[0], results[1]);
  EXPECT_EQ(results[0], results[2]);
}

TEST_F(StockLine, ASecondJobStartsWhereTheFirstEnded) {
  ASSERT_EQ(run("preview pocket.toml --verify none --no-pictures --out first").status & ~3, 0)
      << slurp("err.txt");
  const std::vector<Json> cut = slot_spots(preview("both.toml --verify none"));
  // The skin has the walls where the moves left them, in single precision; round ends are its facets, within
  // 0.5^2 / (8 * 3.175) = 0.01 mm. Where along a web S is greatest is searched for to within 1 %.
  put("second.toml", scene("slot.nc", "stock = \"first/stock.vtp\"\n"));
  expect_found(cut, slot_spots(preview("second.toml --verify none")), 1e-2, 0.01);
}

TEST_F(StockLine, AVolumeOfOursIsASheetWithRoundedEdges) {
  ASSERT_EQ(run("preview pocket.toml --verify none --no-pictures --out first").status & ~3, 0)
      << slurp("err.txt");
  put("second.toml", scene("slot.nc", "stock = \"first/record.vdb\"\n"));
  const std::vector<Json> cut = slot_spots(preview("both.toml --verify none")),
                          given = slot_spots(preview("second.toml --verify none"));
  // The web of 19.5 mm beside the sheet's side: a plane within a tenth of its voxel, whose S goes with the
  // inverse cube at most.
  const auto wide = [](const std::vector<Json>& spots) {
    for (const Json& spot : spots)
      if (spot.at("side") == "conventional")
        return spot.at("s").get<double>();
    return 0.0;
  };
  ASSERT_GT(wide(cut), 0);
  EXPECT_NEAR(wide(given), wide(cut), 3 * 0.05 / 19.475 * wide(cut));
}

TEST_F(StockLine, OtherCommandsTakeASheetFromAFileToo) {
  put("block.stl", stl(block_with_slot()));
  put("slot.toml", scene("slot.nc", "stock = \"block.stl\"\n"));
  const Ran compared = run("compare slot.toml --cutter flat-6.35-stub --out both");
  EXPECT_EQ(compared.status & ~3, 0) << compared.err;
  put("plan.toml",
      "foams = [\"pu-22\"]\ncutters = [\"flat-6.35-long\"]\nprograms = [\"slot.toml\", \"both.toml\"]\n");
  const Ran swept = run("sweep plan.toml --out swept --no-pictures");
  EXPECT_EQ(swept.status, 0) << swept.err;
  EXPECT_NE(slurp("swept/table.csv").find("slot.nc"), std::string::npos);
}

TEST_F(StockLine, BrokenMeshesAreRefusedByNameWithAWayOut) {
  Block open = block_with_slot();
  open.triangles.erase(open.triangles.begin()); // half of the underside
  put("open.stl", stl(open));
  put("job.toml", scene("slot.nc", "stock = \"open.stl\"\n"));
  const Ran ran = run("preview job.toml");
  EXPECT_EQ(ran.status, 2);
  EXPECT_EQ(ran.err, "job.toml:7:9: stock \"open.stl\": the sheet's mesh is not closed: 3 open edges, one at "
                     "40.000, 7.500, -30.000 mm\n"
                     "  stock = \"open.stl\"\n          ^\n  close the mesh, or give the sheet as a box\n");
  EXPECT_FALSE(fs::exists("out"));
  const std::string whole = stl(block_with_slot());
  for (const auto& [name, text] :
       {std::pair<std::string, std::string>{"empty.stl", ""},
        {"cut.stl", whole.substr(0, whole.size() / 2)},
        {"words.stl", "this is no mesh\n"},
        {"words.ply", "this is no mesh\n"},
        {"words.obj", "this is no mesh\n"},
        {"huge.ply", "ply\nformat ascii 1.0\nelement vertex 4000000000\nproperty float x\nend_header\n"},
        {"cut.ply", ply(block_with_slot()).substr(0, 3000)},
        {"bad.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 9\n"}}) {
    put(name, text);
    put("job.toml", scene("slot.nc", "stock = \"" + name + "\"\n"));
    const Ran refused = run("preview job.toml");
    EXPECT_EQ(refused.status, 2) << name << ": " << refused.err;
    EXPECT_EQ(refused.err.rfind("job.toml:7:9: stock \"" + name + "\": the ", 0), 0u) << refused.err;
  }
}
