#include "checks/decide_again.hpp"

#include "checks/judge.hpp"

#include <algorithm>
#include <set>

namespace stopspan {
namespace {

class Deciding {
public:
    Deciding(const Standing &standing, const CheckOptions &options) : standing_(standing), options_(options) {}

    std::optional<Again> decide(const Group &group, const Crossings &before) const {
        Again again;
        again.crossings = crossings_of(standing_, group);
        if (again.crossings.odd || matters_elsewhere(before, again.crossings) ||
            (again.crossings.has_loops && standing_.crossings.joined_lines > before.joined_lines))
            return std::nullopt;
        Group wide = group;
        if (!add_other_feeds(wide, before, again.crossings))
            return std::nullopt;
        const Circuit &circuit = standing_.circuit;
        // Stops and starts matter to those they are asked of or declared for, wherever their contacts are.
        Indices others;
        CheckOptions options = base_options();
        bool every_stop = standing_.whole.every_cell;
        std::set<std::string_view> machines_there;
        for (const std::uint32_t d : group.devices) {
            const Device &device = circuit.devices()[d];
            if (standing_.known->load.contains(d)) {
                every_stop |= device.flag("kept", false); // asked of it or not
                add_asked(device.designation, true, options, others);
            } else if (!is_actuator(device.kind) && !machine_of(device).empty() &&
                       machines_there.insert(machine_of(device)).second) {
                add_asked(std::string(machine_of(device)), false, options, others);
            }
        }
        if (every_stop)
            others.insert(others.end(), standing_.known->stops.begin(), standing_.known->stops.end());
        const Circuit part = standing_.influence->part(circuit, wide, others);
        const Context context(part, options, &standing_.whole);
        again.verdict = check(context, &again.shares);
        if ((options_.repairs && any_open(again.verdict)) || again.shares.ask_past_lines || again.shares.indivisible)
            return std::nullopt;
        const std::size_t machines = context.compiled.machines.size();
        Indices machine_there(machines, none);
        for (std::uint32_t m = 0; m < machines; ++m)
            if (const std::uint32_t motor = context.compiled.motors[context.lookup.motors_of[m][0]].device;
                group.devices.contains(circuit.find(part.devices()[motor].designation)->value)) {
                machine_there[m] = standing_.known->machine.at(context.compiled.machines[m]);
                put(again, m, machine_there[m]);
            }
        for (std::uint32_t l = 0; l < context.compiled.loads.size(); ++l)
            if (const std::uint32_t device =
                    circuit.find(part.devices()[context.compiled.loads[l].device].designation)->value;
                group.devices.contains(device))
                put(again, static_cast<std::uint32_t>(machines + l), standing_.known->load.at(device));
        const std::size_t first_device = machines + context.compiled.loads.size() + 1;
        for (std::uint32_t d = 0; d < part.devices().size(); ++d)
            if (const std::uint32_t device = circuit.find(part.devices()[d].designation)->value;
                group.devices.contains(device))
                put(again, static_cast<std::uint32_t>(first_device + d),
                    static_cast<std::uint32_t>(standing_.first_device + device));
        again.device_there.reserve(part.devices().size());
        for (const Device &device : part.devices())
            again.device_there.push_back(circuit.find(device.designation)->value);
        put_places(again, part, first_device);
        put_stops(again, part, machine_there);
        if (!standing_.stops->covers(again.stops))
            return std::nullopt;
        return again;
    }

private:
    // Only of findings that count.
    void put_places(Again &again, const Circuit &part, std::size_t first_device) const {
        for (std::size_t i = 0; i < again.shares.places.size(); ++i) {
            Shares::Place &place = again.shares.places[i];
            if (place.share >= first_device) {
                const auto device = static_cast<std::uint32_t>(place.share - first_device);
                if (place.detail >= Order::first_terminal)
                    place.detail = Order::at_terminal(
                        again.terminal_there(standing_.circuit, part, device, place.detail - Order::first_terminal));
                place.share = static_cast<std::uint32_t>(standing_.first_device) + again.device_there[device];
            } else if (const auto at = std::lower_bound(again.here.begin(), again.here.end(), place.share);
                       at != again.here.end() && *at == place.share) {
                place.share = again.there[static_cast<std::size_t>(at - again.here.begin())];
            }
        }
    }

    // What is seen of stop devices, by the numbers of the whole.
    void put_stops(Again &again, const Circuit &part, const Indices &machine_there) const {
        StopsInPart &stops = again.stops;
        std::copy_if(machine_there.begin(), machine_there.end(), std::back_inserter(stops.machines),
                     [](std::uint32_t machine) { return machine != none; });
        for (ContactFed &contact : again.shares.contacts_fed) {
            contact.terminal = again.terminal_there(standing_.circuit, part, contact.device, contact.terminal);
            contact.device = again.device_there[contact.device];
            stops.contacts_fed.push_back(std::move(contact));
        }
        const auto there = [&](Indices &machines) {
            for (std::uint32_t &machine : machines)
                machine = machine_there[machine];
            std::erase(machines, none);
        };
        for (auto &[one, effect] : again.shares.stop_faults) {
            there(one.machines);
            if (one.machines.empty())
                continue;
            one.fault.device = again.device_there[one.fault.device];
            one.order.device = again.device_there[one.order.device];
            for (Loss &loss : effect.losses)
                loss.machine = machine_there[loss.machine];
            std::erase_if(effect.losses, [](const Loss &loss) { return loss.machine == none; });
            there(effect.undecided);
            there(effect.incomplete);
            stops.faults.emplace_back(std::move(one), std::move(effect));
        }
    }

