# Writes OUT, a C++ file with the bytes of each of FILES as a std::string_view in namespace snagmap; NAMES are theirs.
# Usage: cmake -D OUT=pages.cpp "-D FILES=a.html;b.css" "-D NAMES=kHtml;kStyle" -P scripts/embed.cmake
set(text "#include <string_view>\n\nnamespace snagmap {\n")
foreach(file name IN ZIP_LISTS FILES NAMES)
  file(READ ${file} bytes HEX)
  string(REGEX REPLACE "(..)" "'\\\\x\\1'," bytes "${bytes}")
  string(APPEND text "\nstatic constexpr char ${name}Bytes[] = {${bytes}};\n"
    "extern const std::string_view ${name};\nconst std::string_view ${name}(${name}Bytes, sizeof ${name}Bytes);\n")
endforeach()
file(WRITE ${OUT} "${text}\n} // namespace snagmap\n")
