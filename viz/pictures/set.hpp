// The single pictures, and what they share. Each file picture_*.cpp draws one or two of them.
#pragma once

#include "sim/answer/answer.hpp"
#include "viz/draw/cutter_mesh.hpp"
#include "viz/draw/page.hpp"
#include "viz/draw/stage.hpp"
#include "viz/pictures/pictures.hpp"
#include "viz/skin/surfaces.hpp"
#include "viz/skin/zones.hpp"
#include "viz/space/bent_web.hpp"
#include "viz/space/sheet_shapes.hpp"

#include <memory>
#include <optional>

namespace snagmap {

/// Kept between the pictures of one preview: the skin at the end and what is painted on it.
struct PictureSource {
  const Preview& preview;
  const PictureOptions& options;
  Shown shown;
  Zones zones;
  std::shared_ptr<const JobAnswer> answer;
  std::optional<Mesh> end_skin;
  PictureSource(const Preview& p, const PictureOptions& o)
      : preview(p), options(o), shown{p.scene.show_inch}, zones(p), answer(job_answer(p)) {}
  const Mesh& skin();
};

/// A finished picture: its flat part, and the 3D stage beneath when there is one.
struct Picture {
  std::string name;
  Drawing drawing;
  std::unique_ptr<Stage> stage;
};

Picture sheet_picture(PictureSource& source);
Picture spot_picture(PictureSource& source, const Spot& spot); ///< named after its web
enum class MapKind { snag, thickness, feed, chip };
Picture map_picture(PictureSource& source, MapKind kind);
Picture strands_picture(PictureSource& source); ///< needs the checks of the whole job
Picture walls_picture(PictureSource& source);   ///< the same
Picture tool_picture(PictureSource& source);
Picture hold_down_picture(PictureSource& source);
Picture timeline_picture(PictureSource& source);
Picture feed_picture(PictureSource& source);
Picture narrowest_picture(PictureSource& source);
Picture width_picture(const WidthChart& chart, const PictureOptions& options);
/// Sizes and words come from `before`'s options and units.
Picture compare_picture(PictureSource& before, PictureSource& after);

/// The skin painted by snag number. Triangles that a zone's edge crosses are split, so that edges run
/// straighter than the skin's cells; pieces share no points with their neighbours.
PaintedMesh snag_painted(PictureSource& source);

/// The sheet's edges with ticks in work coordinates.
void draw_sheet_axes(Page& page, const Projection& view, const Box3& box, const Shown& shown);

} // namespace snagmap
