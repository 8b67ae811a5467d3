// CSV: a table read as the tree of values that the TOML reader gives, so that both are checked by the same
// code; and the one writer of rows.
#pragma once

#include "sim/text/toml.hpp"

#include <string>
#include <vector>

namespace snagmap {

/// What a CSV file holds. `top` is a table with one list, a table for each row. Rows with a fault are left
/// out of it; after a fault in the header there are none.
struct CsvTable {
  SceneValue top;
  std::vector<Fault> faults; ///< quotes left open, more cells than columns, a column named twice, no rows ...
};

/// RFC 4180 with a header line, and what spreadsheets make of it: a byte order mark; lines that end in CR LF,
/// LF or CR; semicolons or tabs for commas, with decimal commas then; columns and rows without content;
/// comments (lines that begin with #) in quotes. Units stand in the header, "thickness_top (mm)", and are put
/// behind each number of the column. Cells left empty are not there. The key of a value has the place of its
/// column in the header. The list stands under `key`.
CsvTable parse_csv_rows(const std::string& text, const std::string& name, const std::string& key);

/// The text as places in faults count its lines: without byte order mark, every line ends in LF.
std::string csv_text(const std::string& text);

/// The text as one cell of RFC 4180: plain (models/base/plain_text.hpp), in quotes where it must be. What a
/// spreadsheet would take for a formula (OWASP, "CSV Injection"; CWE-1236) gets an apostrophe in front;
/// numbers keep their sign. `parse_csv_rows` takes the apostrophe off again.
std::string csv_cell(const std::string& text);
/// The cells as one line, with its CR LF.
std::string csv_row(const std::vector<std::string>& cells);

} // namespace snagmap
