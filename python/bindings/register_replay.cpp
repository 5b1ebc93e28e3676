#include "bindings.hpp"

#include "stopspan/error.hpp"
#include "stopspan/replay.hpp"

#include <pybind11/stl.h>

namespace stopspan::python {

using namespace py::literals;

namespace {

// The state after an act, as names: a copy that later acts leave as it is.
struct Settled {
    std::vector<std::string> running, armatures, maybe, live;
};

Settled settled(const ReplayOf &self) {
    Settled now;
    for (const std::string &machine : self.circuit.machines()) {
        const std::string state = self.replay.state(machine);
        if (state == "runs")
            now.running.push_back(machine);
        else if (state == "maybe")
            now.maybe.push_back(machine);
    }
    for (const Device &device : self.circuit.devices()) {
        if (!has_armature(device.kind))
            continue;
        const std::string state = self.replay.state(device.designation);
        if (state == "on")
            now.armatures.push_back(device.designation);
        else if (state == "maybe")
            now.maybe.push_back(device.designation);
    }
    for (const std::string &net : self.circuit.nets())
        if (self.replay.live(net))
            now.live.push_back(net);
    return now;
}

Settled act(ReplayOf &self, const std::string &text) {
    self.replay.act(text);
    return settled(self);
}

// A name that would be read as several words or acts is refused here, where it is still one name.
std::string one_word(const std::string &name) {
    if (name.empty() || name.find_first_of(" \t\n;") != std::string::npos)
        throw Error(ErrorCode::bad_act, "'" + name + "' is not one name; give one device or net an act");
    return name;
}

std::string joined(const std::vector<std::string> &words) {
    std::string text;
    for (const std::string &word : words)
        text += (text.empty() ? "" : ", ") + word;
    return text.empty() ? "nothing" : text;
}

} // namespace

void register_replay(py::module_ &module, py::class_<Circuit> &circuit) {
    py::class_<Settled>(module, "Settled", "The settled state after an act.")
        .def_readonly("running", &Settled::running, "Machines that run.")
        .def_readonly("armatures", &Settled::armatures, "Contactors, relays and timers that are in.")
        .def_readonly("maybe", &Settled::maybe, "Machines and armatures that may do either.")
        .def_readonly("live", &Settled::live, "Nets above 50 V to earth.")
        .def("__repr__", [](const Settled &self) {
            return "<running: " + joined(self.running) + "; in: " + joined(self.armatures) +
                   (self.maybe.empty() ? "" : "; maybe: " + joined(self.maybe)) + ">";
        });

    py::class_<ReplayOf> replay(module, "Replay", "What a circuit does, act by act, from cold.");
    struct OneName {
        const char *method, *word, *argument, *doc;
    };
    static constexpr OneName acts[] = {
        {"tap", "tap", "device", "Press a momentary device and let go."},
        {"hold", "hold", "device", "Press a momentary device and keep it pressed."},
        {"latch", "latch", "device", "Press a latching device; it stays in."},
        {"unlatch", "unlatch", "device", "Release a latching device."},
        {"open", "open", "isolator", "Open an isolator."},
        {"close", "close", "isolator", "Close an isolator."},
        {"trip", "trip", "overload", "Let an overload trip."},
        {"cool", "cool", "overload", "Let an overload cool; an automatic one closes again."},
        {"reset", "reset", "overload", "Reset a tripped overload."},
        {"blow", "blow", "fuse", "Blow a fuse."},
        {"replace", "replace", "fuse", "Put in a new fuse."},
        {"earth", "earth", "net", "Fault: short a net to earth."},
        {"break_", "break", "wire", "Fault: break a wire, named by a terminal as \"K1:13\" or a link."},
        {"weld", "weld", "contactor", "Fault: weld the poles of a contactor."},
        {"jam", "jam", "device", "Fault: jam an actuator where it is."},
        {"blind", "blind", "overload", "Fault: an overload that never trips."},
    };
    for (const OneName &each : acts)
        replay.def(
            each.method,
            [word = std::string(each.word)](ReplayOf &self, const std::string &name) {
                return act(self, word + " " + one_word(name));
            },
            py::arg(each.argument), each.doc);

    replay
        .def(
            "free",
            [](ReplayOf &self, const std::string &name, bool slow) {
                return act(self, "free " + one_word(name) + (slow ? " slow" : ""));
            },
            "device"_a, "slow"_a = false,
            "Let go of a held device. `slow` lets a change-over contact dwell with both sides open.")
        .def(
            "turn",
            [](ReplayOf &self, const std::string &name, const std::optional<std::string> &position) {
                return act(self, "turn " + one_word(name) + (position ? " " + one_word(*position) : ""));
            },
            "device"_a, "position"_a = py::none(), "Turn a maintained device \"on\" or \"off\", or to the other one.")
        .def(
            "lose",
            [](ReplayOf &self, const std::string &source, const std::optional<std::string> &pole) {
                return act(self, "lose " + one_word(source) + (pole ? ":" + one_word(*pole) : ""));
            },
            "source"_a, "pole"_a = py::none(), "Lose a source, or one pole of it.")
        .def(
            "restore",
            [](ReplayOf &self, const std::string &source, const std::optional<std::string> &pole) {
                return act(self, "restore " + one_word(source) + (pole ? ":" + one_word(*pole) : ""));
            },
            "source"_a, "pole"_a = py::none(), "Bring a source back, or one pole of it.")
        .def(
            "elapse",
            [](ReplayOf &self, const std::optional<std::string> &timer) {
                return act(self, timer ? "elapse " + one_word(*timer) : "elapse");
            },
            "timer"_a = py::none(), "Let time pass: every timer that runs, or one.")
        .def(
            "bridge",
            [](ReplayOf &self, const std::string &first, const std::string &second) {
                return act(self, "bridge " + one_word(first) + " " + one_word(second));
            },
            "first"_a, "second"_a, "Fault: short two nets together.")
        .def(
            "detach",
            [](ReplayOf &self, const std::string &device, const std::optional<std::string> &contact) {
                return act(self, "detach " + one_word(device) + (contact ? ":" + one_word(*contact) : ""));
            },
            "device"_a, "contact"_a = py::none(),
            "Fault: the block of the contact that begins at this terminal ('11') comes off its actuator, or all of "
            "them.")
        .def(
            "fresh", [](ReplayOf &self) { return act(self, "fresh"); }, "Start again from cold, without faults.")
        .def("act", &act, "text"_a,
             "Do one act or several, as \"tap S1; latch S9\".\n\nRaises:\n    ModelError: An act that is not possible; "
             "nothing has then happened.")
        .def_property_readonly("settled", &settled, "The state now.")
        .def(
            "state", [](const ReplayOf &self, const std::string &name) { return self.replay.state(name); },
            "designation"_a,
            "\"runs\", \"stopped\" or \"maybe\" for motors, drives and machines; \"on\", \"off\" or \"maybe\" for "
            "armatures, lamps and loads; \"intact\", \"blown\" or \"maybe\" for fuses.")
        .def(
            "mode", [](const ReplayOf &self, const std::string &motor) { return self.replay.mode(motor); }, "motor"_a,
            "How a motor runs: \"stopped\", \"run\", \"forward\", \"star\", \"single-phasing\" ... or \"maybe\".")
        .def(
            "live", [](const ReplayOf &self, const std::string &net) { return self.replay.live(net); }, "net"_a,
            "Is this net above 50 V to earth.")
        .def(
            "coil_ratio", [](const ReplayOf &self, const std::string &name) { return self.replay.coil_ratio(name); },
            "designation"_a, "Coil voltage over rated voltage, the largest that is possible.")
        .def_property_readonly(
            "notes", [](const ReplayOf &self) { return self.replay.notes(); },
            "Races, chatter and shorts met since the start.")
        .def("__copy__", [](const ReplayOf &self) { return ReplayOf(self); });

    circuit.def(
        "replay", [](const Circuit &self) { return ReplayOf(self); },
        "What this circuit does, act by act, from cold. Later changes of the circuit do not reach it.");
}

} // namespace stopspan::python
