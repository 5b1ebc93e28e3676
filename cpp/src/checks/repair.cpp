#include "checks/repair.hpp"

#include "checks/machine_search.hpp"

#include <algorithm>
#include <optional>

namespace stopspan {
namespace {

// Changed circuits tried per finding and kind of change: many while a check is cheap, few where it visits many states.
std::size_t tries_for(std::size_t states) {
    constexpr std::size_t most = 900, all_states = 60'000, too_many = 700;
    return states > too_many ? 0 : std::min(most, all_states / (states + 150));
}
constexpr std::size_t all_work = 300'000; // states looked at for all findings of one verdict, about
constexpr std::size_t small_part = 60;    // devices
constexpr std::size_t handy_part = 25, tries_when_large = 30;
constexpr std::size_t run_budget = 20'000; // states looked at to see that a machine still runs

using Key = std::pair<std::string, std::vector<std::string>>;

Key key_of(const Finding &finding) {
    std::vector<std::string> subjects = finding.subjects;
    if (finding.rule == "isolator-clears" && subjects.size() > 2)
        subjects.resize(1); // the list of live nets may shrink
    std::sort(subjects.begin(), subjects.end());
    return {finding.rule, subjects};
}

std::set<Key> open_findings(const Verdict &verdict) {
    std::set<Key> keys;
    for (const Finding &finding : verdict.findings)
        if (finding.status != Status::note && finding.status != Status::waived)
            keys.insert(key_of(finding));
    return keys;
}

/// What still works: run modes of each machine, loads that can be on.
struct Works {
    std::map<std::string, std::set<Mode>> modes;
    std::set<std::string> loads;
    std::size_t states = 0; ///< looked at to see that
    bool covers(const Works &other) const {
        for (const auto &[machine, wanted] : other.modes) {
            const auto mine = modes.find(machine);
            if (mine == modes.end() ||
                !std::includes(mine->second.begin(), mine->second.end(), wanted.begin(), wanted.end()))
                return false;
        }
        return std::includes(loads.begin(), loads.end(), other.loads.begin(), other.loads.end());
    }
};

Works works(const Circuit &circuit) {
    Works seen;
    CheckOptions options;
    options.state_budget = run_budget;
    const Context context(circuit, options);
    for (std::uint32_t m = 0; m < context.compiled.machines.size(); ++m) {
        const MachineSeen machine(context, m);
        MachineSearch search(context, machine, false);
        search.run(context.options.state_budget);
        seen.states += search.states();
        for (std::uint32_t node = 0; node < search.states(); ++node) {
            const Glimpse glimpse = search.glimpse(node);
            if (glimpse.runs == Tri::on && glimpse.mode != Mode::single_phasing && glimpse.mode != Mode::other &&
                !search.momentary_held(search.state(node)))
                seen.modes[machine.name].insert(glimpse.mode); // with no hand on a button
        }
    }
    for (const LoadSeen &load : context.compiled.loads) {
        if (!load.kept)
            continue;
        const Reach reach = reach_of(
            context.compiled, context.relevance,
            {.nets = {load.a, load.b}, .power = {}, .loads = context.lookup.impedances_of[load.device]}, Extent::feed);
        Cone cone = cut_cone(context.circuit, context.compiled, context.relevance, reach);
        LoadSeen inside = load;
        inside.a = cone.net_of[load.a];
        inside.b = cone.net_of[load.b];
        if (inside.a == none || inside.b == none)
            continue;
        Exploration exploration(cone);
        bool on = false;
        exploration.run(run_budget, [&](const Exploration::Transition &t) {
            if (on)
                return;
            State state = exploration.nodes()[t.from].state;
            exploration.settler().network().evaluate(state);
            on = observe(inside, exploration.settler().network()) == Tri::on;
        });
        if (on)
            seen.loads.insert(context.compiled.device_names[load.device]);
    }
    return seen;
}

class Repairer {
public:
    Repairer(const Context &context, const Verdict &verdict) : context_(context), verdict_(verdict) {}

    std::string repair(const Finding &finding) {
        key_ = key_of(finding);
        take_part(part_of(finding));
        if (limit_ == 0 || !before_.contains(key_))
            return {}; // too large, or it takes more than this part to show it
        tries_ = 0;
        std::string text = move_one_wire(finding);
        for (const bool move : {true, false})
            if (text.empty()) {
                tries_ = 0;
                text = place_contact(finding, move);
            }
        return text;
    }

private:
    // Findings of one machine share their part: what it finds and what runs in it is worked out once.
    void take_part(Circuit part) {
        if (part == part_)
            return;
        part_ = std::move(part);
        works_ = works(part_);
        limit_ = work_ > all_work ? 0 : tries_for(works_.states);
        if (part_.devices().size() > handy_part)
            limit_ = std::min(limit_, tries_when_large);
        before_ = limit_ == 0 ? std::set<Key>{} : open_findings(check(part_, options_for(part_, {})));
    }

