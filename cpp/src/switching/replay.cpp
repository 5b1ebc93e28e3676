#include "stopspan/replay.hpp"

#include "base/words.hpp"
#include "circuit/kinds.hpp"
#include "switching/acts.hpp"
#include "switching/observe.hpp"

#include <algorithm>
#include <set>
#include <sstream>

namespace stopspan {
namespace {

constexpr std::array<std::string_view, 23> verbs{
    "tap",   "hold", "free",    "latch",  "unlatch", "turn",   "lose",  "restore", "open", "close",  "trip", "cool",
    "reset", "blow", "replace", "elapse", "earth",   "bridge", "break", "weld",    "jam",  "detach", "blind"};

struct Step {
    std::string verb, text;
    std::uint32_t device = none, net_a = none, net_b = none;
    std::string pole;     ///< "L1" of "lose MAINS:L1", terminal of "break K1:13"
    std::string position; ///< "on" or "off" of turn
    std::string slow;     ///< "slow": a change-over contact dwells
};

[[noreturn]] void refuse(const std::string &message) {
    throw Error(ErrorCode::bad_act, message);
}

} // namespace

struct Replay::Implementation {
    explicit Implementation(const Circuit &source) : original(source), circuit(source) {
        rebuild();
        start();
    }
    Implementation(const Implementation &other)
        : original(other.original), circuit(other.circuit), joins(other.joins), welded(other.welded),
          jammed(other.jammed), blind(other.blind), detached(other.detached), notes(other.notes) {
        rebuild();
        states = other.states;
    }

    Circuit original, circuit; // `circuit` has its broken wires taken off
    std::vector<std::pair<std::uint32_t, std::uint32_t>> joins;
    std::set<std::uint32_t> welded, jammed, blind;            // devices
    std::set<std::pair<std::uint32_t, std::string>> detached; // device and first terminal of a contact; empty: all
    std::vector<std::string> notes;
    Compiled compiled;
    std::unique_ptr<Settler> settler;
    std::vector<ActorInfo> actors;
    std::vector<State> states;

    const Device &device(std::uint32_t index) const { return circuit.devices()[index]; }

    void rebuild() {
        compiled = compile(circuit);
        for (auto [a, b] : joins)
            compiled.switches.push_back({.a = a, .b = b, .variable = none, .closed_at = 0xff, .device = none});
        for (Armature &armature : compiled.armatures)
            if (welded.contains(armature.device))
                armature.kind = Armature::Kind::welded;
        for (Switch &contact : compiled.switches)
            if (contact.device != none && is_detached(contact))
                contact.closed_at = contact.closed_at & 1 ? 0xff : 0;
        actors.clear();
        for (std::uint32_t v = 0; v < compiled.variables.size(); ++v)
            actors.push_back(actor_info(compiled, v, device(compiled.variables[v].device)));
        settler = std::make_unique<Settler>(compiled);
    }

    bool is_detached(const Switch &contact) const {
        if (detached.contains({contact.device, {}}))
            return true;
        const auto one = contact_at(device(contact.device), contact.terminal);
        return one && detached.contains({contact.device, one->first});
    }

    void start() {
        states = {compiled.cold()};
        settle_all();
    }

    void note(const Settled &settled) {
        std::vector<std::string> fresh = settled.notes;
        std::vector<std::string> names;
        for (const std::uint32_t armature : settled.moved)
            names.push_back(device(compiled.armatures[armature].device).designation);
        if (settled.race)
            fresh.push_back("contact race: " + listed(names));
        if (settled.chatter)
            fresh.push_back("chatter: " + listed(names));
        for (std::string &text : fresh)
            if (std::find(notes.begin(), notes.end(), text) == notes.end())
                notes.push_back(std::move(text));
    }

