// The foam's skin in the window: one actor for each tile, so that a step of the slider makes anew only what a
// move touched. Private to the window: includes VTK.
#pragma once

#include "viz/pictures/set.hpp"

#include <vtkActor.h>
#include <vtkSmartPointer.h>

#include <functional>
#include <vector>

class vtkRenderer;

namespace snagmap {

class WindowSkin {
public:
  /// `cells`: of the skin's grid in plan. With `split` zones have straight edges; a tile then costs three
  /// times as much.
  WindowSkin(const Preview& preview, const Zones& zones, double cells, bool split, vtkRenderer* renderer);
  /// Colour of a sample's zone; -1 is bare foam.
  using Paint = std::function<Colour(int sample)>;
  /// The skin at a moment, with the web beside `spot` bent when there is one.
  void update(Moment t, const Spot* spot, const BentWeb* bent, const Paint& paint);
  void recolour(const Paint& paint);
  void show(bool visible);
  const std::vector<vtkSmartPointer<vtkActor>>& actors() const { return actors_; }

private:
  void set(std::size_t tile, const Mesh& mesh, const Paint& paint);
  const Preview* preview_;
  const Zones* zones_;
  Skin skin_;
  bool split_, made_ = false;
  Moment at_ = 0;
  std::vector<ZonedMesh> tiles_;
  std::vector<vtkSmartPointer<vtkActor>> actors_;
  std::vector<int> bent_; ///< tiles that stand bent in the last picture
};

} // namespace snagmap