    // Devices connected with the subjects: small enough to be checked again and again.
    Circuit part_of(const Finding &finding) const {
        Seeds seeds;
        for (const std::string &subject : finding.subjects) {
            for (const MotorSeen &motor : context_.compiled.motors)
                if (context_.compiled.machines[motor.machine] == subject) {
                    seeds.power.insert(seeds.power.end(), motor.nets.begin(), motor.nets.end());
                    for (const MotorSeen::Winding &winding : motor.windings)
                        seeds.nets.insert(seeds.nets.end(), {winding.a, winding.b});
                }
            if (const auto id = context_.circuit.find(subject))
                for (const Device::Terminal &terminal : context_.circuit.device(*id).terminals)
                    seeds.nets.push_back(terminal.net.value);
        }
        // All that is connected while that is little, else what is relevant.
        Circuit part = devices_of(reach_of(context_.compiled, context_.relevance, seeds, Extent::everything), finding);
        if (part.devices().size() > small_part)
            part = devices_of(reach_of(context_.compiled, context_.relevance, seeds, Extent::feed), finding);
        return part;
    }

    Circuit devices_of(const Reach &reach, const Finding &finding) const {
        std::set<std::uint32_t> wanted;
        for (const std::uint32_t i : reach.switches)
            wanted.insert(context_.compiled.switches[i].device);
        for (const std::uint32_t i : reach.impedances)
            wanted.insert(context_.compiled.impedances[i].device);
        for (const std::uint32_t v : reach.variables)
            wanted.insert(context_.compiled.variables[v].device);
        for (const Source &source : context_.compiled.sources)
            wanted.insert(source.device);
        for (const std::string &subject : finding.subjects)
            if (const auto id = context_.circuit.find(subject))
                wanted.insert(id->value);
        Circuit part;
        for (const std::uint32_t device : wanted)
            add_copy(part, context_.circuit.devices()[device], context_.circuit);
        return part;
    }

    static void add_copy(Circuit &to, const Device &device, const Circuit &from) {
        std::vector<Connection> connections;
        for (const Device::Terminal &terminal : device.terminals)
            connections.push_back({terminal.name, from.net_name(terminal.net)});
        to.add(device.designation, device.kind, connections, device.parameters);
    }

    CheckOptions options_for(const Circuit &circuit, std::vector<std::string> rules) const {
        CheckOptions options;
        options.repairs = false;
        options.state_budget = context_.options.state_budget;
        options.rules = std::move(rules);
        if (options.rules.empty())
            options.rules = context_.options.rules;
        // In large circuits what an isolator clears and what contactors exclude is not asked again for a try.
        if (circuit.devices().size() > small_part && options.rules.empty())
            options.rules = {"stop-cuts",      "stop-spares", "stop-beats-start", "power-return",
                             "release-return", "trip-return", "own-start",        "overload-cuts"};
        const auto machines = circuit.machines();
        options.asked.emplace();
        for (const auto &[target, cells] : context_.asked)
            if (circuit.find(target) || std::find(machines.begin(), machines.end(), target) != machines.end())
                for (const auto &[stop, asked] : cells)
                    if (circuit.find(context_.stops[stop].name))
                        options.asked->push_back({context_.stops[stop].name, target, asked});
        return options;
    }

    // The finding is gone, no other has come, everything still runs; first the rule alone, for speed.
    // @returns how many findings are left, or nothing when it does not mend
    std::optional<std::size_t> mends(const Circuit &changed) {
        ++tries_;
        work_ += works_.states + 150;
        if (work_ > all_work)
            limit_ = 0;
        const auto left = [&](const Verdict &verdict) -> std::optional<std::size_t> {
            const auto now = open_findings(verdict);
            if (now.contains(key_) || !std::includes(before_.begin(), before_.end(), now.begin(), now.end()))
                return std::nullopt;
            return now.size();
        };
        if (!left(check(changed, options_for(changed, {key_.first}))))
            return std::nullopt;
        const auto whole = left(check(changed, options_for(changed, {})));
        return whole && works(changed).covers(works_) ? whole : std::nullopt;
    }

