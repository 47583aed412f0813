# The same for the web. Its compiler must not see /usr/include as a whole (the C library there is another one), so the
# headers that it may see are linked into a folder of their own; Dear ImGui, which the distribution gives compiled only, is
# compiled from the distribution's own source (third_party/source fetches it, viewer/web/build calls that). So is SQLite.
set(boltwalk_remedy "run third_party/install run web, which installs what third_party/packages.txt lists")
set(boltwalk_web_headers ${CMAKE_BINARY_DIR}/headers)
file(MAKE_DIRECTORY ${boltwalk_web_headers})
foreach(name fmt glm nlohmann stb tl tiny_gltf.h)
  if(NOT EXISTS /usr/include/${name})
    message(FATAL_ERROR "/usr/include/${name} is not there: ${boltwalk_remedy}")
  endif()
  file(CREATE_LINK /usr/include/${name} ${boltwalk_web_headers}/${name} SYMBOLIC)
endforeach()
foreach(name fmt expected glm json tinygltf stb)
  add_library(boltwalk_${name} INTERFACE)
  target_include_directories(boltwalk_${name} SYSTEM INTERFACE ${boltwalk_web_headers})
endforeach()
target_compile_definitions(boltwalk_fmt INTERFACE FMT_HEADER_ONLY)
target_compile_definitions(boltwalk_stb INTERFACE STB_IMAGE_STATIC STB_IMAGE_WRITE_STATIC STBTT_STATIC STBRP_STATIC)

file(GLOB boltwalk_imgui_dir ${CMAKE_BINARY_DIR}/source/imgui-*)
if(NOT boltwalk_imgui_dir)
  message(FATAL_ERROR "Dear ImGui's source is not there: build the page with viewer/web/build")
endif()
list(GET boltwalk_imgui_dir -1 boltwalk_imgui_dir)
add_library(boltwalk_imgui STATIC ${boltwalk_imgui_dir}/imgui.cpp ${boltwalk_imgui_dir}/imgui_draw.cpp
  ${boltwalk_imgui_dir}/imgui_tables.cpp ${boltwalk_imgui_dir}/imgui_widgets.cpp)
target_include_directories(boltwalk_imgui SYSTEM PUBLIC ${boltwalk_imgui_dir})
target_include_directories(boltwalk_imgui PRIVATE ${boltwalk_web_headers}/stb)
target_compile_definitions(boltwalk_imgui PUBLIC IMGUI_DISABLE_DEMO_WINDOWS IMGUI_DISABLE_FILE_FUNCTIONS)

file(GLOB boltwalk_sqlite_dir ${CMAKE_BINARY_DIR}/source/sqlite3-*)
if(NOT boltwalk_sqlite_dir)
  message(FATAL_ERROR "SQLite's source is not there: build the page with viewer/web/build")
endif()
list(GET boltwalk_sqlite_dir -1 boltwalk_sqlite_dir)
# Its own scripts put it together in one file; the tools that they build first are for this machine.
set(boltwalk_sqlite_made ${CMAKE_BINARY_DIR}/sqlite)
file(MAKE_DIRECTORY ${boltwalk_sqlite_made})
add_custom_command(OUTPUT ${boltwalk_sqlite_made}/sqlite3.c ${boltwalk_sqlite_made}/sqlite3.h
  COMMAND ${CMAKE_COMMAND} -E env --unset=CC --unset=CFLAGS sh ${boltwalk_sqlite_dir}/configure --disable-shared --disable-readline --disable-tcl
  COMMAND ${CMAKE_COMMAND} -E env --unset=CC --unset=CFLAGS make sqlite3.c
  WORKING_DIRECTORY ${boltwalk_sqlite_made} COMMENT "SQLite in one file" VERBATIM)
add_library(boltwalk_sqlite STATIC ${boltwalk_sqlite_made}/sqlite3.c ${boltwalk_sqlite_made}/sqlite3.h)
target_include_directories(boltwalk_sqlite SYSTEM PUBLIC ${boltwalk_sqlite_made})
# One thread and one connection, plain tables: the rest would only weigh.
target_compile_definitions(boltwalk_sqlite PRIVATE SQLITE_THREADSAFE=0 SQLITE_OMIT_LOAD_EXTENSION SQLITE_OMIT_SHARED_CACHE
  SQLITE_OMIT_DEPRECATED SQLITE_OMIT_JSON SQLITE_OMIT_WAL SQLITE_MAX_MMAP_SIZE=0 SQLITE_DEFAULT_MEMSTATUS=0 SQLITE_DQS=0)
target_compile_options(boltwalk_sqlite PRIVATE -w)
