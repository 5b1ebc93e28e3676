#include "stopspan/exporter.hpp"

extern "C" int stopspan_exporter_version() {
    return stopspan::exporter_interface_version;
}
extern "C" const stopspan::Exporter *const *stopspan_exporters() {
    throw 1; // what is no exception, too
}