    bool mends_whole(const std::function<void(Circuit &)> &apply) const {
        if (part_.devices().size() == context_.circuit.devices().size())
            return true;
        Circuit whole = context_.circuit;
        apply(whole);
        const auto before = open_findings(verdict_), now = open_findings(check(whole, options_for(whole, {})));
        return !now.contains(key_) && std::includes(before.begin(), before.end(), now.begin(), now.end());
    }

    // Devices in the order in which they are suspected: on the path that holds the coil, subjects, then the rest.
    std::vector<const Device *> suspects(const Finding &finding) const {
        std::vector<const Device *> order;
        const auto put = [&](const Device &device) {
            if (std::find(order.begin(), order.end(), &device) == order.end())
                order.push_back(&device);
        };
        // A contact that holds a coil past what should open it is the usual culprit.
        for (const bool holding : {true, false})
            for (const std::string &step : finding.witness.path) {
                const auto id = part_.find(step.substr(0, step.find(':')));
                if (id && (part_.device(*id).net_of("A1").has_value() || !holding))
                    put(part_.device(*id));
            }
        for (const std::string &subject : finding.subjects)
            if (const auto id = part_.find(subject))
                put(part_.device(*id));
        for (const Device &device : part_.devices())
            put(device);
        return order;
    }

    static bool movable(const Device &device, const std::string &terminal) {
        switch (device.kind) {
        case DeviceKind::contactor:
        case DeviceKind::relay:
        case DeviceKind::timer:
            return terminal[0] != 'A' && terminal.size() > 1; // control contacts only
        case DeviceKind::fuse:
        case DeviceKind::load:
        case DeviceKind::lamp:
        case DeviceKind::link:
            return true;
        default:
            return is_actuator(device.kind) || (device.kind == DeviceKind::overload && terminal.size() > 1);
        }
    }

    std::string move_one_wire(const Finding &finding) {
        for (const Device *device : suspects(finding))
            for (const Device::Terminal &terminal : device->terminals) {
                if (!movable(*device, terminal.name))
                    continue;
                const std::string from = part_.net_name(terminal.net), name = device->designation;
                std::string best;
                std::size_t fewest = before_.size();
                for (const std::string &to : targets(*device)) {
                    if (to == from || stays_beside(*device, terminal.name, to))
                        continue;
                    if (tries_ >= limit_)
                        break;
                    Circuit changed = part_;
                    changed.connect(name, terminal.name, to);
                    if (const auto left = mends(changed); left && *left < fewest) {
                        fewest = *left;
                        best = to;
                    }
                }
                if (!best.empty() && mends_whole([&](Circuit &whole) { whole.connect(name, terminal.name, best); }))
                    return "move the wire at " + name + ":" + terminal.name + " from " + from + " to " + best;
                if (tries_ >= limit_)
                    return {};
            }
        return {};
    }

    // Nets to try: for what takes a feed those with a power pole first, for a contact those of control first.
    std::vector<std::string> targets(const Device &device) const {
        std::set<std::uint32_t> with_pole;
        for (const Device &each : part_.devices())
            for (const Contact &contact : contacts_of(each))
                if (contact.sense == ContactSense::pole)
                    for (const std::string &terminal : {contact.first, contact.second})
                        with_pole.insert(each.net_of(terminal)->value);
        const bool feed = device.kind == DeviceKind::fuse || device.kind == DeviceKind::load;
        std::vector<std::string> first, second;
        for (std::uint32_t net = 0; net < part_.nets().size(); ++net)
            (with_pole.contains(net) == feed ? first : second).push_back(part_.nets()[net]);
        first.insert(first.end(), second.begin(), second.end());
        return first;
    }

    // A contact with both sides on one net does nothing any more: that is taking it away, not mending it.
    bool stays_beside(const Device &device, const std::string &terminal, const std::string &to) const {
        for (const Contact &contact : contacts_of(device))
            for (const auto &[here, there] :
                 {std::pair{contact.first, contact.second}, {contact.second, contact.first}})
                if (here == terminal && part_.net_name(*device.net_of(there)) == to)
                    return true;
        if (contacts_of(device).empty())
            for (const Device::Terminal &other : device.terminals)
                if (other.name != terminal && part_.net_name(other.net) == to)
                    return true;
        return false;
    }

