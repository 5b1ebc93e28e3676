# stopspan_add_exporter(<format> <sources>...): one plugin, lib<format> as a loadable module without prefix. All plugins
# stand together in STOPSPAN_EXPORTER_DIR of the build tree, in stopspan/exporters of the wheel, and in
# <libdir>/stopspan/exporters of an installation for C++.
set(STOPSPAN_EXPORTER_DIR ${PROJECT_BINARY_DIR}/python/stopspan/exporters)

function(stopspan_add_exporter format)
  add_library(stopspan_${format} MODULE ${ARGN})
  set_target_properties(stopspan_${format} PROPERTIES
    PREFIX "" OUTPUT_NAME ${format} LIBRARY_OUTPUT_DIRECTORY ${STOPSPAN_EXPORTER_DIR})
  # A plugin sees the public headers and what exporters share; it is linked to nothing of the core.
  target_include_directories(stopspan_${format} PRIVATE ${PROJECT_SOURCE_DIR}/exporters/common)
  target_link_libraries(stopspan_${format} PRIVATE stopspan::plugin stopspan_build)
  install(TARGETS stopspan_${format} LIBRARY DESTINATION stopspan/exporters COMPONENT python)
  install(TARGETS stopspan_${format} LIBRARY DESTINATION ${CMAKE_INSTALL_LIBDIR}/stopspan/exporters COMPONENT cpp)
endfunction()