    template <class Change>
    void each_state(Change &&change) { // change: State -> Settled
        std::vector<State> next;
        for (const State &state : states) {
            Settled settled = change(state);
            note(settled);
            next.insert(next.end(), settled.ends.begin(), settled.ends.end());
        }
        std::sort(next.begin(), next.end());
        next.erase(std::unique(next.begin(), next.end()), next.end());
        states = std::move(next);
    }
    void settle_all() {
        each_state([&](const State &state) { return settler->settle(state); });
    }
    void set(std::uint32_t variable, std::vector<std::uint8_t> positions) {
        const Act act{ActKind::press, variable, 0, std::move(positions), false, {}};
        each_state([&](const State &state) {
            // Nothing to move here; a coil in its band may still let go or pull in meanwhile.
            return state[variable] == act.to.back() ? settler->settle(state) : perform(*settler, state, act);
        });
    }

    // ---- reading acts

    std::uint32_t device_index(const std::string &name) const {
        (void)circuit.at(name);
        return circuit.find(name)->value;
    }
    std::uint32_t net_index(const std::string &name) const {
        if (const auto id = circuit.find_net(name))
            return id->value;
        if (name == "PE")
            return compiled.earth;
        throw Error(ErrorCode::unknown_name,
                    "no net '" + name + "' in the circuit; " +
                        known_names(
                            circuit.nets().size(), [&](std::size_t i) { return std::string_view(circuit.nets()[i]); },
                            "it is empty"));
    }

    Step read(const std::string &text) const {
        std::istringstream words(text);
        std::vector<std::string> word;
        for (std::string each; words >> each;)
            word.push_back(each);
        Step step{.verb = word[0], .text = text, .pole = {}, .position = {}, .slow = {}};
        if (step.verb == "fresh")
            return step;
        if (std::find(verbs.begin(), verbs.end(), step.verb) == verbs.end())
            refuse("no act '" + step.verb + "'; known: " + listed(verbs) + ", fresh");
        const auto wants = [&](std::size_t least, std::size_t most, const std::string &form) {
            if (word.size() - 1 < least || word.size() - 1 > most)
                refuse("'" + text + "': write it as '" + form + "'");
        };
        if (step.verb == "earth" || step.verb == "bridge") {
            const bool bridge = step.verb == "bridge";
            wants(bridge ? 2 : 1, bridge ? 2 : 1, bridge ? "bridge NET NET" : "earth NET");
            step.net_a = net_index(word[1]);
            step.net_b = bridge ? net_index(word[2]) : compiled.earth;
            return step;
        }
        if (step.verb == "elapse" && word.size() == 1)
            return step;
        wants(1, step.verb == "turn" ? 3 : 2, step.verb == "turn" ? "turn DEVICE on" : step.verb + " DEVICE");
        std::string name = word[1];
        if (const auto colon = name.find(':'); colon != std::string::npos) {
            step.pole = name.substr(colon + 1);
            name.resize(colon);
        }
        step.device = device_index(name);
        for (std::size_t i = 2; i < word.size(); ++i)
            (word[i] == "slow" ? step.slow : step.position) = word[i];
        check(step);
        return step;
    }

