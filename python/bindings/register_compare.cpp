#include "bindings.hpp"

#include "stopspan/compare.hpp"

#include <pybind11/stl.h>

namespace stopspan::python {

using namespace py::literals;

namespace {

template <class Member>
auto of_comparison(Member Comparison::*member) {
    return [member](const Compared &self) { return self.comparison.*member; };
}

// A verdict as it is; what can be checked is checked, without repairs, which are not compared and take long.
py::object checked(const py::object &what, const py::kwargs &options) {
    if (py::isinstance<Checked>(what))
        return what;
    if (!py::isinstance<Installation>(what) && !py::isinstance<Circuit>(what))
        throw py::type_error("compare takes verdicts, installations or circuits, not " +
                             py::str(py::type::handle_of(what).attr("__name__")).cast<std::string>());
    py::dict told(options);
    if (!told.contains("repairs"))
        told["repairs"] = false;
    return what.attr("check")(**told);
}

} // namespace

void register_compare(py::module_ &module) {
    py::class_<CellChange>(module, "CellChange", "A cell of the matrix that differs.")
        .def_readonly("before", &CellChange::before)
        .def_readonly("now", &CellChange::now);
    py::class_<FindingChange>(module, "FindingChange", "A finding that came, went, or has another status or text.")
        .def_readonly("before", &FindingChange::before, "None: it is new.")
        .def_readonly("now", &FindingChange::now, "None: it is gone.");
    py::class_<Compared>(module, "Comparison", "What two checks tell apart.")
        .def_property_readonly(
            "changed", [](const Compared &self) { return self.comparison.changed(); }, "There is any difference.")
        .def_property_readonly("sentences", of_comparison(&Comparison::sentences),
                               "All of it in words; what matters most comes first.")
        .def_property_readonly("new_stops", of_comparison(&Comparison::new_stops))
        .def_property_readonly("gone_stops", of_comparison(&Comparison::gone_stops))
        .def_property_readonly("new_machines", of_comparison(&Comparison::new_machines), "Kept loads, too.")
        .def_property_readonly("gone_machines", of_comparison(&Comparison::gone_machines), "Kept loads, too.")
        .def_property_readonly("cells", of_comparison(&Comparison::cells), "Of stops and machines that both have.")
        .def_property_readonly("findings", of_comparison(&Comparison::findings), "Of rules that both went by.")
        .def_readonly("old", &Compared::old, "Name of what was checked before.")
        .def_readonly("new", &Compared::fresh, "Name of what was checked now.")
        .def(
            "to_json",
            [](const py::object &self) {
                return py::module_::import("stopspan.comparison").attr("comparison_json")(self);
            },
            "The comparison as JSON text, as `stopspan compare --json` prints it.")
        .def("__str__",
             [](const Compared &self) {
                 return py::str("\n").attr("join")(self.comparison.changed()
                                                       ? py::cast(self.comparison.sentences)
                                                       : py::cast(std::vector<std::string>{"Nothing changed."}));
             })
        .def("__repr__", [](const Compared &self) {
            const std::size_t count = self.comparison.sentences.size();
            return "<Comparison: " +
                   (count == 0 ? "nothing changed" : std::to_string(count) + (count == 1 ? " change" : " changes")) +
                   ">";
        });
    module.def(
        "compare",
        [](const py::object &old, const py::object &fresh, const py::kwargs &options) {
            const py::object before = checked(old, options), now = checked(fresh, options);
            const auto &was = before.cast<const Checked &>(), &is = now.cast<const Checked &>();
            return Compared{compare(was.verdict, is.verdict), was.installation, is.installation};
        },
        "old"_a, "new"_a,
        "What changed in matrix and findings.\n\nArgs:\n    old: A verdict; or an installation or circuit, which is "
        "then "
        "checked.\n    new: The same after the change.\n    options: For these checks, as `check` takes them.");
}

} // namespace stopspan::python
