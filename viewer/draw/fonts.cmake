# The letters, baked in: two font files of the package fonts-inter as arrays of bytes, so that a picture needs no font on
# the machine that draws it. They are found while configuring; the arrays are written again only when a file changes.
function(boltwalk_bake_font name files output)
  find_file(boltwalk_font_${name} NAMES ${files}
    PATHS /usr/share/fonts /usr/local/share/fonts
    PATH_SUFFIXES opentype/inter truetype/inter opentype/fonts-inter truetype/fonts-inter inter
    DOC "font file for ${name} (package fonts-inter)" NO_CMAKE_FIND_ROOT_PATH REQUIRED)
  set(source ${boltwalk_font_${name}})
  set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${source})
  if(EXISTS ${output} AND NOT ${source} IS_NEWER_THAN ${output})
    return()
  endif()
  file(READ ${source} bytes HEX)
  string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${bytes}")
  string(REGEX REPLACE "((0x[0-9a-f][0-9a-f],)(0x[0-9a-f][0-9a-f],)(0x[0-9a-f][0-9a-f],)(0x[0-9a-f][0-9a-f],))" "\\1\n" bytes "${bytes}")
  file(WRITE ${output} "extern const unsigned char boltwalk_font_${name}[];\nextern const unsigned long boltwalk_font_${name}_size;\nconst unsigned char boltwalk_font_${name}[] = {\n${bytes}};\nconst unsigned long boltwalk_font_${name}_size = sizeof boltwalk_font_${name};\n")
endfunction()

set(font_sources ${CMAKE_CURRENT_BINARY_DIR}/font_text.cpp ${CMAKE_CURRENT_BINARY_DIR}/font_strong.cpp)
boltwalk_bake_font(text "Inter-Medium.otf;Inter-Medium.ttf" ${CMAKE_CURRENT_BINARY_DIR}/font_text.cpp)
boltwalk_bake_font(strong "Inter-SemiBold.otf;Inter-SemiBold.ttf" ${CMAKE_CURRENT_BINARY_DIR}/font_strong.cpp)
