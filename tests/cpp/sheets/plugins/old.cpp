#include "stopspan/exporter.hpp"

extern "C" int stopspan_exporter_version() {
    return stopspan::exporter_interface_version - 1;
}
extern "C" const stopspan::Exporter *const *stopspan_exporters() {
    throw 1; // must not be asked after its version was refused
}
