// Volumes of the record against VTK's boolean of triangulated solids: sheet less swept bodies. VTK's filter
// holds where surfaces cross in general position, so places and angles are odd numbers.
#include "sim/probe/volumes.hpp"
#include "sim/record/record.hpp"

#include <gtest/gtest.h>
#include <vtkBooleanOperationPolyDataFilter.h>
#include <vtkCellArray.h>
#include <vtkMassProperties.h>
#include <vtkNew.h>
#include <vtkPoints.h>
#include <vtkPolyData.h>
#include <vtkSmartPointer.h>
#include <vtkSphereSource.h>
#include <vtkTransform.h>
#include <vtkTransformPolyDataFilter.h>

#include <cmath>

using namespace snagmap;

namespace {

constexpr double kVoxel_mm = 0.25;
const Box3 kSheet{{0, 0, -30}, {60, 50, 0}};

using Solid = vtkSmartPointer<vtkPolyData>;

Solid box(const Box3& b) {
  Solid solid = Solid::New();
  vtkNew<vtkPoints> points;
  for (int n = 0; n < 8; ++n)
    points->InsertNextPoint(n & 1 ? b.high.x : b.low.x, n & 2 ? b.high.y : b.low.y,
                            n & 4 ? b.high.z : b.low.z);
  const vtkIdType sides[12][3] = {{0, 2, 3}, {0, 3, 1}, {0, 1, 5}, {0, 5, 4}, {2, 6, 7}, {2, 7, 3},
                                  {0, 4, 6}, {0, 6, 2}, {1, 3, 7}, {1, 7, 5}, {4, 5, 7}, {4, 7, 6}};
  vtkNew<vtkCellArray> faces;
  for (const auto& side : sides)
    faces->InsertNextCell(3, side);
  solid->SetPoints(points);
  solid->SetPolys(faces);
  return solid;
}

/// The body of a flat cutter along a level line: a prism over a slot with round ends, round to `kEdges`
/// edges.
constexpr int kEdges = 96, kBallEdges = 32;
Solid slot(Vec3 from, Vec3 to, double radius, double top) {
  const Vec2 u = (1 / norm(xy(to) - xy(from))) * (xy(to) - xy(from));
  std::vector<Vec2> rim;
  for (int end = 0; end < 2; ++end)
    for (int k = 0; k <= kEdges / 2; ++k) {
      const double phi = std::atan2(u.y, u.x) + (end ? 0.5 : -0.5) * M_PI + 2 * M_PI * k / kEdges;
      const Vec3& at = end ? from : to;
      rim.push_back(xy(at) + radius * Vec2{std::cos(phi), std::sin(phi)});
    }
  vtkNew<vtkPoints> points;
  const auto n = static_cast<vtkIdType>(rim.size());
  for (const double z : {from.z, top})
    for (const Vec2& p : rim)
      points->InsertNextPoint(p.x, p.y, z);
  vtkNew<vtkCellArray> faces;
  const auto face = [&](vtkIdType a, vtkIdType b, vtkIdType c) {
    const vtkIdType ids[3] = {a, b, c};
    faces->InsertNextCell(3, ids);
  };
  for (vtkIdType k = 0; k < n; ++k) {
    const vtkIdType next = (k + 1) % n;
    face(k, next, n + next);
    face(k, n + next, n + k);
    if (k > 0 && k + 1 < n) {
      face(0, k + 1, k);
      face(n, n + k, n + k + 1);
    }
  }
  Solid solid = Solid::New();
  solid->SetPoints(points);
  solid->SetPolys(faces);
  return solid;
}

Solid ball(Vec3 centre, double radius) {
  vtkNew<vtkSphereSource> source;
  source->SetRadius(radius);
  source->SetThetaResolution(kBallEdges);
  source->SetPhiResolution(kBallEdges);
  vtkNew<vtkTransform> place;
  place->Translate(centre.x, centre.y, centre.z);
  place->RotateX(11); // its poles off the axes of the sheet
  place->RotateZ(17);
  vtkNew<vtkTransformPolyDataFilter> moved;
  moved->SetInputConnection(source->GetOutputPort());
  moved->SetTransform(place);
  moved->Update();
  return moved->GetOutput();
}

Solid minus(const Solid& a, const Solid& b) {
  vtkNew<vtkBooleanOperationPolyDataFilter> boolean;
  boolean->SetOperationToDifference();
  boolean->SetInputData(0, a);
  boolean->SetInputData(1, b);
  boolean->Update();
  return boolean->GetOutput();
}

double volume(const Solid& solid) {
  vtkNew<vtkMassProperties> mass;
  mass->SetInputData(solid);
  mass->Update();
  return mass->GetVolume();
}

Move move(Vec3 from, Vec3 to) {
  Move m;
  m.from = from;
  m.to = to;
  m.kind = MoveKind::line;
  return m;
}

double foam_left(const CutterCard& cutter, const std::vector<Move>& moves) {
  Path path;
  path.moves = moves;
  CutOptions options;
  options.voxel_mm = kVoxel_mm;
  const auto record = RemovalRecord::cut({kSheet}, {cutter}, path, options);
  double left = volume(box(kSheet));
  for (const double removed : removed_mm3(*record))
    left -= removed;
  return left;
}

/// Columns on the rim count whole or not at all: half a voxel of the outline, times the depth; an edge of the
/// solid is short of the circle by its sagitta.
double allowed(double outline_mm, double depth_mm, double radius, int edges = kEdges) {
  return (0.5 * kVoxel_mm + radius * (1 - std::cos(M_PI / edges))) * outline_mm * depth_mm;
}

} // namespace

