# Writes the pages' files as C arrays: cmake -DOUT=<file.c> -DROOT=<folder> -P embed.cmake <files below ROOT>...
# Run by the build whenever one of the files changes. Needs nothing but CMake.

set(type_html "text/html; charset=utf-8")
set(type_css "text/css; charset=utf-8")
set(type_js "text/javascript; charset=utf-8")
set(type_svg "image/svg+xml")
set(type_png "image/png")
set(type_json "application/json")
set(type_webmanifest "application/manifest+json")

# The files stand behind "--", by their base names.
set(names "")
set(past FALSE)
math(EXPR last "${CMAKE_ARGC} - 1")
foreach(i RANGE ${last})
  if(past)
    get_filename_component(name "${CMAKE_ARGV${i}}" NAME)
    if(DEFINED path_of_${name})
      message(FATAL_ERROR "two files of the pages are named ${name}: ${path_of_${name}} and ${CMAKE_ARGV${i}}")
    endif()
    set(path_of_${name} "${CMAKE_ARGV${i}}")
    list(APPEND names "${name}")
  elseif("${CMAKE_ARGV${i}}" STREQUAL "--")
    set(past TRUE)
  endif()
endforeach()
list(SORT names COMPARE STRING)

set(arrays "")
set(rows "")
set(count 0)
foreach(name IN LISTS names)
  string(REGEX REPLACE "^.*\\." "" ending "${name}")
  if(NOT DEFINED type_${ending})
    message(FATAL_ERROR "no content type is known for ${path_of_${name}}")
  endif()
  file(READ "${ROOT}/${path_of_${name}}" bytes HEX)
  file(SHA256 "${ROOT}/${path_of_${name}}" digest)
  string(SUBSTRING "${digest}" 0 32 digest)
  string(LENGTH "${bytes}" length)
  math(EXPR length "${length} / 2")
  string(REGEX REPLACE "(................................)" "\\1\n" bytes "${bytes}")
  string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${bytes}")
  string(APPEND arrays "// ${path_of_${name}}\nstatic const unsigned char data_${count}[] = {\n${bytes}0x00};\n\n")
  string(APPEND rows "    {\"${name}\", \"${type_${ending}}\", (const char *)data_${count}, ${length}, \"\\\"${digest}\\\"\"},\n")
  math(EXPR count "${count} + 1")
endforeach()

file(WRITE "${OUT}" "// Written by embed.cmake from the pages' files: do not edit.
#include \"page/internal.h\"

${arrays}const struct page_file page_files[] = {
${rows}};
const size_t page_file_count = ${count};
")
