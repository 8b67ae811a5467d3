// Zones laid on the skin: splitting triangles at a zone's edge changes neither the skin nor what is found on
// it.
#include "viz/skin/zones.hpp"

#include "tests/viz/preview_fixture.hpp"
#include "viz/skin/surfaces.hpp"

using namespace snagmap;

namespace {

double painted_mm2(const Mesh& mesh, const std::vector<int>& of) {
  double sum = 0;
  for (std::size_t i = 0; i < of.size(); ++i)
    if (of[i] >= 0)
      sum += 0.5 * norm(area_vector(mesh, mesh.triangles[i]));
  return sum;
}

struct ZoneEdges : testing::Test {
  const Preview preview = fixture_preview();
  const Zones zones{preview};
  Mesh skin(double cell_mm) const {
    SkinOptions options;
    options.cell_mm = cell_mm;
    return Skin(preview, options).whole(preview.record->end());
  }
};

} // namespace

TEST_F(ZoneEdges, SplitTrianglesCoverTheSameSkin) {
  const Mesh mesh = skin(2);
  const ZonedMesh split = split_at_zones(preview, zones, mesh);
  ASSERT_EQ(split.of.size(), split.mesh.triangles.size());
  EXPECT_GT(split.of.size(), mesh.triangles.size());
  EXPECT_NEAR(area_mm2(split.mesh), area_mm2(mesh), 1e-9 * area_mm2(mesh));
  EXPECT_NEAR(volume_mm3(split.mesh), volume_mm3(mesh), 1e-9 * volume_mm3(mesh));
}

TEST_F(ZoneEdges, OnACoarseSkinTheZonesAreNearlyAsLargeAsOnAFineOne) {
  // Against a skin of a quarter of the cell: a zone's edge is then off by at most a quarter of what it was.
  const Mesh coarse = skin(2), fine = skin(0.5);
  const double true_mm2 = painted_mm2(fine, zones.of(fine));
  const ZonedMesh split = split_at_zones(preview, zones, coarse);
  const double whole_off = std::abs(painted_mm2(coarse, zones.of(coarse)) - true_mm2),
               split_off = std::abs(painted_mm2(split.mesh, split.of) - true_mm2);
  EXPECT_LT(split_off, std::max(0.5 * whole_off, 0.01 * true_mm2));
}
