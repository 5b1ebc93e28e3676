#include "bindings.hpp"

PYBIND11_MODULE(_core, module) {
    using namespace stopspan::python;
    module.doc() = "Compiled core of stopspan. Private: use what the package stopspan re-exports.";
    module.attr("__version__") = STOPSPAN_VERSION;

    // The two classes with methods from several rooms are declared first, so that every signature knows them.
    py::class_<stopspan::Circuit> circuit(module, "Circuit",
                                          "Devices and the nets their terminals are wired to. Net \"PE\" is earth.");
    py::class_<stopspan::Installation> installation(
        module, "Installation", "A workshop: what is asked of it, what was recorded, what is wired, what it does.");
    register_error(module);
    register_verdict(module);
    register_compare(module);
    register_drawing(module);
    register_lists(module, circuit, installation);
    register_circuit(module, circuit);
    register_replay(module, circuit);
    register_description(module, installation);
    register_installation(installation);
    register_check(module, circuit, installation);
    register_standing_check(module);
    register_arrangements(module, installation);
    register_overload(module);
    register_performance(module);
    register_sizes(module, circuit, installation);
    register_exporter(module, circuit, installation);
    register_files(module, circuit, installation);
}
