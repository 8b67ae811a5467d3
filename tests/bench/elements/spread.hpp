#pragma once

/// Random jobs, each in every writing that is one motion: how far apart are the webs and their S. With `tell`
/// the two spots that disagree stand under each line.
void measure_spread(int first_seed, int jobs, bool tell);
