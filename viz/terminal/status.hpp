// Exit statuses of every command.
#pragma once

namespace snagmap {

constexpr int kNothingFound = 0, kProgramFailed = 1, kInputWrong = 2, kStopTheJob = 3;

} // namespace snagmap
