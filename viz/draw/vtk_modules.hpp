// VTK's drawing classes register themselves when their module is named. Named here, not by the build's
// vtk_module_autoinit: its file lies at a path of its own in every build folder, which no compiler cache sees
// past.
#pragma once

#include <vtkAutoInit.h>

VTK_MODULE_INIT(vtkRenderingOpenGL2);
VTK_MODULE_INIT(vtkRenderingFreeType);
VTK_MODULE_INIT(vtkRenderingContextOpenGL2);
VTK_MODULE_INIT(vtkInteractionStyle);
