#include "stopspan/exporter.hpp"

extern "C" int stopspan_exporter_version() {
    return stopspan::exporter_interface_version - 1;
}
extern "C" const stopspan::Exporter *stopspan_exporter() {
    throw 1; // must not be asked after its version was refused
}