    // Does this device know this act?
    void check(const Step &step) const {
        const Device &what = device(step.device);
        const auto only = [&](bool fits, const std::string &way_out) {
            if (!fits)
                refuse("'" + step.text + "': " + what.designation + " is " + with_article(to_text(what.kind)) + "; " +
                       way_out);
        };
        const std::string &verb = step.verb;
        const bool actuator = is_actuator(what.kind);
        if (verb == "tap" || verb == "hold" || verb == "free")
            only(actuator && is_momentary(what), "tap, hold and free are for momentary and spring-return devices");
        else if (verb == "latch" || verb == "unlatch")
            only(actuator && action_of(what) == Action::latching, "latch and unlatch are for latching devices");
        else if (verb == "turn")
            only(actuator && action_of(what) == Action::maintained, "turn is for maintained devices");
        else if (verb == "lose" || verb == "restore")
            only(source_of(step.device) != nullptr, "lose and restore are for sources");
        else if (verb == "open" || verb == "close")
            only(what.kind == DeviceKind::isolator, "open and close are for isolators");
        else if (verb == "trip" || verb == "cool" || verb == "reset" || verb == "blind")
            only(what.kind == DeviceKind::overload, verb + " is for overloads");
        else if (verb == "blow" || verb == "replace")
            only(what.kind == DeviceKind::fuse, verb + " is for fuses");
        else if (verb == "elapse")
            only(what.kind == DeviceKind::timer, "elapse is for timers");
        else if (verb == "weld")
            only(what.kind == DeviceKind::contactor || what.kind == DeviceKind::relay ||
                     what.kind == DeviceKind::latched_contactor,
                 "weld is for contactors and relays");
        else if (verb == "jam" || verb == "detach")
            only(actuator, verb + " is for hand-operated devices");
        if (!step.pole.empty()) {
            if (verb == "break") {
                if (!what.net_of(step.pole))
                    refuse("'" + step.text + "': " + what.designation + " has no wired terminal '" + step.pole + "'");
            } else if (verb == "detach") {
                const auto contacts = contacts_of(what);
                if (std::none_of(contacts.begin(), contacts.end(),
                                 [&](const Contact &contact) { return contact.first == step.pole; }))
                    refuse("'" + step.text + "': " + what.designation + " has no contact that begins at '" + step.pole +
                           "'");
            } else if (verb == "lose" || verb == "restore") {
                static_cast<void>(pole_of(step));
            } else {
                refuse("'" + step.text + "': name the device without a terminal");
            }
        }
        const bool may_be_slow =
            verb == "tap" || verb == "hold" || verb == "free" || verb == "latch" || verb == "unlatch";
        if (!step.position.empty() && !(verb == "turn" && (step.position == "on" || step.position == "off")) &&
            !(may_be_slow && step.position == "slow"))
            refuse("'" + step.text + "': '" + step.position + "' is not understood; turn takes on or off, " +
                   "hand-operated devices take slow");
    }

    const Source *source_of(std::uint32_t index) const {
        for (const Source &source : compiled.sources)
            if (source.device == index)
                return &source;
        return nullptr;
    }
    std::uint8_t pole_of(const Step &step) const {
        const Source &source = *source_of(step.device);
        if (step.pole.empty())
            return lost_mask(source);
        std::vector<std::string> known;
        for (std::size_t p = 0; p < source.poles.size(); ++p) {
            if (source.poles[p].name == step.pole)
                return static_cast<std::uint8_t>(1U << p);
            known.push_back(source.poles[p].name);
        }
        refuse("'" + step.text + "': no pole '" + step.pole + "'; known: " + listed(known));
    }

    // ---- doing acts

    void move_actuator(const Step &step, bool press) {
        if (jammed.contains(step.device))
            return;
        const std::uint32_t variable = compiled.variable_of[step.device];
        const bool slow = !step.slow.empty();
        const std::uint8_t end = press ? 1 : 0;
        set(variable,
            slow && actors[variable].changes_over ? std::vector<std::uint8_t>{2, end} : std::vector<std::uint8_t>{end});
    }

    void elapse(std::uint32_t only) {
        // The shortest delay first; timers started by that run out in turn. A timer that restarts itself ends nowhere.
        constexpr int most_rounds = 16;
        for (int round = 0; round < most_rounds; ++round) {
            bool any = false;
            each_state([&](const State &state) {
                std::vector<std::uint32_t> running;
                double shortest = 0;
                for (const Armature &armature : compiled.armatures) {
                    if (armature.timed == none || (only != none && armature.device != only))
                        continue;
                    const bool runs = (state[armature.variable] == 0) == (state[armature.timed] == 1);
                    if (!runs)
                        continue;
                    const double delay_s = device(armature.device).number("delay_s").value_or(0);
                    if (running.empty() || delay_s < shortest) {
                        running.clear();
                        shortest = delay_s;
                    }
                    if (delay_s == shortest)
                        running.push_back(armature.timed);
                }
                State changed = state;
                for (const std::uint32_t variable : running)
                    changed[variable] = !changed[variable];
                any |= !running.empty();
                return settler->settle(changed);
            });
            if (!any || only != none)
                return;
        }
    }

