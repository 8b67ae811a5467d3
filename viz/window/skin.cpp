#include "viz/window/skin.hpp"

#include "sim/threads/parallel.hpp"
#include "viz/draw/vtk_mesh.hpp"

#include <vtkCellData.h>
#include <vtkNew.h>
#include <vtkPolyDataMapper.h>
#include <vtkProperty.h>
#include <vtkRenderer.h>

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

double cell_for(const Preview& preview, double cells) {
  const Vec3 size = preview.scene.sheet.high - preview.scene.sheet.low;
  return std::max(preview.record->voxel_mm(), std::sqrt(size.x * size.y / cells));
}

std::vector<Colour> painted(const std::vector<int>& of, const WindowSkin::Paint& paint) {
  std::vector<Colour> out;
  out.reserve(of.size());
  for (const int sample : of)
    out.push_back(paint(sample));
  return out;
}

} // namespace

WindowSkin::WindowSkin(const Preview& preview, const Zones& zones, double cells, bool split,
                       vtkRenderer* renderer)
    : preview_(&preview), zones_(&zones),
      skin_(preview, {cell_for(preview, cells), 0, 32, std::nullopt, std::nullopt}), split_(split),
      tiles_(static_cast<std::size_t>(skin_.tiles())) {
  for (std::size_t i = 0; i < tiles_.size(); ++i) {
    auto actor = vtkSmartPointer<vtkActor>::New();
    actor->SetMapper(vtkNew<vtkPolyDataMapper>());
    set_matte(actor->GetProperty());
    renderer->AddActor(actor);
    actors_.push_back(actor);
  }
}

void WindowSkin::show(bool visible) {
  for (const auto& actor : actors_)
    actor->SetVisibility(visible);
}

void WindowSkin::set(std::size_t tile, const Mesh& mesh, const Paint& paint) {
  vtkPolyDataMapper::SafeDownCast(actors_[tile]->GetMapper())
      ->SetInputData(poly_data(mesh, painted(tiles_[tile].of, paint)));
}

void WindowSkin::update(Moment t, const Spot* spot, const BentWeb* bent, const Paint& paint) {
  std::vector<int> todo;
  if (made_) {
    todo = skin_.changed(at_, t);
  } else {
    for (int i = 0; i < skin_.tiles(); ++i)
      todo.push_back(i);
  }
  parallel_each(todo.size(), [&](std::size_t k) {
    ZonedMesh& tile = tiles_[static_cast<std::size_t>(todo[k])];
    Mesh mesh = skin_.tile(todo[k], t).mesh;
    if (split_) {
      tile = split_at_zones(*preview_, *zones_, mesh);
    } else {
      tile.of = zones_->of(mesh);
      tile.mesh = std::move(mesh);
    }
  });
  at_ = t;
  made_ = true;
  // Bent tiles of the last picture stand straight again, those of this one bend.
  todo.insert(todo.end(), bent_.begin(), bent_.end());
  bent_.clear();
  if (spot && bent) {
    const double reach = spot->question.web.w_mm + 2 * spot->question.web.h_mm + 5;
    for (std::size_t i = 0; i < tiles_.size(); ++i) {
      const auto& points = tiles_[i].mesh.points;
      if (std::any_of(points.begin(), points.end(),
                      [&](Vec3 p) { return norm(xy(p) - xy(spot->place_mm)) < reach; }))
        bent_.push_back(static_cast<int>(i));
    }
    todo.insert(todo.end(), bent_.begin(), bent_.end());
  }
  std::sort(todo.begin(), todo.end());
  todo.erase(std::unique(todo.begin(), todo.end()), todo.end());
  for (const int tile : todo) {
    const auto i = static_cast<std::size_t>(tile);
    if (!std::binary_search(bent_.begin(), bent_.end(), tile)) {
      set(i, tiles_[i].mesh, paint);
      continue;
    }
    Mesh mesh = tiles_[i].mesh;
    for (Vec3& p : mesh.points)
      p = p + (*bent)(p);
    set(i, mesh, paint);
  }
}

void WindowSkin::recolour(const Paint& paint) {
  if (!made_)
    return;
  for (std::size_t i = 0; i < tiles_.size(); ++i) {
    const auto fresh = poly_data(tiles_[i].mesh, painted(tiles_[i].of, paint));
    vtkPolyDataMapper::SafeDownCast(actors_[i]->GetMapper())
        ->GetInput()
        ->GetCellData()
        ->SetScalars(fresh->GetCellData()->GetScalars());
  }
}

} // namespace snagmap
