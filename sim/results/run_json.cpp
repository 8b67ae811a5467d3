#include "sim/results/run_json.hpp"

namespace snagmap {
namespace {

using Json = nlohmann::ordered_json;

Json stretches(const std::vector<Stretch>& list) {
  Json all = Json::array();
  for (const Stretch& one : list)
    all.push_back({{"program_line", one.from_line},
                   {"last_line", one.to_line},
                   {"time_s", one.time_s},
                   {"place_mm", {one.place_mm.x, one.place_mm.y, one.place_mm.z}},
                   {"length_mm", one.length_mm},
                   {"spent_s", one.spent_s}});
  return all;
}

} // namespace

nlohmann::ordered_json run_json(const RunNumbers& run) {
  Json over = Json::array(), thin = Json::array();
  for (const FeedOverLimit& one : run.feeds.over)
    over.push_back({{"program_line", one.line},
                    {"last_line", one.last_line},
                    {"moves", one.moves},
                    {"length_mm", one.length_mm},
                    {"programmed_mm_min", one.programmed_mm_min},
                    {"allowed_mm_min", one.allowed_mm_min}});
  for (const ThinChips& one : run.thin)
    thin.push_back({{"cutter", one.cutter},
                    {"least_chip_mm", one.least_mm},
                    {"in_foam_mm", one.in_foam_mm},
                    {"in_foam_s", one.in_foam_s},
                    {"thin_mm", one.thin_mm},
                    {"thin_s", one.thin_s},
                    {"longest", stretches(one.longest)}});
  return {{"cutting_s", run.time.cutting_s},
          {"rapids_s", run.time.rapids_s},
          {"changes_s", run.time.changes_s},
          {"waiting_s", run.time.waiting_s},
          {"feed",
           {{"length_mm", run.feeds.length_mm},
            {"by_feed_words_s", run.feeds.by_words_s},
            {"real_s", run.feeds.real_s},
            {"slow_mm", run.feeds.slow_mm},
            {"slow_s", run.feeds.slow_s},
            {"slow", stretches(run.feeds.slow)},
            {"over_limit_mm", run.feeds.over_mm},
            {"over_limit_places", run.feeds.over_places},
            {"over_limit", over}}},
          {"thin_chips", thin},
          {"foam_removed",
           {{"total_mm3", run.foam.total_mm3},
            {"known_within", kVolumeKnown},
            {"by_columns_mm3", run.foam.by_columns_mm3},
            {"busiest_minute_mm3", run.foam.busiest_minute_mm3},
            {"busiest_from_s", run.foam.busiest_from_s},
            {"busiest_line", run.foam.busiest_line},
            {"largest_run_mm3", run.foam.largest_run_mm3},
            {"largest_run_line", run.foam.run_line},
            {"largest_run_time_s", run.foam.run_from_s},
            {"neck_room_mm3", run.foam.neck_room_mm3},
            {"loose_times_low", kBulkLow},
            {"loose_times_high", kBulkHigh}}}};
}

} // namespace snagmap