    void change_faults(const Step &step) {
        if (step.verb == "break") {
            const std::string name = device(step.device).designation;
            const std::string terminal = step.pole.empty() ? device(step.device).terminals[0].name : step.pole;
            // connect() renumbers nets when one vanishes, so joins are carried over by name.
            std::vector<std::pair<std::string, std::string>> names;
            for (auto [a, b] : joins)
                names.emplace_back(compiled.net_names[a], compiled.net_names[b]);
            circuit.connect(name, terminal, name + ":" + terminal + " broken off");
            const Compiled renumbered = compile(circuit);
            joins.clear();
            for (const auto &[a, b] : names) {
                const auto find = [&](const std::string &net) {
                    return static_cast<std::uint32_t>(
                        std::find(renumbered.net_names.begin(), renumbered.net_names.end(), net) -
                        renumbered.net_names.begin());
                };
                if (find(a) < renumbered.net_names.size() && find(b) < renumbered.net_names.size())
                    joins.emplace_back(find(a), find(b));
            }
        } else if (step.net_a != none) {
            joins.emplace_back(step.net_a, step.net_b);
        } else if (step.verb == "weld") {
            welded.insert(step.device);
            for (State &state : states)
                state[compiled.variable_of[step.device]] = 1;
        } else if (step.verb == "detach") {
            detached.insert({step.device, step.pole});
        } else if (step.verb == "jam") {
            jammed.insert(step.device);
            return;
        } else {
            blind.insert(step.device);
            return;
        }
        rebuild();
        settle_all();
    }

    void perform_step(const Step &step) {
        const std::string &verb = step.verb;
        const std::uint32_t variable = step.device == none ? none : compiled.variable_of[step.device];
        if (verb == "fresh") {
            circuit = original;
            joins.clear();
            for (auto *faults : {&welded, &jammed, &blind})
                faults->clear();
            detached.clear();
            notes.clear();
            rebuild();
            start();
        } else if (verb == "tap") {
            move_actuator(step, true);
            move_actuator(step, false);
        } else if (verb == "hold" || verb == "latch") {
            move_actuator(step, true);
        } else if (verb == "free" || verb == "unlatch") {
            move_actuator(step, false);
        } else if (verb == "turn") {
            move_actuator(step, step.position.empty() ? states.front()[variable] == 0 : step.position == "on");
        } else if (verb == "lose" || verb == "restore") {
            const std::uint8_t mask = pole_of(step);
            each_state([&](State state) {
                const auto lost = static_cast<unsigned>(state[variable]);
                state[variable] = static_cast<std::uint8_t>(verb == "lose"      ? lost | mask
                                                            : step.pole.empty() ? 0U
                                                                                : lost & ~static_cast<unsigned>(mask));
                return settler->settle(state);
            });
        } else if (verb == "open") {
            set(variable, actors[variable].early_make ? std::vector<std::uint8_t>{2, 1} : std::vector<std::uint8_t>{1});
        } else if (verb == "close" || verb == "reset" || verb == "replace") {
            set(variable, {0});
        } else if (verb == "cool") {
            if (actors[variable].automatic)
                set(variable, {0});
        } else if (verb == "trip") {
            if (!blind.contains(step.device))
                set(variable, {1});
        } else if (verb == "blow") {
            set(variable, {1});
        } else if (verb == "elapse") {
            elapse(step.device);
        } else {
            change_faults(step);
        }
    }

    // ---- seeing

