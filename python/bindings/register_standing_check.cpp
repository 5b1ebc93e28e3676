#include "bindings.hpp"

#include "stopspan/standing_check.hpp"

#include <pybind11/stl.h>

#include <mutex>

namespace stopspan::python {

using namespace py::literals;

namespace {

// One thread at a time: the lock of the interpreter is given up while something is decided.
class Standing {
public:
    Standing(const Circuit &circuit, CheckOptions options) : check_(circuit, std::move(options)) {}

    template <class Change>
    Compared change(const Change &make) {
        const py::gil_scoped_release unlocked;
        const std::scoped_lock alone(guard_);
        return {make(check_), "circuit", "circuit"};
    }
    template <class Look>
    auto look(const Look &at) {
        const py::gil_scoped_release unlocked;
        const std::scoped_lock alone(guard_);
        return at(check_);
    }

private:
    std::mutex guard_;
    StandingCheck check_;
};

} // namespace

void register_standing_check(py::module_ &module) {
    py::class_<Standing>(
        module, "StandingCheck",
        "A circuit with its verdict, kept up to date as the circuit is changed: what happens if this wire is moved?\n\n"
        "After every change the verdict is that of `check` of the circuit as it is then, with the same arguments, and "
        "what the change cannot "
        "influence is not decided again. A moved wire, another value of a part or a new contact asks again only the "
        "machines and loads of the group of devices it stands in: what hangs together up to the nets of sources that "
        "nothing else feeds. Everything is decided again by other changes; with waivers; with repairs, once something "
        "fails or may fail, or where faults are asked about; with fault exclusions where faults are asked about, and "
        "where what is tried of the faults of a machine, or of pairs on a floating source that nothing feeds, hangs on "
        "how much there is to try; in small circuits, where the group is half of the circuit or more, where a supply "
        "that is fed shares a net with another source or with earth, and where contacts could short a source.")
        .def(py::init([](const Circuit &circuit, const py::object &asked, const py::object &rules,
                         const py::object &set, const std::map<std::string, double, std::less<>> &limits,
                         const std::string &target, const py::object &exclusions, const std::vector<Waiver> &waivers,
                         unsigned threads, std::size_t state_budget, bool repairs) {
                 CheckOptions options = to_check_options(
                     {asked, rules, set, limits, target, exclusions, waivers, threads, state_budget, repairs});
                 static const auto *const nobody = new py::none; // never freed: it may be after the interpreter
                 options.progress = progress_of(*nobody);
                 const Circuit copy = circuit;
                 const py::gil_scoped_release unlocked;
                 return std::make_unique<Standing>(copy, std::move(options));
             }),
             "circuit"_a, "asked"_a = py::none(), py::kw_only(), "rules"_a = py::none(), "rule_set"_a = py::none(),
             "limits"_a = py::dict(), "target"_a = "none", "fault_exclusions"_a = py::tuple(),
             "waivers"_a = py::tuple(), "threads"_a = 1, "state_budget"_a = 200'000, "repairs"_a = false,
             "Check a circuit once; the arguments are those of `Circuit.check`, but repairs are tried only if asked "
             "for. "
             "The circuit given stays as it is.\n\n"
             "Raises:\n    ModelError: As `Circuit.check`.")
        .def(
            "add",
            [](Standing &self, const std::string &designation, const std::string &kind, const py::dict &terminals,
               const py::kwargs &parameters) {
                const DeviceKind of_kind = device_kind(kind);
                const std::vector<Connection> connections = to_connections(designation, terminals);
                const Parameters values = to_parameters(designation, parameters);
                return self.change(
                    [&](StandingCheck &check) { return check.add(designation, of_kind, connections, values); });
            },
            "designation"_a, "kind"_a, "terminals"_a,
            "As `Circuit.add`.\n\nReturns:\n    What it changed.\n\nRaises:\n    ModelError: Nothing is changed then.")
        .def(
            "connect",
            [](Standing &self, const std::string &designation, const std::string &terminal, const std::string &net) {
                return self.change([&](StandingCheck &check) { return check.connect(designation, terminal, net); });
            },
            "designation"_a, "terminal"_a, "net"_a,
            "Move one terminal to another net.\n\nReturns:\n    What it changed.\n\nRaises:\n"
            "    ModelError: No such device or terminal; nothing is changed then.")
        .def(
            "set_parameter",
            [](Standing &self, const std::string &designation, const std::string &parameter, const py::object &value) {
                const Parameter now = to_parameter(designation, parameter, value);
                return self.change(
                    [&](StandingCheck &check) { return check.set_parameter(designation, parameter, now); });
            },
            "designation"_a, "parameter"_a, "value"_a,
            "Set one parameter.\n\nReturns:\n    What it changed.\n\nRaises:\n    ModelError: Nothing is changed then.")
        .def(
            "remove",
            [](Standing &self, const std::string &designation) {
                return self.change([&](StandingCheck &check) { return check.remove(designation); });
            },
            "designation"_a,
            "Take a device out.\n\nReturns:\n    What it changed.\n\nRaises:\n    ModelError: No such device, or "
            "something "
            "is asked of it; nothing is changed then.")
        .def_property_readonly(
            "circuit",
            [](Standing &self) { return self.look([](const StandingCheck &check) { return check.circuit(); }); },
            "The circuit as it is now, a copy.")
        .def_property_readonly(
            "verdict",
            [](Standing &self) {
                return std::make_unique<Checked>(
                    Checked{self.look([](const StandingCheck &check) { return check.verdict(); }), "circuit"});
            },
            "The verdict as it is now, a copy.")
        .def_property_readonly(
            "decided",
            [](Standing &self) { return self.look([](const StandingCheck &check) { return check.decided(); }); },
            "Machines and loads that the last change, or the first check, decided.")
        .def("__repr__", [](Standing &self) {
            return self.look([](const StandingCheck &check) {
                return "<StandingCheck: " + std::to_string(check.circuit().devices().size()) + " devices, " +
                       (check.verdict().ok() ? "all holds" : "not all holds") + ">";
            });
        });
}

} // namespace stopspan::python
