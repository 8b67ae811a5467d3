include(${CMAKE_CURRENT_LIST_DIR}/sanitised.cmake)
set(CMAKE_CXX_FLAGS "-fsanitize=thread" CACHE STRING "")
