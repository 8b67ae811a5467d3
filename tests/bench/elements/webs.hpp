#pragma once

/// The demo with every web by elements: how many are, and how long it takes.
void measure_webs();
