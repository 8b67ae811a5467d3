# What is installed beside the program, and the Debian package: `scripts/package/deb`.
find_package(Python3 COMPONENTS Interpreter REQUIRED)
set(pages ${CMAKE_CURRENT_BINARY_DIR}/pages)
set(source ${CMAKE_CURRENT_SOURCE_DIR}/scripts/package)
# Made from the program's own --help, so that neither page nor completion can say anything else.
add_custom_command(OUTPUT ${pages}/snagmap.1
  COMMAND ${CMAKE_COMMAND} -E rm -rf ${pages}
  COMMAND Python3::Interpreter ${source}/describe $<TARGET_FILE:snagmap> ${pages}
  DEPENDS snagmap ${source}/describe)
add_custom_target(snagmap_pages ALL DEPENDS ${pages}/snagmap.1)

install(TARGETS snagmap RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR} COMPONENT program)
install(DIRECTORY scenes/ DESTINATION ${CMAKE_INSTALL_DATADIR}/snagmap/scenes COMPONENT program)
install(FILES README.md DESTINATION ${CMAKE_INSTALL_DOCDIR} COMPONENT program)
install(FILES ${source}/copyright ${source}/changelog DESTINATION ${CMAKE_INSTALL_DATADIR}/doc/snagmap COMPONENT program)
install(DIRECTORY ${pages}/ DESTINATION ${CMAKE_INSTALL_MANDIR}/man1 COMPONENT program FILES_MATCHING PATTERN "*.1")
install(FILES ${pages}/snagmap.bash DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions RENAME snagmap
  COMPONENT program)
install(FILES ${pages}/_snagmap DESTINATION ${CMAKE_INSTALL_DATADIR}/zsh/vendor-completions COMPONENT program)
install(FILES ${pages}/snagmap.fish DESTINATION ${CMAKE_INSTALL_DATADIR}/fish/vendor_completions.d COMPONENT program)
install(FILES ${source}/snagmap.desktop DESTINATION ${CMAKE_INSTALL_DATADIR}/applications COMPONENT program)
install(FILES ${source}/snagmap.svg DESTINATION ${CMAKE_INSTALL_DATADIR}/icons/hicolor/scalable/apps COMPONENT program)
install(FILES ${source}/snagmap.xml DESTINATION ${CMAKE_INSTALL_DATADIR}/mime/packages COMPONENT program)

# `cmake --build build/KIND --target uninstall` takes away what the last install from there wrote (or the one whose list of
# files is given: cmake -D MANIFEST=FILE -P uninstall.cmake), and nothing else.
file(CONFIGURE OUTPUT uninstall.cmake @ONLY CONTENT [[
if(NOT MANIFEST)
  set(MANIFEST "@CMAKE_CURRENT_BINARY_DIR@/install_manifest.txt")
endif()
if(NOT EXISTS "${MANIFEST}")
  message(FATAL_ERROR "nothing to uninstall: there is no ${MANIFEST}")
endif()
file(STRINGS "${MANIFEST}" files)
foreach(name IN LISTS files)
  file(REMOVE "$ENV{DESTDIR}${name}")
  get_filename_component(folder "$ENV{DESTDIR}${name}" DIRECTORY)
  list(APPEND folders "${folder}")
endforeach()
file(REMOVE "${MANIFEST}")
# Folders that are empty now and are named after the program; deepest first.
list(REMOVE_DUPLICATES folders)
list(SORT folders ORDER DESCENDING)
foreach(folder IN LISTS folders)
  while(folder MATCHES "/snagmap(/|$)" AND IS_DIRECTORY "${folder}")
    file(GLOB left "${folder}/*")
    if(left)
      break()
    endif()
    file(REMOVE_RECURSE "${folder}")
    get_filename_component(folder "${folder}" DIRECTORY)
  endwhile()
endforeach()
]])
add_custom_target(uninstall COMMAND ${CMAKE_COMMAND} -P ${CMAKE_CURRENT_BINARY_DIR}/uninstall.cmake)

set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_NAME snagmap)
set(CPACK_PACKAGE_CONTACT "the makers of snagmap <snagmap@example.org>")
set(CPACK_DEBIAN_PROGRAM_DESCRIPTION
  "preview which thin features of a soft-foam insert will snag
Reads the NC program of a foam insert, the sheet and the cutter, and says
before the cut which thin webs will be drawn into the flutes, where, at which
program line and how sure it is: as a table, a report with pictures, and files
other programs can read. It predicts; it does not replace the manuals of
machine and cutter.")
set(CPACK_DEB_COMPONENT_INSTALL ON)
set(CPACK_COMPONENTS_ALL program)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_NAME snagmap)
set(CPACK_DEBIAN_PROGRAM_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_SECTION science)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_PRIORITY optional)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
# Pictures are drawn on a display of their own, in software.
set(CPACK_DEBIAN_PROGRAM_PACKAGE_DEPENDS "xvfb, libgl1-mesa-dri, fonts-dejavu-core")
set(CPACK_STRIP_FILES ON)
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_PRE_BUILD_SCRIPTS ${source}/compress.cmake)
include(CPack)
