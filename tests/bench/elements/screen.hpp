#pragma once

/// Random features of every kind: how many could matter by elements and yet be passed over by the formula.
void measure_screen(int shapes);
