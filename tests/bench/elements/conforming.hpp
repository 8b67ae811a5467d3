#pragma once

/// Shapes of many kinds by the program's elements against outside ones on conforming meshes.
void measure_shapes();
