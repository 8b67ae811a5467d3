# Before the package is closed: manual pages and change log are compressed, as Debian's policy (12.1, 12.7) asks; -n
# leaves the time out, so the same tree gives the same bytes.
file(GLOB_RECURSE texts "${CPACK_TEMPORARY_DIRECTORY}/*")
list(FILTER texts INCLUDE REGEX "/man1/[^/]*\\.1$|/changelog$")
foreach(text IN LISTS texts)
  execute_process(COMMAND gzip -9n "${text}" COMMAND_ERROR_IS_FATAL ANY)
endforeach()