TEST(RecordAgainstBooleanSolids, CrossingSlotsOfDifferentDepths) {
  CutterCard cutter;
  cutter.diameter_mm = cutter.shank_diameter_mm = 6.35;
  cutter.flute_length_mm = 25;
  cutter.stick_out_mm = 60;
  const double r = 3.175;
  const Vec3 a{11.3, 14.7, -12.3}, b{47.9, 33.1, -12.3}, c{17.1, 38.9, -7.7}, d{44.3, 9.3, -7.7};
  const double expected = volume(minus(minus(box(kSheet), slot(a, b, r, 3)), slot(c, d, r, 4)));
  const double outline = 2 * (norm(b - a) + norm(d - c)) + 4 * M_PI * r;
  const double left = foam_left(cutter, {move(a, b), move(c, d)});
  EXPECT_NEAR(left, expected, allowed(outline, 12.3, r));
  // The check can tell: a slot left out moves the volume by more than the tolerance.
  EXPECT_GT(std::abs(foam_left(cutter, {move(a, b)}) - expected), allowed(outline, 12.3, r));
}

TEST(RecordAgainstBooleanSolids, BallsStandingHalfInTheSheet) {
  // A sphere with nothing above it, where it stands only: three poses, two of them meeting.
  CutterCard cutter;
  cutter.name = "sphere";
  ProfilePiece half;
  const double r = 5;
  half.z1_mm = 2 * r;
  half.arc = true;
  half.centre_z_mm = r;
  cutter.own_profile = {half};
  const Vec3 poses[] = {{17.3, 19.1, -3.7}, {23.9, 22.3, -5.1}, {45.7, 31.3, -1.9}};
  Solid solid = box(kSheet);
  std::vector<Move> moves;
  for (const Vec3& p : poses) {
    solid = minus(solid, ball(p, r));
    moves.push_back(move({p.x, p.y, p.z - r}, {p.x, p.y, p.z - r}));
  }
  EXPECT_NEAR(foam_left(cutter, moves), volume(solid), 3 * allowed(2 * M_PI * r, 2 * r, r, kBallEdges));
}
