// A CSV table as the tree of values that the TOML reader gives, so that both are checked by the same code.
#pragma once

#include "sim/text/toml.hpp"

#include <string>

namespace snagmap {

/// RFC 4180 with a header line; empty lines and lines that begin with # are passed over. Units stand in the
/// header, "thickness_top (mm)", and are put behind each number of the column. Cells left empty are not
/// there. The result is a table with one list under `key`, a table for each row. Faults: ragged rows, open
/// quotes, a column named twice, no rows.
Outcome<SceneValue> parse_csv_rows(const std::string& text, const std::string& name, const std::string& key);

/// The text as one cell: in quotes where it must be; a line break becomes a space.
std::string csv_cell(const std::string& text);

} // namespace snagmap
