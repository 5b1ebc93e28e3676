#include "bindings.hpp"

#include "stopspan/installation.hpp"

namespace stopspan::python {

using namespace py::literals;

void register_installation(py::class_<Installation> &installation) {
    installation.def(py::init<std::string>(), "name"_a)
        .def_property(
            "name", [](const Installation &self) { return self.description.name; },
            [](Installation &self, const std::string &name) { self.description.name = name; })
        .def_property(
            "recorded", [](Installation &self) -> Circuit & { return self.recorded; },
            [](Installation &self, const Circuit &circuit) { self.recorded = circuit; },
            py::return_value_policy::reference_internal,
            "What was entered as found, a Circuit; can be edited in place. stopspan.load(\"old.csv\").recorded reads a "
            "wiring table.")
        .def("circuit", &Installation::circuit,
             "The circuit as wired, a copy: arrangements and what was recorded.\n\n"
             "Raises:\n    ModelError: What the description asks for cannot be wired.")
        .def("__copy__", [](const Installation &self) { return Installation(self); })
        .def(
            "__deepcopy__", [](const Installation &self, const py::dict &) { return Installation(self); }, "memo"_a)
        .def(
            "__eq__",
            [](const Installation &self, const py::object &object) {
                if (!py::isinstance<Installation>(object))
                    return false;
                const auto &other = object.cast<const Installation &>();
                return self.description == other.description && self.recorded == other.recorded;
            },
            "other"_a)
        .def("_repr_html_",
             [](const py::object &self) {
                 return py::module_::import("stopspan.display").attr("installation_html")(self);
             })
        .def("__repr__", [](const Installation &self) {
            return "<Installation " + self.description.name + ": " +
                   std::to_string(self.description.machines().size()) + " machines, " +
                   std::to_string(self.description.stops().size()) + " stop devices>";
        });
    installation.attr("__hash__") = py::none();
}

} // namespace stopspan::python
