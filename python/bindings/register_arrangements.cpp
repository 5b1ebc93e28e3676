#include "bindings.hpp"

#include "stopspan/arrangements.hpp"
#include "stopspan/error.hpp"

#include <pybind11/stl.h>

namespace stopspan::python {

using namespace py::literals;

namespace {

/// A comparison with the names of what was compared.
struct Table {
    std::string installation;
    std::optional<std::string> zone;
    std::vector<Arrangement> rows;
};

py::object from_report(const char *function, const py::object &self) {
    return py::module_::import("stopspan.arrangements").attr(function)(self);
}

} // namespace

void register_arrangements(py::module_ &module, py::class_<Installation> &installation) {
    py::class_<Arrangement>(module, "Arrangement", "What an installation is with its zones linked in one way.")
        .def_property_readonly(
            "link",
            [](const Arrangement &self) { return self.link ? std::optional(to_text(*self.link)) : std::nullopt; },
            "See `ZoneLink`; None: zones linked in several ways, as described.")
        .def_readonly("channels", &Arrangement::channels, "Of a stop relay, else None.")
        .def_readonly("as_described", &Arrangement::as_described)
        .def_readonly("refused", &Arrangement::refused, "Why it cannot be wired; \"\": it can.")
        .def_readonly("contact_blocks", &Arrangement::contact_blocks,
                      "Of the stop devices described, and of reset devices.")
        .def_readonly("blocks_on_one", &Arrangement::blocks_on_one, "Most that one of these devices has.")
        .def_readonly("cores", &Arrangement::cores,
                      "Of cables between places: machines with their starters, stop devices that stand alone, boards, "
                      "isolators of areas, kept loads, supplies. A net at n places takes n - 1.")
        .def_readonly("parts", &Arrangement::parts, "Devices by kind.")
        .def_property_readonly(
            "machines_stopped",
            [](const Arrangement &self) {
                py::dict stopped;
                for (const auto &[stop, count] : self.machines_stopped)
                    stopped[py::str(stop)] = count;
                return stopped;
            },
            "How many each stop device described is found to cut.")
        .def_readonly("holds", &Arrangement::holds, "Claims that hold; single and hidden faults are counted apart.")
        .def_readonly("does_not_hold", &Arrangement::does_not_hold,
                      "Claims that fail, may fail, are undecided or waived.")
        .def_readonly("single_faults", &Arrangement::single_faults,
                      "Faults that by themselves take away a stop device described; None: not looked at.")
        .def_readonly("hidden_faults", &Arrangement::hidden_faults,
                      "Pairs of faults that do, the first of which shows nowhere; None: not looked at.")
        .def_readonly("undecided_faults", &Arrangement::undecided_faults,
                      "Faults and pairs not decided; None: not looked at.")
        .def("__repr__", [](const py::object &self) { return from_report("arrangement_line", self); });

    py::class_<Table>(module, "ArrangementTable", "Ways of linking the zones of an installation, side by side.")
        .def_readonly("installation", &Table::installation, "Name of what was compared.")
        .def_readonly("zone", &Table::zone, "The only zone that was changed; None: all.")
        .def_readonly("rows", &Table::rows)
        .def(
            "table", [](const py::object &self) { return from_report("arrangements_table", self); },
            "As text, as `stopspan arrangements` prints it.")
        .def(
            "to_json", [](const py::object &self) { return from_report("arrangements_json", self); },
            "As JSON text, as `stopspan arrangements --json` prints it.")
        .def("_repr_html_", [](const py::object &self) { return from_report("arrangements_html", self); })
        .def("__repr__", [](const py::object &self) { return from_report("arrangements_table", self); });

    // What is compared is copied first: another thread may change the original while the lock is given up.
    installation.def(
        "compare_arrangements",
        [](const Installation &self, const std::optional<std::string> &zone, bool faults, const py::object &exclusions,
           unsigned threads, std::size_t state_budget, const py::object &progress) {
            CheckOptions options;
            options.fault_exclusions = to_names(exclusions, "fault_exclusions");
            if (threads == 0)
                throw Error(ErrorCode::bad_value, "threads is 0; give at least 1");
            options.threads = threads;
            options.state_budget = state_budget;
            options.progress = progress_of(progress);
            const Installation copy = self;
            const std::optional<ZoneId> only = zone ? std::optional(copy.description.zone(*zone)) : std::nullopt;
            py::gil_scoped_release unlocked;
            return Table{copy.description.name, zone, compare_arrangements(copy, only, options, faults)};
        },
        "zone"_a = py::none(), py::kw_only(), "faults"_a = true, "fault_exclusions"_a = py::tuple(), "threads"_a = 1,
        "state_budget"_a = 200'000, "progress"_a = py::none(),
        "Wire and check the installation once for every way of linking its zones.\n\nArgs:\n    zone: The only one to "
        "change; None links all alike.\n    faults: Look at single and hidden faults, which takes the longest.\n"
        "    fault_exclusions: Ids of faults to leave out, see `stopspan.fault_exclusions`.\n    threads: How many to "
        "use.\n    state_budget: States to search per claim; past it the claim is undecided.\n    progress: Called "
        "with the machines decided and all there are, anew for each way.\n\nRaises:\n    ModelError: There is no zone, "
        "or none of that name.");
}

} // namespace stopspan::python
