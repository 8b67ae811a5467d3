// A 3D view in parallel projection: what stands on it, and where each millimetre falls in the picture.
#pragma once

#include "models/base/vec.hpp"
#include "viz/draw/colours.hpp"
#include "viz/skin/mesh.hpp"

#include <memory>
#include <vector>

class vtkActor;
class vtkRenderer;

namespace snagmap {

/// Where the eye stands. Parallel projection: lengths in the picture's plane are true everywhere.
struct Eye {
  double turn_deg = -60;  ///< compass of the eye about +z, 0 = looking from +x
  double height_deg = 38; ///< over the horizon
};

/// The projection, worked out without VTK, so that axes and scale bars sit where the picture's pixels are.
struct Projection {
  Vec3 right, up, back; ///< unit, of the picture; back points to the eye
  Vec3 centre;          ///< mm, falls on centre_px
  Vec2 centre_px;
  double px_per_mm = 1;
  Vec2 operator()(Vec3 p) const {
    const Vec3 d = p - centre;
    return {centre_px.x + px_per_mm * dot(d, right), centre_px.y - px_per_mm * dot(d, up)};
  }
};
/// Fits a box into the pixel rectangle low..high (y down).
Projection fit(const Eye& eye, const Box3& box, Vec2 low, Vec2 high);

class Stage {
public:
  Stage(int width, int height, Colour background);
  ~Stage();
  Stage(const Stage&) = delete;
  Stage& operator=(const Stage&) = delete;

  void set(const Projection& projection);
  const Projection& projection() const { return projection_; }
  /// Foam and other solids; `colours` one for each triangle.
  void add(const Mesh& mesh, const std::vector<Colour>& colours, double shine = 0);
  /// The same in its plain colours, without light or shade.
  void add_unlit(const Mesh& mesh, const std::vector<Colour>& colours);
  /// Lines drawn on top of surfaces they lie in.
  void add_line(const std::vector<Vec3>& points, Colour colour, double width_px);

  vtkRenderer* renderer() const;
  int width() const { return width_; }
  int height() const { return height_; }

private:
  struct Parts;
  vtkActor* place(const Mesh& mesh, const std::vector<Colour>& colours);
  std::unique_ptr<Parts> parts_;
  Projection projection_;
  int width_, height_;
};

} // namespace snagmap
