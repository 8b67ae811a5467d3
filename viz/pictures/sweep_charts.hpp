// Charts of a campaign.
#pragma once

#include "sim/study/sweep_table.hpp"
#include "viz/draw/drawing.hpp"
#include "viz/draw/picture_options.hpp"

#include <string>
#include <vector>

namespace snagmap {

/// Narrowest wall that holds against flute length, a line and its band for each foam; of the pass and height
/// most walls share.
Drawing narrowest_chart(const std::vector<NarrowestWall>& walls, const std::string& title,
                        const PictureOptions& options = {});
/// Shorter against longer flutes: each pair's ratio with its band, Lambda held equal.
Drawing ranking_chart(const std::vector<CutterRanking>& rankings, const std::string& title,
                      const PictureOptions& options = {});

} // namespace snagmap
