#pragma once

#include "stopspan/compare.hpp"
#include "stopspan/installation.hpp"
#include "stopspan/replay.hpp"

#include <pybind11/pybind11.h>

#include <functional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

/// What the register_*.cpp files share. Text of the trade ("push-button", "cut") is text in Python too: the
/// enumerations of `stopspan.words` are strings, so every word is turned into its C++ value here, by the core.
namespace stopspan::python {

namespace py = pybind11;

/// Called as machines are decided; always there, so that an interrupt from the keyboard ends a long check.
/// @param progress  None, or what is called with the machines decided and all there are; outlives the call
std::function<void(std::size_t, std::size_t)> progress_of(const py::object &progress);

/// What every check of a circuit can be told, from Python.
struct CheckWords {
    const py::object &asked, &rules, &rule_set;
    const std::map<std::string, double, std::less<>> &limits;
    const std::string &target;
    const py::object &fault_exclusions;
    const std::vector<Waiver> &waivers;
    unsigned threads;
    std::size_t state_budget;
    bool repairs;
};
/// Without progress. @throws Error for what cannot be read or is not known
CheckOptions to_check_options(const CheckWords &words);

/// A verdict with the name of what was checked. The lists are made once, when first asked for.
struct Checked {
    Verdict verdict;
    std::string installation;
    py::object findings{}, matrix{};
};

/// A comparison with the names of what was checked.
struct Compared {
    Comparison comparison;
    std::string old, fresh;
};

/// A replay with a copy of its circuit, to know the names of what to report.
struct ReplayOf {
    Circuit circuit;
    Replay replay;
    explicit ReplayOf(const Circuit &of) : circuit(of), replay(of) {}
};

/// One value from Python as a device parameter; None, of an earthed pole, means there is none. @throws Error
/// (bad_value) naming device and parameter
Parameter to_parameter(std::string_view device, std::string_view name, const py::handle &value);
/// The named values of a call. None means unknown and is left out, unless it is of an earthed pole.
Parameters to_parameters(std::string_view device, const py::dict &values);
/// {"13": "L1"}, in the order given. @throws Error (bad_terminal)
std::vector<Connection> to_connections(const std::string &device, const py::dict &terminals);
py::dict from_parameters(const Parameters &parameters);
/// A pair of numbers in metres. @throws Error (bad_value) naming `what`
Position to_position(const py::handle &value, const std::string &what);
/// A sequence of text; a lone text is refused, since it would be read letter by letter.
std::vector<std::string> to_names(const py::handle &value, const std::string &what);
/// A day, text as "2026-11-26" or a datetime.date.
std::string to_date(const py::handle &value);
/// A path, text or os.PathLike.
std::string to_path(const py::handle &path);
/// File name without folder and suffix: the name of an installation that has no other.
std::string stem_of(const std::string &path);

/// The formats known in this process; those that came with the package are loaded when first asked for.
ExporterRegistry &registry();

void register_error(py::module_ &module);
void register_circuit(py::module_ &module, py::class_<Circuit> &circuit);
void register_description(py::module_ &module, py::class_<Installation> &installation);
void register_verdict(py::module_ &module);
void register_compare(py::module_ &module);
void register_check(py::module_ &module, py::class_<Circuit> &circuit, py::class_<Installation> &installation);
void register_standing_check(py::module_ &module);
void register_arrangements(py::module_ &module, py::class_<Installation> &installation);
void register_overload(py::module_ &module);
void register_performance(py::module_ &module);
void register_sizes(py::module_ &module, py::class_<Circuit> &circuit, py::class_<Installation> &installation);
void register_replay(py::module_ &module, py::class_<Circuit> &circuit);
void register_drawing(py::module_ &module);
void register_lists(py::module_ &module, py::class_<Circuit> &circuit, py::class_<Installation> &installation);
void register_exporter(py::module_ &module, py::class_<Circuit> &circuit, py::class_<Installation> &installation);
void register_files(py::module_ &module, py::class_<Circuit> &circuit, py::class_<Installation> &installation);
void register_installation(py::class_<Installation> &installation);

} // namespace stopspan::python
