// What the page runs, as text: files that the build puts into the program.
#pragma once

namespace snagmap {

extern const char* const kThreeJs;      ///< three.js as Debian's libjs-three ships it, minified
extern const char* const kThreeLicence; ///< its licence, which goes wherever it goes
extern const char *const kSpaceUnpackJs, *const kSpaceViewJs, *const kSpacePageJs; ///< ours, in this order

} // namespace snagmap
