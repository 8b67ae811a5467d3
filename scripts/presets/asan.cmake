include(${CMAKE_CURRENT_LIST_DIR}/sanitised.cmake)
set(CMAKE_CXX_FLAGS "-fsanitize=address,undefined -fno-sanitize-recover=undefined -fno-omit-frame-pointer" CACHE STRING "")
