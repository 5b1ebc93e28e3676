# stopspan_add_exporter(<format> <sources>...): one plugin, lib<format> as a loadable module without prefix. All plugins
# stand together in STOPSPAN_EXPORTER_DIR of the build tree, in stopspan/exporters of the wheel, and in
# <libdir>/stopspan/exporters of an installation for C++.
set(STOPSPAN_EXPORTER_DIR ${PROJECT_BINARY_DIR}/python/stopspan/exporters)

function(stopspan_add_exporter format)
  add_library(stopspan_${format} MODULE ${ARGN})
  set_target_properties(stopspan_${format} PROPERTIES
    PREFIX "" OUTPUT_NAME ${format} LIBRARY_OUTPUT_DIRECTORY ${STOPSPAN_EXPORTER_DIR})
  # What a plugin takes from the core stays inside it: two copies in one process must not mix.
  target_link_options(stopspan_${format} PRIVATE -Wl,--exclude-libs,ALL)
  target_link_libraries(stopspan_${format} PRIVATE stopspan::core stopspan_build)
  install(TARGETS stopspan_${format} LIBRARY DESTINATION stopspan/exporters COMPONENT python)
  install(TARGETS stopspan_${format} LIBRARY DESTINATION ${CMAKE_INSTALL_LIBDIR}/stopspan/exporters COMPONENT cpp)
endfunction()
