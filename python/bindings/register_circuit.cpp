#include "bindings.hpp"

#include "stopspan/circuit.hpp"
#include "stopspan/error.hpp"

#include <pybind11/operators.h>
#include <pybind11/stl.h>

namespace stopspan::python {

using namespace py::literals;

namespace {

// A device as Python sees it: with names of nets instead of their numbers, and free of the circuit it came from.
struct DeviceView {
    std::string designation;
    std::string kind;
    py::dict terminals;
    py::dict parameters;
};

DeviceView view(const Circuit &circuit, const Device &device) {
    DeviceView made{device.designation, std::string(to_text(device.kind)), {}, from_parameters(device.parameters)};
    for (const Device::Terminal &each : device.terminals)
        made.terminals[py::str(each.name)] = circuit.net_name(each.net);
    return made;
}

} // namespace

void register_circuit(py::module_ &module, py::class_<Circuit> &circuit) {
    module.def("device_kinds", [] {
        std::vector<std::string_view> words;
        for (const DeviceKind kind : all_device_kinds())
            words.push_back(to_text(kind));
        return words;
    });

    py::class_<DeviceView>(module, "Device", "A device as wired, a copy: changing it changes no circuit.")
        .def_readonly("designation", &DeviceView::designation)
        .def_readonly("kind", &DeviceView::kind)
        .def_readonly("terminals", &DeviceView::terminals, "Terminal to net, in the order given.")
        .def_readonly("parameters", &DeviceView::parameters)
        .def("__repr__", [](const DeviceView &self) {
            return "<" + self.designation + " " + self.kind + " " + std::string(py::repr(self.terminals)) + ">";
        });

    circuit.def(py::init<>())
        .def(
            "add",
            [](Circuit &self, const std::string &designation, const std::string &kind, const py::dict &terminals,
               const py::kwargs &parameters) {
                self.add(designation, device_kind(kind), to_connections(designation, terminals),
                         to_parameters(designation, parameters));
            },
            "designation"_a, "kind"_a, "terminals"_a,
            "Add a device.\n\nArgs:\n    designation: Unique here, such as \"K1\".\n    kind: Such as \"contactor\".\n"
            "    terminals: Terminal to net; terminals on one net are joined.\n"
            "    **parameters: What is known of it, with units in the names; None is unknown.\n\n"
            "Raises:\n    ModelError: Name taken, unknown terminal or parameter, coil without voltage.")
        .def("connect", &Circuit::connect, "designation"_a, "terminal"_a, "net"_a,
             "Move one terminal to another net.\n\nRaises:\n    ModelError: No such device or terminal.")
        .def(
            "set_parameter",
            [](Circuit &self, const std::string &designation, const std::string &parameter, const py::object &value) {
                self.set_parameter(designation, parameter, to_parameter(designation, parameter, value));
            },
            "designation"_a, "parameter"_a, "value"_a, "Set one parameter.\n\nRaises:\n    ModelError: As `add`.")
        .def("remove", &Circuit::remove, "designation"_a,
             "Take a device out.\n\nRaises:\n    ModelError: No such device.")
        .def_property_readonly(
            "devices",
            [](const Circuit &self) {
                std::vector<DeviceView> views;
                for (const Device &device : self.devices())
                    views.push_back(view(self, device));
                return views;
            },
            "All devices, in the order of adding.")
        .def_property_readonly(
            "nets",
            [](const Circuit &self) { return std::vector<std::string>(self.nets().begin(), self.nets().end()); },
            "All nets, in the order of first use.")
        .def_property_readonly("machines", &Circuit::machines, "Names of all machines.")
        .def_property_readonly("stops", &Circuit::stops, "Designations of all stop devices.")
        .def(
            "__getitem__",
            [](const Circuit &self, const std::string &designation) { return view(self, self.at(designation)); },
            "designation"_a)
        .def(
            "__contains__",
            [](const Circuit &self, const std::string &designation) { return self.find(designation).has_value(); },
            "designation"_a)
        .def("__len__", [](const Circuit &self) { return self.devices().size(); })
        .def("__copy__", [](const Circuit &self) { return Circuit(self); })
        .def(
            "__deepcopy__", [](const Circuit &self, const py::dict &) { return Circuit(self); }, "memo"_a)
        .def(
            "__eq__",
            [](const Circuit &self, const py::object &other) {
                return py::isinstance<Circuit>(other) && self == other.cast<const Circuit &>();
            },
            "other"_a)
        .def("__repr__", [](const Circuit &self) {
            return "<Circuit: " + std::to_string(self.devices().size()) + " devices, " +
                   std::to_string(self.nets().size()) + " nets>";
        });
    circuit.attr("__hash__") = py::none();
}

} // namespace stopspan::python
