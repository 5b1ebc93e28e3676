#include "bindings.hpp"

#include "stopspan/files.hpp"

namespace stopspan::python {

using namespace py::literals;

void register_files(py::module_ &module, py::class_<Circuit> &circuit, py::class_<Installation> &installation) {
    module.def(
        "installation_schema", [] { return installation_schema(); }, "The XML schema of the installation file.");
    module.def(
        "load", [](const py::object &path) { return Installation::load(to_path(path)); }, "path"_a,
        "Read an installation file (.xml) or a wiring table (.csv).\n\nRaises:\n    FileError: With file and line.");

    installation.def(
        "save", [](const Installation &self, const py::object &path) { self.save(to_path(path)); }, "path"_a,
        "Write the installation file (.xml).\n\nRaises:\n    FileError: The file cannot be written.");
    circuit
        .def(
            "to_csv", [](const Circuit &self) { return write_wiring_table(self); },
            "The wiring table: device,kind,terminal,net,parameter,value.")
        .def_static(
            "from_csv", [](const std::string &csv, const std::string &name) { return read_wiring_table(csv, name); },
            "csv"_a, "name"_a = "wiring table",
            "Read a wiring table from text; `name` is for messages.\n\nRaises:\n    FileError: With the line.");
}

} // namespace stopspan::python
