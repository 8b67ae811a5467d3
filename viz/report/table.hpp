// The report's lists: spots, findings by kind, and the program's text about both.
#pragma once

#include "sim/preview/preview.hpp"

#include <map>
#include <string>
#include <vector>

namespace snagmap {

constexpr std::size_t kSpotsListed = 100; // result.json and spots.csv hold all

/// What a list may link to.
struct ReportLinks {
  std::vector<std::string> pictures;           ///< names, without their ending
  std::map<std::int32_t, std::string> program; ///< quoted lines by number
  bool has(const std::string& picture) const;
  /// The picture that shows a spot best: the close-up of its web, the map; or none.
  std::string picture_of(const Preview& preview, std::size_t rank) const;
  /// "line 12", linked where the line is quoted.
  std::string line(std::int32_t number) const;
};

/// Lines of the program about every spot and finding listed; empty when the file cannot be read any more.
std::map<std::int32_t, std::string> quoted_lines(const Preview& preview);

std::string spot_table_html(const Preview& preview, const ReportLinks& links);
/// Grouped by kind, what stops the job first.
std::string findings_html(const Preview& preview, const ReportLinks& links);
/// The quoted lines in order, each spot's and finding's marked and linked back.
std::string program_html(const Preview& preview, const ReportLinks& links);

/// A table cell: `head` names its column where the table is folded into cards, `value` sorts it.
std::string cell(const std::string& head, const std::string& html, bool number = false,
                 const std::string& value = "");

/// A list; `none` in its place when there are no items.
std::string list_html(const std::vector<std::string>& items, const char* none = "");
/// A term and what it is, of a <dl>; `term` as HTML.
std::string entry_html(const char* term, const std::string& words);

} // namespace snagmap