    static void put(Again &again, std::uint32_t here, std::uint32_t there) {
        again.here.push_back(here);
        again.there.push_back(there);
    }

    CheckOptions base_options() const {
        CheckOptions options;
        options.target = options_.target;
        options.rules = options_.rules;
        options.rule_set = options_.rule_set;
        options.limits = options_.limits;
        options.fault_exclusions = options_.fault_exclusions;
        options.state_budget = options_.state_budget;
        options.plan = options_.plan;
        options.repairs = false;
        options.asked.emplace();
        return options;
    }

    void add_asked(const std::string &name, bool load, CheckOptions &options, Indices &others) const {
        const Circuit &circuit = standing_.circuit;
        const Register &known = *standing_.known;
        if (const auto starts = known.starts_of.find(name); starts != known.starts_of.end())
            others.insert(others.end(), starts->second.begin(), starts->second.end());
        if (options_.asked) {
            if (const auto cells = known.asked_of.find(name); cells != known.asked_of.end())
                for (const std::uint32_t i : cells->second) {
                    options.asked->push_back((*options_.asked)[i]);
                    others.push_back(circuit.find((*options_.asked)[i].stop)->value);
                }
            return;
        }
        if (load)
            return;
        for (const std::uint32_t stop : known.stops)
            if (const Device &device = circuit.devices()[stop];
                known.machine.size() == 1 || device.kind == DeviceKind::emergency_stop) {
                options.asked->push_back({device.designation, name, Asked::cut, Target::no_fault});
                others.push_back(stop);
            }
    }

    // Other groups ask what joins the nets of sources, not how many times.
    bool matters_elsewhere(const Crossings &before, const Crossings &now) const {
        const Crossings &all = standing_.crossings;
        if ((all.joined_lines > 0) != (all.joined_lines - before.joined_lines + now.joined_lines > 0))
            return true;
        if (standing_.weighs_wires && (all.long_wires > 0) != (all.long_wires - before.long_wires + now.long_wires > 0))
            return true;
        const auto number = [](const Crossings &of, const Crossings::Pair &pair) {
            const auto found = of.between.find(pair);
            return found == of.between.end() ? 0 : found->second.count;
        };
        const auto differs = [&](const auto &each) {
            const Crossings::Pair &pair = each.first;
            const long were = number(all, pair), are = were - number(before, pair) + number(now, pair);
            return (were > 0) != (are > 0) &&
                   (standing_.influence->is_edge(pair.first) || standing_.influence->is_edge(pair.second));
        };
        return std::any_of(before.between.begin(), before.between.end(), differs) ||
               std::any_of(now.between.begin(), now.between.end(), differs);
    }

    // A pole that is lost is fed back by whatever hangs on it: of all that does elsewhere one stands for the others.
    bool add_other_feeds(Group &group, const Crossings &before, const Crossings &now) const {
        const Circuit &circuit = standing_.circuit;
        std::map<Crossings::Pair, bool> there; // pairs that the part has
        for (const auto &[pair, between] : now.between)
            there[pair] = true;
        for (bool again = true; again;) {
            again = false;
            for (const auto &[pair, between] : standing_.crossings.between) {
                const auto old = before.between.find(pair);
                if (there[pair] || between.count <= (old == before.between.end() ? 0 : old->second.count) ||
                    !(at_edge(group, pair.first) || at_edge(group, pair.second)))
                    continue;
                bool found = false;
                for (const std::uint32_t device : between.devices) {
                    if (group.devices.contains(device))
                        continue;
                    const auto other =
                        standing_.influence->around(circuit, {{}, {device}}, circuit.devices().size() / 2);
                    if (!other)
                        continue;
                    const Crossings crossings_there = crossings_of(standing_, *other);
                    if (!crossings_there.between.contains(pair))
                        continue; // it does no more
                    for (const auto &[each, unused] : crossings_there.between)
                        there[each] = true;
                    group.devices.insert(other->devices.begin(), other->devices.end());
                    group.nets.insert(other->nets.begin(), other->nets.end());
                    group.edge.insert(other->edge.begin(), other->edge.end());
                    found = again = true;
                    break;
                }
                if (!found)
                    return false;
            }
        }
        return group.devices.size() <= circuit.devices().size() / 2;
    }

    bool at_edge(const Group &group, const std::string &name) const {
        const auto net = standing_.influence->net(name);
        return net && (group.edge.contains(*net) || group.nets.contains(*net));
    }

    const Standing &standing_;
    const CheckOptions &options_;
};

} // namespace

std::uint32_t Again::terminal_there(const Circuit &whole, const Circuit &part, std::uint32_t device,
                                    std::uint32_t terminal) const {
    const auto &terminals = whole.devices()[device_there[device]].terminals;
    const std::string &name = part.devices()[device].terminals[terminal].name;
    return static_cast<std::uint32_t>(
        std::find_if(terminals.begin(), terminals.end(), [&](const auto &each) { return each.name == name; }) -
        terminals.begin());
}

Crossings crossings_of(const Standing &standing, const Group &group) {
    const Circuit part = standing.influence->part(standing.circuit, group);
    return crossings_of(part, compile(part, &standing.whole));
}

std::optional<Again> decide_again(const Standing &standing, const CheckOptions &options, const Group &group,
                                  const Crossings &before) {
    return Deciding(standing, options).decide(group, before);
}

} // namespace stopspan
