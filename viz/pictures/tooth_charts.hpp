// Pictures of a web under the teeth: its lean in time with the wall left behind, and its tooth number over
// speed.
#pragma once

#include "models/tooth/in_time.hpp"
#include "sim/tooth/lobes.hpp"
#include "viz/draw/drawing.hpp"
#include "viz/draw/picture_options.hpp"
#include "viz/words/shown.hpp"

#include <string>

namespace snagmap {

/// `name` of the web, as people read it.
Drawing tooth_time_chart(const std::string& name, const ToothTrace& trace, double feed_mm_min,
                         const Shown& shown, const PictureOptions& options);
Drawing tooth_lobe_chart(const std::string& name, const ToothLobes& lobes, const WebTooth& from,
                         const Shown& shown, const PictureOptions& options);

} // namespace snagmap
