#include "bindings.hpp"

#include "stopspan/performance.hpp"

#include <pybind11/stl.h>

namespace stopspan::python {

using namespace py::literals;

void register_performance(py::module_ &module) {
    py::class_<FailureRate>(module, "FailureRate", "Dangerous failures of a safety function, per hour of use.")
        .def_readonly("model_per_h", &FailureRate::model_per_h, "Of a Markov model, over 20 years.")
        .def_readonly("table_per_h", &FailureRate::table_per_h, "ISO 13849-1 table K.1; None: it has no such row.")
        .def_property_readonly("per_h", &FailureRate::per_h, "The worse of the two.")
        .def_property_readonly(
            "level",
            [](const FailureRate &self) -> std::optional<std::string_view> {
                const auto level = level_of(self.per_h());
                return level ? std::optional(to_text(*level)) : std::nullopt;
            },
            "Of the rate alone: a category may allow less. None: not even \"a\".")
        .def("__repr__", [](const FailureRate &self) {
            return "<FailureRate " + py::cast<std::string>(py::repr(py::float_(self.per_h()))) + " per hour>";
        });
    module.def(
        "dangerous_failures",
        [](const std::string &category, double mttfd_years, double coverage) {
            return dangerous_failures(safety_category(category), mttfd_years, coverage);
        },
        py::kw_only(), "category"_a, "mttfd_years"_a, "coverage"_a = 0.0,
        "Dangerous failures per hour of a stop of this category (ISO 13849-1 annex K).\n\nArgs:\n    category: See "
        "`SafetyCategory`.\n    mttfd_years: Of each channel; counts up to 100, in category 4 up to 2500.\n    "
        "coverage: "
        "Diagnostic coverage, 0 to 1, of categories 2 to 4.\n\nRaises:\n    ModelError: An MTTFd under 3 years (30 in "
        "category 4), or a "
        "number out of range.");
}

} // namespace stopspan::python