    template <class See>
    std::string over_states(See &&see, std::string_view on, std::string_view off) const {
        bool any_on = false, any_off = false;
        for (State state : states) {
            settler->network().evaluate(state);
            const Tri seen = see(state);
            any_on |= seen != Tri::off;
            any_off |= seen != Tri::on;
        }
        return std::string(any_on && any_off ? "maybe" : any_on ? on : off);
    }
};

Replay::Replay(const Circuit &circuit) : self_(std::make_unique<Implementation>(circuit)) {}
Replay::Replay(const Replay &other) : self_(std::make_unique<Implementation>(*other.self_)) {}
Replay &Replay::operator=(const Replay &other) {
    self_ = std::make_unique<Implementation>(*other.self_);
    return *this;
}
Replay::Replay(Replay &&) noexcept = default;
Replay &Replay::operator=(Replay &&) noexcept = default;
Replay::~Replay() = default;

void Replay::act(std::string_view text) {
    std::vector<Step> steps;
    std::istringstream acts{std::string(text)};
    for (std::string each; std::getline(acts, each, ';');) {
        const auto first = each.find_first_not_of(" \t\n");
        if (first == std::string::npos)
            continue;
        steps.push_back(self_->read(each.substr(first, each.find_last_not_of(" \t\n") - first + 1)));
    }
    for (const Step &step : steps)
        self_->perform_step(step);
}

std::string Replay::state(std::string_view designation) const {
    const Implementation &self = *self_;
    const Compiled &compiled = self.compiled;
    const auto id = self.circuit.find(designation);
    if (!id) {
        for (std::uint32_t m = 0; m < compiled.machines.size(); ++m)
            if (compiled.machines[m] == designation)
                return self.over_states(
                    [&](const State &state) {
                        return observe_machine(compiled, m, state, self.settler->network()).runs;
                    },
                    "runs", "stopped");
        throw Error(ErrorCode::unknown_name,
                    "no device or machine '" + std::string(designation) + "' in the circuit; " +
                        known_names(
                            self.circuit.devices().size(),
                            [&](std::size_t i) { return std::string_view(self.circuit.devices()[i].designation); },
                            "it is empty"));
    }
    for (const MotorSeen &motor : compiled.motors)
        if (motor.device == id->value)
            return self.over_states(
                [&](const State &state) { return observe(motor, state, self.settler->network()).runs; }, "runs",
                "stopped");
    for (const LoadSeen &load : compiled.loads)
        if (load.device == id->value)
            return self.over_states([&](const State &) { return observe(load, self.settler->network()); }, "on", "off");
    const std::uint32_t variable = compiled.variable_of[id->value];
    if (variable == none)
        return "fixed";
    const auto position = [&](std::string_view acted, std::string_view rest) {
        return self.over_states([&](const State &state) { return state[variable] ? Tri::on : Tri::off; }, acted, rest);
    };
    switch (compiled.variables[variable].kind) {
    case Variable::Kind::armature:
        return position("on", "off");
    case Variable::Kind::fuse:
        return position("blown", "intact");
    case Variable::Kind::isolator:
        return position("open", "closed");
    case Variable::Kind::overload:
        return position("tripped", "closed");
    case Variable::Kind::source:
        return position("lost", "healthy");
    default:
        break;
    }
    const Action action = self.actors[variable].action;
    if (action == Action::latching)
        return position("latched", "unlatched");
    return action == Action::maintained ? position("on", "off") : position("held", "free");
}

std::string Replay::mode(std::string_view motor) const {
    const std::uint32_t index = self_->device_index(std::string(motor));
    std::set<std::string_view> seen;
    for (const MotorSeen &each : self_->compiled.motors)
        if (each.device == index)
            for (State state : self_->states) {
                self_->settler->network().evaluate(state);
                seen.insert(to_text(observe(each, state, self_->settler->network()).mode));
            }
    if (seen.empty())
        throw Error(ErrorCode::unknown_name, std::string(motor) + " is no motor or drive");
    return seen.size() == 1 ? std::string(*seen.begin()) : "maybe";
}

bool Replay::live(std::string_view net) const {
    const std::uint32_t index = self_->net_index(std::string(net));
    for (State state : self_->states) {
        self_->settler->network().evaluate(state);
        if (self_->settler->network().live(index))
            return true;
    }
    return false;
}

double Replay::coil_ratio(std::string_view designation) const {
    const std::uint32_t index = self_->device_index(std::string(designation));
    double highest = -1;
    for (std::uint32_t i = 0; i < self_->compiled.armatures.size(); ++i)
        if (self_->compiled.armatures[i].device == index &&
            self_->compiled.armatures[i].kind != Armature::Kind::monitor)
            for (State state : self_->states) {
                self_->settler->network().evaluate(state);
                if (self_->compiled.armatures[i].rated_v > 0)
                    highest = std::max(highest, self_->settler->network().coil_ratio(i).high);
            }
    if (highest < 0)
        throw Error(ErrorCode::unknown_name, std::string(designation) + " has no coil");
    return highest;
}

std::vector<std::string> Replay::notes() const {
    return self_->notes;
}

} // namespace stopspan
