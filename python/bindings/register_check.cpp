#include "bindings.hpp"

#include "stopspan/check.hpp"
#include "stopspan/error.hpp"

#include <pybind11/stl.h>

namespace stopspan::python {

using namespace py::literals;

namespace {

// Asked for as {(stop, machine): "cut"}, in the order given.
std::optional<std::vector<AskedCell>> asked_of(const py::object &asked) {
    if (asked.is_none())
        return std::nullopt;
    std::vector<AskedCell> cells;
    for (const auto &[key, word] : asked.cast<py::dict>()) {
        if (!py::isinstance<py::tuple>(key) || py::len(key) != 2)
            throw Error(ErrorCode::bad_value, "asked must be as {(\"S1\", \"M1\"): \"cut\"}, not with " +
                                                  std::string(py::repr(key)) + " as a key");
        const auto pair = py::reinterpret_borrow<py::tuple>(key);
        cells.push_back(
            {pair[0].cast<std::string>(), pair[1].cast<std::string>(), asked_cell(word.cast<std::string>())});
    }
    return cells;
}

/// What every check can be told.
struct Told {
    const py::object &rules, &rule_set;
    const std::string &target;
    const py::object &fault_exclusions;
    unsigned threads;
    std::size_t state_budget;
    bool repairs;
};

CheckOptions options_of(const Told &told) {
    CheckOptions options;
    if (!told.rules.is_none())
        options.rules = to_names(told.rules, "rules");
    if (!told.rule_set.is_none())
        options.rule_set = rule_set(told.rule_set.cast<std::string>()).id;
    options.target = fault_target(told.target);
    options.fault_exclusions = to_names(told.fault_exclusions, "fault_exclusions");
    if (told.threads == 0)
        throw Error(ErrorCode::bad_value, "threads is 0; give at least 1");
    options.threads = told.threads;
    options.state_budget = told.state_budget;
    options.repairs = told.repairs;
    return options;
}

constexpr const char *check_doc =
    "\n\nArgs:\n    rules: Ids of the rules to decide, beside those the rule set names; None is all of the set.\n"
    "    rule_set: Id of the set to go by, see `stopspan.rule_sets`; None is the usual one.\n"
    "    target: Faults that every cell to be cut must outlive at the least, see `Target`.\n"
    "    fault_exclusions: Ids of faults to leave out, see `stopspan.fault_exclusions`.\n"
    "    threads: How many to use.\n"
    "    state_budget: States to search per claim; past it the claim is undecided.\n"
    "    repairs: Look for the smallest repair of each failure.\n"
    "    progress: Called with the machines decided and all there are, as they are decided.\n\n"
    "Raises:\n    ModelError: A rule, stop or machine that is not there.";

} // namespace

CheckOptions to_check_options(const CheckWords &words) {
    CheckOptions options = options_of({words.rules, words.rule_set, words.target, words.fault_exclusions, words.threads,
                                       words.state_budget, words.repairs});
    options.asked = asked_of(words.asked);
    options.limits = words.limits;
    options.waivers = words.waivers;
    return options;
}

std::function<void(std::size_t, std::size_t)> progress_of(const py::object &progress) {
    return [&progress](std::size_t done, std::size_t total) {
        py::gil_scoped_acquire locked;
        if (PyErr_CheckSignals() != 0)
            throw py::error_already_set();
        if (!progress.is_none())
            progress(done, total);
    };
}

void register_check(py::module_ &module, py::class_<Circuit> &circuit, py::class_<Installation> &installation) {
    py::class_<RuleInfo>(module, "Rule", "A rule of the checker.")
        .def_readonly("id", &RuleInfo::id)
        .def_readonly("says", &RuleInfo::says)
        .def_readonly("source", &RuleInfo::source)
        .def("__repr__",
             [](const RuleInfo &self) { return "<" + std::string(self.id) + ": " + std::string(self.says) + ">"; });
    module.def(
        "rules", [] { return std::vector<RuleInfo>(rules().begin(), rules().end()); }, "All rules, in order.");

    py::class_<RuleSet>(module, "RuleSet", "A set of rules as one country or body has them.")
        .def_readonly("id", &RuleSet::id)
        .def_readonly("says", &RuleSet::says)
        .def_readonly("country", &RuleSet::country)
        .def_readonly("edition", &RuleSet::edition, "Of the standards and laws it goes by.")
        .def_readonly("source", &RuleSet::source)
        .def_property_readonly(
            "rules",
            [](const RuleSet &self) {
                std::vector<std::string_view> ids(self.rules.begin(), self.rules.end());
                if (ids.empty())
                    for (const RuleInfo &rule : rules())
                        ids.push_back(rule.id);
                return ids;
            },
            "Ids of its rules.")
        .def_property_readonly(
            "limits",
            [](const RuleSet &self) {
                std::map<std::string_view, double> values;
                for (const LimitInfo &limit : limits())
                    values.emplace(limit.name, self.limit(limit.name));
                return values;
            },
            "The numbers in its rules, by name.")
        .def("source_of", &RuleSet::source_of, "rule"_a, "Where a rule comes from in this set.")
        .def("__repr__",
             [](const RuleSet &self) { return "<" + std::string(self.id) + ": " + std::string(self.says) + ">"; });
    module.def(
        "rule_sets", [] { return std::vector<RuleSet>(rule_sets().begin(), rule_sets().end()); },
        "All sets of rules; the first is the usual one.");

    py::class_<FaultExclusion>(module, "FaultExclusion", "Faults that may be left out where the parts are as it says.")
        .def_readonly("id", &FaultExclusion::id)
        .def_readonly("rule", &FaultExclusion::rule, "Whose faults it leaves out.")
        .def_readonly("faults", &FaultExclusion::faults)
        .def_readonly("condition", &FaultExclusion::condition, "Whoever names it says that this is met.")
        .def_readonly("source", &FaultExclusion::source)
        .def("__repr__", [](const FaultExclusion &self) {
            return "<" + std::string(self.id) + ": " + std::string(self.faults) + ">";
        });
    module.def(
        "fault_exclusions",
        [] { return std::vector<FaultExclusion>(fault_exclusions().begin(), fault_exclusions().end()); },
        "All fault exclusions; none is used unless it is named.");

    // What is checked is copied first: another thread may change the original while the lock is given up.
    circuit.def(
        "check",
        [](const Circuit &self, const py::object &asked, const py::object &rule_ids, const py::object &set,
           const std::map<std::string, double, std::less<>> &changed, const std::string &target,
           const py::object &exclusions, const std::vector<Waiver> &waivers, unsigned threads, std::size_t state_budget,
           bool repairs, const py::object &progress) {
            CheckOptions options = to_check_options(
                {asked, rule_ids, set, changed, target, exclusions, waivers, threads, state_budget, repairs});
            options.progress = progress_of(progress);
            const Circuit copy = self;
            py::gil_scoped_release unlocked;
            return std::make_unique<Checked>(Checked{check(copy, options), "circuit"});
        },
        "asked"_a = py::none(), py::kw_only(), "rules"_a = py::none(), "rule_set"_a = py::none(),
        "limits"_a = py::dict(), "target"_a = "none", "fault_exclusions"_a = py::tuple(), "waivers"_a = py::tuple(),
        "threads"_a = 1, "state_budget"_a = 200'000, "repairs"_a = true, "progress"_a = py::none(),
        (std::string("Decide the rules for this circuit.\n\nWithout `asked`, which reads {(\"ES1\", \"M1\"): \"cut\"}, "
                     "every emergency stop must cut every machine, and where there is one machine every stop must "
                     "cut it. `limits` are numbers that differ from the rule set's, by name; `waivers` are findings "
                     "accepted as they are.") +
         check_doc)
            .c_str());
    installation.def(
        "check",
        [](const Installation &self, const py::object &rule_ids, const py::object &set, const std::string &target,
           const py::object &exclusions, unsigned threads, std::size_t state_budget, bool repairs,
           const py::object &progress) {
            CheckOptions options = options_of({rule_ids, set, target, exclusions, threads, state_budget, repairs});
            options.progress = progress_of(progress);
            const Installation copy = self;
            py::gil_scoped_release unlocked;
            return std::make_unique<Checked>(Checked{copy.check(options), copy.description.name});
        },
        py::kw_only(), "rules"_a = py::none(), "rule_set"_a = py::none(), "target"_a = "none",
        "fault_exclusions"_a = py::tuple(), "threads"_a = 1, "state_budget"_a = 200'000, "repairs"_a = true,
        "progress"_a = py::none(),
        (std::string("Decide the rules for the wired circuit against what is asked, with the limits, fault exclusions "
                     "and waivers of the installation.") +
         check_doc)
            .c_str());
}

} // namespace stopspan::python
