#include "bindings.hpp"

#include "stopspan/sizes.hpp"

#include <pybind11/stl.h>

namespace stopspan::python {

using namespace py::literals;

namespace {

/// Sizes with the name of what was sized.
struct Sized {
    Sizes sizes;
    std::string installation;
};

SizeOptions options_of(double ambient_c, double running_drop_percent, double starting_drop_percent,
                       double control_drop_percent, double control_csa_mm2, double cable_capacitance_uf_per_km,
                       double source_impedance_ohm, std::size_t state_budget, bool performance_levels,
                       std::optional<double> common_cause_score, const py::object &fault_exclusions) {
    return {ambient_c,
            running_drop_percent,
            starting_drop_percent,
            control_drop_percent,
            control_csa_mm2,
            cable_capacitance_uf_per_km,
            source_impedance_ohm,
            state_budget,
            performance_levels,
            common_cause_score,
            to_names(fault_exclusions, "fault_exclusions")};
}

const char *const sizes_doc =
    "Size what is wired: motors, contactors, overloads, fuses, cables, control supplies, loops, stopping, and the "
    "performance level of each stop.\n\n"
    "What stands behind what comes from the circuit. What a device does not say of itself is assumed, and named.\n\n"
    "Args:\n    ambient_c: Around cables that do not say.\n    running_drop_percent: Allowed along a motor's cable.\n"
    "    starting_drop_percent: While it starts.\n    control_drop_percent: Along the loop of a coil that pulls in.\n"
    "    control_csa_mm2: Of control wires, in enclosures and to stop devices.\n    cable_capacitance_uf_per_km: "
    "Between two cores.\n"
    "    source_impedance_ohm: Of the supply's fault loop, where it does not say.\n    state_budget: To find what can "
    "be in at once.\n    performance_levels: Of every stop and machine; it takes as long as the check of single "
    "faults.\n    "
    "common_cause_score: ISO 13849-1 annex F, of stops whose zone does not say.\n    "
    "fault_exclusions: Ids of faults left out, see `fault_exclusions()`.\n\nRaises:\n    ModelError: An option is out "
    "of range.";

template <class Class, class Work>
void def_sizes(Class &type, const Work &work) {
    const SizeOptions usual;
    type.def(
        "sizes",
        [work](const typename Class::type &self, double ambient_c, double running_drop_percent,
               double starting_drop_percent, double control_drop_percent, double control_csa_mm2,
               double cable_capacitance_uf_per_km, double source_impedance_ohm, std::size_t state_budget,
               bool performance_levels, std::optional<double> common_cause_score, const py::object &fault_exclusions) {
            const SizeOptions options =
                options_of(ambient_c, running_drop_percent, starting_drop_percent, control_drop_percent,
                           control_csa_mm2, cable_capacitance_uf_per_km, source_impedance_ohm, state_budget,
                           performance_levels, common_cause_score, fault_exclusions);
            const typename Class::type copy = self;
            py::gil_scoped_release unlocked;
            return work(copy, options);
        },
        py::kw_only(), "ambient_c"_a = usual.ambient_c, "running_drop_percent"_a = usual.running_drop_percent,
        "starting_drop_percent"_a = usual.starting_drop_percent, "control_drop_percent"_a = usual.control_drop_percent,
        "control_csa_mm2"_a = usual.control_csa_mm2,
        "cable_capacitance_uf_per_km"_a = usual.cable_capacitance_uf_per_km,
        "source_impedance_ohm"_a = usual.source_impedance_ohm, "state_budget"_a = usual.state_budget,
        "performance_levels"_a = usual.performance_levels, "common_cause_score"_a = py::none(),
        "fault_exclusions"_a = py::tuple(), sizes_doc);
}

} // namespace

void register_sizes(py::module_ &module, py::class_<Circuit> &circuit, py::class_<Installation> &installation) {
    py::class_<SizeInput>(module, "SizeInput", "One number that a size was worked out from.")
        .def_readonly("name", &SizeInput::name)
        .def_readonly("value", &SizeInput::value)
        .def_readonly("unit", &SizeInput::unit)
        .def_property_readonly(
            "origin", [](const SizeInput &self) { return to_text(self.origin); },
            "\"plate\", \"wired\", \"plan\", \"table\", \"computed\" or \"assumed\".")
        .def_readonly("source", &SizeInput::from, "The device, the table, or why it was assumed.")
        .def("__repr__", [](const SizeInput &self) { return "<" + self.name + ">"; });

    py::class_<Rejected>(module, "Rejected", "What else could have been chosen, and why it was not.")
        .def_readonly("candidate", &Rejected::candidate)
        .def_readonly("reason", &Rejected::reason)
        .def("__repr__", [](const Rejected &self) { return "<" + self.candidate + ": " + self.reason + ">"; });

    py::class_<Size>(module, "Size", "One sized value.")
        .def_readonly("subject", &Size::subject)
        .def_readonly("quantity", &Size::quantity)
        .def_readonly("value", &Size::value)
        .def_readonly("unit", &Size::unit)
        .def_readonly("choice", &Size::choice, "In words; empty: the value says it.")
        .def_readonly("formula", &Size::formula)
        .def_readonly("inputs", &Size::inputs)
        .def_readonly("source", &Size::source)
        .def_readonly("rejected", &Size::rejected)
        .def_readonly("as_wired", &Size::as_wired, "What the device has; None: it does not say.")
        .def_property_readonly(
            "fit", [](const Size &self) { return to_text(self.fit); },
            "\"not compared\", \"fits\" or \"does not fit\".")
        .def_readonly("remark", &Size::remark)
        .def("__repr__", [](const Size &self) { return "<" + self.subject + ": " + self.quantity + ">"; });

    py::class_<UnknownInput>(module, "UnknownInput", "Something nobody said that a size needs.")
        .def_readonly("subject", &UnknownInput::subject)
        .def_readonly("parameter", &UnknownInput::parameter)
        .def_readonly("needed_for", &UnknownInput::needed_for)
        .def("__repr__", [](const UnknownInput &self) { return "<" + self.subject + ": " + self.parameter + ">"; });

    const auto told = [](const char *function) {
        return [function](const py::object &self) {
            return py::module_::import("stopspan.sizing").attr(function)(self).cast<std::string>();
        };
    };
    py::class_<Sized>(module, "Sizes", "Sized values, and what nobody said.")
        .def_readonly("installation", &Sized::installation)
        .def_property_readonly("values", [](const Sized &self) { return self.sizes.values; })
        .def_property_readonly("unknown", [](const Sized &self) { return self.sizes.unknown; })
        .def(
            "find",
            [](const Sized &self, const std::string &subject, const std::string &quantity) -> std::optional<Size> {
                const Size *found = self.sizes.find(subject, quantity);
                return found ? std::optional(*found) : std::nullopt;
            },
            "subject"_a, "quantity"_a, "The first size of a subject with this quantity, or None.")
        .def("to_json", told("sizes_json"), "As `stopspan sizes --json` prints it.")
        .def("report", told("sizes_report"), "As `stopspan sizes` prints it.")
        .def("__repr__", [](const Sized &self) {
            return "<Sizes " + self.installation + ": " + std::to_string(self.sizes.values.size()) + " values, " +
                   std::to_string(self.sizes.unknown.size()) + " unknown inputs>";
        });

    def_sizes(circuit, [](const Circuit &self, const SizeOptions &options) {
        return Sized{sizes(Description(), self, options), "circuit"};
    });
    def_sizes(installation, [](const Installation &self, const SizeOptions &options) {
        return Sized{self.sizes(options), self.description.name};
    });
}

} // namespace stopspan::python
