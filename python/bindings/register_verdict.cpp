#include "bindings.hpp"

#include "stopspan/verdict.hpp"

#include <pybind11/stl.h>

namespace stopspan::python {

using namespace py::literals;

namespace {

// Findings and cells as one list each, made once: `verdict.matrix[i]` in a loop must not copy the matrix each time.
template <class T>
py::object listed_once(py::object &kept, const std::vector<T> &values) {
    if (!kept)
        kept = py::cast(values);
    return kept;
}

// Text about a verdict is written in Python; loaded only when somebody reads it.
py::object from_package(const char *module, const char *function, const py::object &self) {
    return py::module_::import(module).attr(function)(self);
}

} // namespace

void register_verdict(py::module_ &module) {
    py::class_<Witness>(module, "Witness", "How a claim breaks. False when there is none.")
        .def_readonly("acts", &Witness::acts, "Acts from cold that lead there, as `Replay.act` takes them.")
        .def_readonly("path", &Witness::path, "What holds the coil, net by net.")
        .def_readonly("ends_in", &Witness::ends_in, "The failing state.")
        .def("__bool__",
             [](const Witness &self) { return !self.acts.empty() || !self.path.empty() || !self.ends_in.empty(); })
        .def("__repr__", [](const Witness &self) {
            return "<Witness: " + std::string(py::str("; ").attr("join")(py::cast(self.acts)).cast<std::string>()) +
                   " -> " + self.ends_in + ">";
        });

    py::class_<Waiver>(module, "Waiver", "Somebody's word that a finding is accepted as it is.")
        .def(py::init([](const std::string &rule, const py::object &subjects, const std::string &reason,
                         const std::string &name, const py::object &date, const std::string &says) {
                 Waiver waiver{rule, to_names(subjects, "subjects"), reason, name, to_date(date), says};
                 check_waiver(waiver);
                 return waiver;
             }),
             py::kw_only(), "rule"_a, "subjects"_a, "reason"_a, "name"_a, "date"_a, "says"_a = "")
        .def_readonly("rule", &Waiver::rule)
        .def_readonly("subjects", &Waiver::subjects, "All of the finding's, in any order.")
        .def_readonly("reason", &Waiver::reason)
        .def_readonly("name", &Waiver::name, "Of the person.")
        .def_readonly("date", &Waiver::date, "As \"2026-11-26\".")
        .def_readonly("says", &Waiver::says,
                      "The finding's sentence or a part of it: one that says something else is not waived. Empty: "
                      "whatever it says.")
        .def("__repr__", [](const Waiver &self) {
            return "<Waiver of " + self.rule + " by " + self.name + ", " + self.date + ": " + self.reason + ">";
        });

    py::class_<Finding>(module, "Finding", "Something that does not hold, or a note.")
        .def_readonly("rule", &Finding::rule)
        .def_property_readonly(
            "status", [](const Finding &self) { return to_text(self.status); },
            "\"fails\", \"maybe\", \"undecided\", \"waived\" or \"note\".")
        .def_readonly("subjects", &Finding::subjects, "Designations, machines, nets.")
        .def_readonly("text", &Finding::text, "One plain sentence.")
        .def_readonly("witness", &Finding::witness)
        .def_readonly("repair", &Finding::repair, "Smallest known one, applied and checked again; \"\" if none.")
        .def_readonly("source", &Finding::source, "Standard and clause, or \"common practice\".")
        .def_readonly("waiver", &Finding::waiver, "Of a waived finding, else None.")
        .def_property_readonly(
            "otherwise",
            [](const Finding &self) { return self.waiver ? std::string(to_text(self.otherwise)) : std::string(); },
            "What a waived finding is without its waiver, \"fails\" or \"maybe\"; else \"\".")
        .def("__repr__", [](const Finding &self) {
            return "<" + self.rule + " " + std::string(to_text(self.status)) + ": " + self.text + ">";
        });

    py::class_<MatrixCell>(module, "MatrixCell", "What was asked of a stop and a machine, and what the wiring does.")
        .def_readonly("stop", &MatrixCell::stop)
        .def_readonly("machine", &MatrixCell::machine, "Machine or kept load.")
        .def_property_readonly(
            "asked", [](const MatrixCell &self) { return to_text(self.asked); }, "\"cut\", \"keep\" or \"free\".")
        .def_property_readonly(
            "found", [](const MatrixCell &self) { return to_text(self.found); }, "\"cuts\", \"spares\" or \"maybe\".")
        .def_property_readonly(
            "modes",
            [](const MatrixCell &self) {
                std::map<std::string, std::string_view> modes;
                for (const auto &[mode, found] : self.modes)
                    modes.emplace(mode, to_text(found));
                if (modes.empty())
                    modes.emplace("run", to_text(self.found));
                return modes;
            },
            "Found per run mode of the machine.")
        .def("__repr__", [](const MatrixCell &self) {
            return "<" + self.stop + " " + self.machine + ": asked " + std::string(to_text(self.asked)) + ", found " +
                   std::string(to_text(self.found)) + ">";
        });

    py::class_<Walk>(module, "Walk", "The way on the plan from a machine or an exit to the nearest stop that cuts.")
        .def_readonly("start", &Walk::start, "Machine, or exit.")
        .def_readonly("area", &Walk::area, "Of the exit; \"\" from a machine.")
        .def_readonly("machine", &Walk::machine,
                      "Which the stop cuts; from an exit, of all in its area the one with the longest way.")
        .def_readonly("stop", &Walk::stop)
        .def_readonly("distance_m", &Walk::distance_m)
        .def("__repr__", [](const Walk &self) {
            return "<Walk " + self.start + " to " + self.stop + ": " +
                   py::str("{:.1f} m").format(self.distance_m).cast<std::string>() + ">";
        });

    py::class_<Checked>(module, "Verdict", "What a check found.")
        .def_property_readonly(
            "ok", [](const Checked &self) { return self.verdict.ok(); }, "Nothing fails, may fail or is undecided.")
        .def_readonly("installation", &Checked::installation, "Name of what was checked.")
        .def_property_readonly("findings",
                               [](Checked &self) { return listed_once(self.findings, self.verdict.findings); })
        .def_property_readonly("matrix", [](Checked &self) { return listed_once(self.matrix, self.verdict.matrix); })
        .def_property_readonly(
            "counts", [](const Checked &self) { return self.verdict.counts; }, "Rule to status to number.")
        .def_property_readonly(
            "rule_set", [](const Checked &self) { return self.verdict.rules.id; }, "Id of the set of rules gone by.")
        .def_property_readonly(
            "limits",
            [](const Checked &self) {
                std::map<std::string, double> values;
                for (const RulesUsed::Limit &limit : self.verdict.rules.limits)
                    values.emplace(limit.name, limit.value);
                return values;
            },
            "The numbers in the rules, as they were used.")
        .def_property_readonly(
            "walks", [](const Checked &self) { return self.verdict.walks; },
            "From each machine and exit to the nearest stop that cuts, where the plan shows it.")
        .def_property_readonly("not_checked", [](const Checked &self) { return self.verdict.not_checked; })
        .def(
            "to_json", [](const py::object &self) { return from_package("stopspan.report", "verdict_json", self); },
            "The verdict as JSON text, as `stopspan check --json` prints it.")
        .def(
            "table", [](const py::object &self) { return from_package("stopspan.report", "matrix_table", self); },
            "The matrix as a text table: stops down, machines across.")
        .def(
            "report", [](const py::object &self) { return from_package("stopspan.report", "verdict_report", self); },
            "Everything in plain words, with the cautions.")
        .def(
            "matrix_csv", [](const py::object &self) { return from_package("stopspan.report", "matrix_csv", self); },
            "The matrix as CSV: stop,machine,asked,found,modes.")
        .def("_repr_html_",
             [](const py::object &self) { return from_package("stopspan.display", "verdict_html", self); })
        .def("__repr__", [](const py::object &self) { return from_package("stopspan.report", "verdict_line", self); });
}

} // namespace stopspan::python