    // A break contact of the stop in series at another place: one it has (moved) or a further block (added).
    std::string place_contact(const Finding &finding, bool move) {
        if (finding.rule != "stop-cuts" && finding.rule != "stop-beats-start" && finding.rule != "release-return" &&
            finding.rule != "overload-cuts")
            return {};
        const auto id = part_.find(finding.subjects[0]);
        if (!id || (!is_actuator(part_.device(*id).kind) && part_.device(*id).kind != DeviceKind::overload))
            return {};
        const Device stop = part_.device(*id);
        std::vector<Contact> blocks;
        for (const Contact &contact : contacts_of(stop))
            if (contact.sense == ContactSense::break_)
                blocks.push_back(contact);
        if (!move) {
            if (!is_actuator(stop.kind))
                return {};
            int row = 1;
            while (stop.net_of(std::to_string(row) + "1") || stop.net_of(std::to_string(row) + "3"))
                ++row;
            blocks = {{std::to_string(row) + "1", std::to_string(row) + "2", ContactSense::break_}};
        }
        for (const Contact &block : blocks)
            for (const Device *device : suspects(finding))
                for (const Device::Terminal &terminal : device->terminals) {
                    if (device->designation == stop.designation || !can_take_contact(*device, terminal))
                        continue;
                    if (tries_ >= limit_)
                        return {};
                    const std::string name = device->designation, at = terminal.name;
                    const auto apply = [&](Circuit &circuit) {
                        place(circuit, stop.designation, block, name, at, move);
                    };
                    Circuit changed = part_;
                    apply(changed);
                    if (!mends(changed))
                        continue;
                    if (mends_whole(apply))
                        return std::string(move ? "move the contact " : "add a contact ") + stop.designation + ":" +
                               block.first + "-" + block.second + (move ? " to stand" : "") + " in series ahead of " +
                               name + ":" + at + " (net " + part_.net_name(terminal.net) + ")";
                }
        return {};
    }

    // In the control circuit, behind its fuse: never in a power line.
    bool can_take_contact(const Device &device, const Device::Terminal &terminal) const {
        if (terminal.name != "A1" && !movable(device, terminal.name))
            return false;
        for (const Device &each : part_.devices()) {
            const bool source = each.kind == DeviceKind::mains_3ph || each.kind == DeviceKind::mains_1ph;
            for (const Device::Terminal &other : each.terminals)
                if (other.net == terminal.net && source)
                    return false;
            for (const Contact &contact : contacts_of(each))
                if (contact.sense == ContactSense::pole &&
                    (each.net_of(contact.first) == terminal.net || each.net_of(contact.second) == terminal.net))
                    return false;
        }
        return true;
    }

    static void place(Circuit &circuit, const std::string &stop, const Contact &block, const std::string &device,
                      const std::string &terminal, bool move) {
        Device old = circuit.at(stop);
        std::string left;
        if (move) { // what it stood between is joined
            left = circuit.net_name(*old.net_of(block.first));
            const std::string right = circuit.net_name(*old.net_of(block.second));
            std::vector<std::pair<std::string, std::string>> joined;
            for (const Device &each : circuit.devices())
                for (const Device::Terminal &other : each.terminals)
                    if (circuit.net_name(other.net) == right && each.designation != stop)
                        joined.emplace_back(each.designation, other.name);
            for (const auto &[name, at] : joined)
                circuit.connect(name, at, left);
        }
        const Device &target = circuit.at(device);
        const std::string net = circuit.net_name(*target.net_of(terminal));
        const std::string between = net + " behind " + stop + ":" + block.second;
        std::vector<Connection> connections;
        old = circuit.at(stop);
        for (const Device::Terminal &each : old.terminals)
            if (!(move && (each.name == block.first || each.name == block.second)))
                connections.push_back({each.name, circuit.net_name(each.net)});
        connections.push_back({block.first, net});
        connections.push_back({block.second, between});
        circuit.connect(device, terminal, between);
        circuit.remove(stop);
        circuit.add(old.designation, old.kind, connections, old.parameters);
    }

    const Context &context_;
    const Verdict &verdict_;
    Circuit part_;
    std::set<Key> before_;
    Key key_;
    Works works_;
    std::size_t tries_ = 0, limit_ = 0, work_ = 0;
};

} // namespace

void find_repairs(const Context &context, Verdict &verdict) {
    Repairer repairer(context, verdict);
    for (Finding &finding : verdict.findings)
        if ((finding.status == Status::fails || finding.status == Status::maybe) && finding.subjects.size() >= 1)
            finding.repair = repairer.repair(finding);
}

} // namespace stopspan
