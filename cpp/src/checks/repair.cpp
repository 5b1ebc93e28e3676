#include "checks/repair.hpp"

#include "checks/fault_effects.hpp"
#include "checks/judge.hpp"
#include "checks/repair_change.hpp"
#include "checks/repair_trial.hpp"

#include <algorithm>
#include <deque>
#include <memory>
#include <numeric>

namespace stopspan {
namespace {

// None of these grows with the installation.
constexpr std::size_t most_devices = 70;    // of a part that is checked again and again
constexpr std::size_t most_influenced = 12; // machines that one change may reach
constexpr std::size_t most_parts = 20;      // remembered
constexpr std::size_t most_helpers = 3;     // contactors of a stop
constexpr std::size_t most_replays = 200;   // changes of one kind tried for a finding
constexpr std::size_t trial_budget = 1'500; // states per search of a trial
// In network_work(): some millions a second.
constexpr std::size_t work_per_finding = 250'000, work_per_verdict = 2'000'000;

/// Devices cut out of the circuit, with what they do as they are.
struct Part {
    Circuit circuit;
    Behaviour before;
    mutable std::optional<std::set<FindingKey>> to_earth; ///< what earth faults do, once it was asked
    Part(Circuit devices, Behaviour as_they_are) : circuit(std::move(devices)), before(std::move(as_they_are)) {}
};
using PartPointer = std::shared_ptr<const Part>;

// What would remove a fault for which no small change was found that does.
std::string way_out(const Finding &finding) {
    if (finding.rule == "hidden-fault")
        return " No single wire or contact removes this: what lets the first fault show does, a feedback contact that "
               "keeps the machine from starting again, as with a stop relay and two contactors.";
    const auto takes = [&](std::string_view verb) {
        return std::any_of(finding.witness.acts.begin(), finding.witness.acts.end(),
                           [&](const std::string &act) { return act.starts_with(verb); });
    };
    if (takes("jam "))
        return " No small change was found that removes this: a start that must be let go before it starts again "
               "does, as with a start relay, or a stop relay with manual reset.";
    if (takes("blind "))
        return " No small change removes this, as every overload is listed by itself: a second one in the same line "
               "leaves one that trips.";
    if (takes("break "))
        return " No small change was found that removes this: stops by break contacts do, or a zone with a stop relay "
               "of two channels and feedback.";
    if (takes("weld "))
        return " No small change was found that removes this: two contactors in series do, or a zone with a stop relay "
               "and feedback.";
    if (takes("detach "))
        return " No small change was found that removes this: a second contact block in a row of its own does, as with "
               "a stop relay of two channels.";
    return {};
}

class Repairer {
public:
    Repairer(const Context &context, const std::vector<MachineSeen> &machines, Verdict &verdict)
        : context_(context), machines_(machines), verdict_(verdict), known_findings_(open_findings(verdict)),
          machine_names_(context.compiled.machines.begin(), context.compiled.machines.end()) {}

    void run() {
        for (Finding &finding : verdict_.findings)
            if ((finding.status == Status::fails || finding.status == Status::maybe) && finding.repair.empty())
                repair(finding);
        for (Finding &finding : verdict_.findings)
            if (finding.rule == "single-fault" && finding.status == Status::note && finding.repair.empty())
                outlive(finding);
        for (Finding &finding : verdict_.findings)
            if (finding.repair.empty() && !finding.witness.acts.empty() && finding.status != Status::undecided &&
                (finding.rule == "single-fault" || finding.rule == "hidden-fault"))
                finding.text += way_out(finding);
    }

private:
    void repair(Finding &finding) {
        const FindingKey key = key_of(finding);
        const std::vector<std::string> helpers = helpers_of(finding);
        const auto shown_by = [&](const PartPointer &part) {
            return part && part->before.complete && found_in(*part, key.first).contains(key);
        };
        PartPointer part = part_of(finding, helpers);
        // It may take more than what acts on the machine; a short takes the source from all that it feeds.
        const bool shorted = finding.witness.ends_in == source_shorted;
        if ((!shown_by(part) || shorted) && context_.circuit.devices().size() <= most_devices)
            part = cut_out(all_devices(), most_devices);
        if (!shown_by(part))
            return; // too large
        const bool tells = ends_as_told(part->circuit, finding);
        struct Best {
            Change change;
            std::set<FindingKey> left;
            std::size_t in_order; ///< machines
        };
        std::optional<Best> best;
        std::optional<Change::Kind> kind;
        std::size_t end = std::min(network_work() + work_per_finding, end_of_work_);
        std::size_t replays = 0, limit = 0;
        for (const Change &change : candidates(part->circuit, finding, helpers)) {
            if (kind != change.kind) {
                if (best)
                    break; // a smaller kind of change is better than a larger one that mends more
                kind = change.kind;
                replays = 0;
                limit = network_work() + (end - std::min(end, network_work())) / 2; // the rest is for other kinds
            }
            if (++replays > most_replays || network_work() > limit)
                continue;
            Circuit changed = part->circuit;
            apply(changed, change);
            if (tells && ends_as_told(changed, finding))
                continue;
            auto left = mends(changed, key, *part);
            if (!left)
                continue;
            const Behaviour after = trial(changed, false);
            if (!gone(key, after.findings) || !no_worse(after, part->before))
                continue;
            left->insert(after.findings.begin(), after.findings.end());
            const std::size_t now = in_order(after, part->before);
            const bool better = !best || left->size() < best->left.size() ||
                                (left->size() == best->left.size() && now > best->in_order);
            if (!better || !mends_wider(change, key, *part))
                continue;
            const std::size_t work = network_work();
            const auto to_earth = still_to_earth(changed, *part);
            end += network_work() - work; // costs no other candidate its trial
            limit += network_work() - work;
            if (!to_earth)
                continue;
            left->insert(to_earth->begin(), to_earth->end());
            best = {change, *left, now};
            if (left->empty() && now == part->circuit.machines().size())
                break;
        }
        if (best)
            tell(text_of(best->change, context_.circuit), *part, best->left);
    }

    // What remains where no target is declared is no failure; but a weld and a start that jams have a small answer, and
    // it is tried as well.
    void outlive(Finding &finding) {
        const std::string &name = finding.subjects[0];
        const auto id = context_.circuit.find(name);
        const auto takes = [&](const char *fault) {
            const auto &acts = finding.witness.acts;
            return id && std::find(acts.begin(), acts.end(), fault + name) != acts.end();
        };
        std::optional<Change> change;
        if (takes("weld "))
            change = doubled(context_.circuit, context_.circuit.device(*id));
        else if (takes("jam "))
            change = with_start_relay(context_.circuit, context_.circuit.device(*id));
        if (!change)
            return;
        const PartPointer part = part_of(finding, {});
        if (!part || !part->before.complete || !fits(part->circuit, *change) ||
            !beyond(*change, part->circuit).machines.empty())
            return;
        Circuit changed = part->circuit;
        apply(changed, *change);
        if (no_worse(trial(changed, false), part->before) && outlives(changed, *change))
            finding.repair = text_of(*change, context_.circuit);
    }

    // Neither the contactor nor its twin takes anything away by a weld, or the button by jamming.
    bool outlives(const Circuit &changed, const Change &change) const {
        const CheckOptions options = options_for(changed, {"single-fault"});
        const Context context(changed, options);
        const std::vector<MachineSeen> machines = machines_of(context);
        std::vector<std::uint32_t> every(machines.size());
        std::iota(every.begin(), every.end(), 0U);
        Tools tools(context);
        FaultJudge judge(tools, machines);
        const auto takes_nothing = [&](Fault::Kind kind, const char *verb, const std::string &name) {
            const Fault fault{kind, changed.find(name)->value, none, none, {}, verb + name};
            const FaultEffect effect = judge.effect_of({fault, every});
            return effect.losses.empty() && effect.undecided.empty();
        };
        if (change.kind == Change::Kind::start_relay_added)
            return takes_nothing(Fault::Kind::jam, "jam ", change.owner);
        return takes_nothing(Fault::Kind::weld, "weld ", change.owner) &&
               takes_nothing(Fault::Kind::weld, "weld ", change.device);
    }

    // One change often mends several findings.
    void tell(const std::string &text, const Part &part, const std::set<FindingKey> &left) {
        for (Finding &finding : verdict_.findings) {
            const FindingKey key = key_of(finding);
            if ((finding.status == Status::fails || finding.status == Status::maybe) && finding.repair.empty() &&
                found_in(part, key.first).contains(key) && gone(key, left))
                finding.repair = text;
        }
    }

    // ---- trials

    // A machine's start that only moves to another occasion is not mended.
    bool gone(const FindingKey &key, const std::set<FindingKey> &left) const {
        if (!is_start_rule(key.first))
            return !left.contains(key);
        return std::none_of(left.begin(), left.end(), [&](const FindingKey &other) {
            return is_start_rule(other.first) &&
                   std::any_of(other.second.begin(), other.second.end(), [&](const std::string &subject) {
                       return machine_names_.contains(subject) &&
                              std::find(key.second.begin(), key.second.end(), subject) != key.second.end();
                   });
        });
    }

    Behaviour trial(const Circuit &circuit, bool own_starts_only) const {
        return behaviour_of(circuit, options_for(circuit, {}), own_starts_only);
    }

    std::set<FindingKey> found_by(const std::string &rule, const Circuit &circuit) const {
        const CheckOptions options = options_for(circuit, {rule});
        const Context context(circuit, options);
        return open_findings(judge(context, machines_of(context)));
    }

    // What a part does as it is; what earth faults do in it is no part of its behaviour, and asked apart.
    const std::set<FindingKey> &found_in(const Part &part, const std::string &rule) const {
        if (rule != "earth-fault")
            return part.before.findings;
        if (!part.to_earth)
            part.to_earth = found_by(rule, part.circuit);
        return *part.to_earth;
    }

    // The claim that failed, that rule alone: most changes that get so far end here.
    // @returns what is left of that rule
    std::optional<std::set<FindingKey>> mends(const Circuit &changed, const FindingKey &key, const Part &part) const {
        auto now = found_by(key.first, changed);
        const auto &before = found_in(part, key.first);
        if (now.contains(key) || !std::includes(before.begin(), before.end(), now.begin(), now.end()))
            return std::nullopt;
        return now;
    }

    // A change that lets an earth fault do what it did not do before is no repair.
    // @returns what earth faults still do, where they are asked about
    std::optional<std::set<FindingKey>> still_to_earth(const Circuit &changed, const Part &part) const {
        if (!context_.wants("earth-fault"))
            return std::set<FindingKey>();
        auto now = found_by("earth-fault", changed);
        const auto &before = found_in(part, "earth-fault");
        if (!std::includes(before.begin(), before.end(), now.begin(), now.end()))
            return std::nullopt;
        return now;
    }

    // Machines and loads beyond the part that the change can reach.
    struct Beyond {
        std::set<std::uint32_t> machines, loads;
    };
    Beyond beyond(const Change &change, const Circuit &part) {
        Beyond found;
        find_reaching();
        for (const std::string &name : touched_nets(change, part)) {
            const auto net = context_.circuit.find_net(name);
            if (!net || context_.relevance.is_pole_net(net->value))
                continue;
            found.machines.insert(machines_reaching_[net->value].begin(), machines_reaching_[net->value].end());
            found.loads.insert(loads_reaching_[net->value].begin(), loads_reaching_[net->value].end());
        }
        const auto inside = part.machines();
        std::erase_if(found.machines, [&](std::uint32_t m) {
            return std::find(inside.begin(), inside.end(), machines_[m].name) != inside.end();
        });
        std::erase_if(found.loads, [&](std::uint32_t l) {
            return part.find(context_.compiled.device_names[context_.compiled.loads[l].device]).has_value();
        });
        return found;
    }

    bool mends_wider(const Change &change, const FindingKey &key, const Part &part) {
        const auto [machines, loads] = beyond(change, part.circuit);
        if (machines.empty() && loads.empty())
            return true;
        if (machines.size() > most_influenced || loads.size() > most_influenced)
            return false; // not tried, so not told
        std::set<std::uint32_t> devices;
        for (const Device &device : part.circuit.devices())
            devices.insert(context_.circuit.find(device.designation)->value);
        for (const std::uint32_t m : machines)
            add_devices(machines_[m].reach, devices);
        for (const std::uint32_t l : loads)
            add_devices(reach_of_load(l), devices);
        const PartPointer wide = cut_out(devices, most_devices * 3);
        if (!wide || !fits(wide->circuit, change))
            return false;
        Circuit changed = wide->circuit;
        apply(changed, change);
        const Behaviour after = trial(changed, false);
        Behaviour before = wide->before;
        before.findings.insert(known_findings_.begin(), known_findings_.end());
        if (!gone(key, after.findings) || !no_worse(after, before))
            return false;
        const auto to_earth = still_to_earth(changed, *wide);
        return to_earth && !to_earth->contains(key);
    }

    CheckOptions options_for(const Circuit &circuit, std::vector<std::string> rules) const {
        CheckOptions options;
        options.state_budget = std::min(trial_budget, context_.options.state_budget);
        options.rules = std::move(rules);
        if (options.rules.empty()) // faults are notes, or cost much more than all else: see still_to_earth()
            for (const RuleInfo &rule : stopspan::rules())
                if (context_.wants(rule.id) && (rule.id.find("-fault") == std::string_view::npos ||
                                                (!context_.targets.empty() && rule.id != "earth-fault")))
                    options.rules.emplace_back(rule.id);
        if (options.rules.empty())
            options.rules = context_.options.rules;
        options.limits = context_.options.limits;
        options.fault_exclusions = context_.options.fault_exclusions;
        const auto machines = circuit.machines();
        options.asked.emplace();
        for (const auto &[target, cells] : context_.asked)
            if (circuit.find(target) || std::find(machines.begin(), machines.end(), target) != machines.end())
                for (const auto &[stop, asked] : cells)
                    if (circuit.find(context_.stops[stop].name))
                        options.asked->push_back({context_.stops[stop].name, target, asked,
                                                  context_.target_of(target, context_.stops[stop].name)});
        return options;
    }

    // ---- parts

    const MachineSeen *machine_of(const Finding &finding) const {
        for (const std::string &subject : finding.subjects)
            for (const MachineSeen &machine : machines_)
                if (machine.name == subject)
                    return &machine;
        // Contactors that fail by themselves, and the machine they run.
        for (const std::string &subject : finding.subjects)
            if (const auto id = context_.circuit.find(subject)) {
                const std::uint32_t variable = context_.compiled.variable_of[id->value];
                for (const MachineSeen &machine : machines_)
                    if (std::find(machine.power_variables.begin(), machine.power_variables.end(), variable) !=
                        machine.power_variables.end())
                        return &machine;
            }
        return nullptr;
    }

    // What acts on the machine; and on the finding's devices, where that is not too much or no machine is named.
    PartPointer part_of(const Finding &finding, const std::vector<std::string> &helpers) {
        std::set<std::uint32_t> devices;
        Seeds coils, ends;
        const MachineSeen *machine = machine_of(finding);
        if (machine)
            add_devices(machine->reach, devices);
        for (const std::string &subject : finding.subjects)
            if (machine && context_.small() && subject.find(':') != std::string::npos) // others feed a lost line back
                add_devices(reach_of(context_.compiled, context_.relevance, machine->seeds, Extent::everything),
                            devices);
            else if (const auto id = context_.circuit.find(subject)) {
                devices.insert(id->value);
                const std::uint32_t variable = context_.compiled.variable_of[id->value];
                if (!machine || (variable != none && !machine->reached_by(variable)))
                    for (const Device::Terminal &terminal : context_.circuit.device(*id).terminals)
                        ends.nets.push_back(terminal.net.value);
            }
        for (const std::string &helper : helpers) {
            add_with_motor(helper, devices);
            for (const Device::Terminal &terminal : context_.circuit.at(helper).terminals)
                if (terminal.name[0] == 'A')
                    coils.nets.push_back(terminal.net.value);
        }
        add_reach(coils, devices);
        std::set<std::uint32_t> more = devices;
        add_reach(ends, more);
        return cut_out(more.size() > most_devices && machine ? devices : more, most_devices);
    }

    std::set<std::uint32_t> all_devices() const {
        std::set<std::uint32_t> devices;
        for (std::uint32_t i = 0; i < context_.circuit.devices().size(); ++i)
            devices.insert(i);
        return devices;
    }

    void add_reach(const Seeds &seeds, std::set<std::uint32_t> &devices) const {
        if (!seeds.nets.empty())
            add_devices(reach_of(context_.compiled, context_.relevance, seeds, Extent::feed), devices);
    }

    // A contactor with the motor straight behind its poles or behind an overload: from there nothing else is fed.
    void add_with_motor(const std::string &contactor, std::set<std::uint32_t> &devices) const {
        const std::uint32_t index = context_.circuit.find(contactor)->value;
        devices.insert(index);
        std::vector<std::uint32_t> nets;
        for (const std::uint32_t i : context_.lookup.poles_of[context_.compiled.variable_of[index]])
            nets.insert(nets.end(), {context_.compiled.switches[i].a, context_.compiled.switches[i].b});
        const std::size_t own = nets.size();
        for (std::size_t k = 0; k < nets.size(); ++k) {
            if (context_.relevance.is_pole_net(nets[k]))
                continue;
            for (const std::uint32_t i : context_.lookup.switches_at[nets[k]]) {
                const Switch &contact = context_.compiled.switches[i];
                if (k < own && contact.pole && contact.variable == none) { // an overload
                    devices.insert(contact.device);
                    nets.push_back(contact.a == nets[k] ? contact.b : contact.a);
                }
            }
            for (const std::uint32_t i : context_.lookup.impedances_at[nets[k]])
                if (const std::uint32_t device = context_.compiled.impedances[i].device;
                    context_.lookup.motor_of[device] != none)
                    devices.insert(device);
        }
    }

    // Contactors and relays that a stop of the finding acts on, when it does not act on the machine.
    std::vector<std::string> helpers_of(const Finding &finding) const {
        std::vector<std::string> names;
        const MachineSeen *machine = machine_of(finding);
        const auto id = context_.circuit.find(finding.subjects[0]);
        if (finding.rule != "stop-cuts" || !machine || !id)
            return names;
        const std::uint32_t variable = context_.compiled.variable_of[id->value];
        if (variable == none || machine->reached_by(variable))
            return names;
        std::vector<std::uint32_t> nets;
        for (const std::uint32_t i : context_.lookup.switches_of[variable])
            for (const std::uint32_t net : {context_.compiled.switches[i].a, context_.compiled.switches[i].b})
                if (!context_.relevance.is_pole_net(net))
                    nets.push_back(net);
        for (const std::uint32_t i : context_.relevance.around(nets, {}).impedances) {
            const Impedance &coil = context_.compiled.impedances[i];
            const DeviceKind kind = context_.circuit.devices()[coil.device].kind;
            const std::string &name = context_.compiled.device_names[coil.device];
            if (coil.armature != none && (kind == DeviceKind::contactor || kind == DeviceKind::relay) &&
                names.size() < most_helpers && std::find(names.begin(), names.end(), name) == names.end())
                names.push_back(name);
        }
        return names;
    }

    void add_devices(const Reach &reach, std::set<std::uint32_t> &devices) const {
        for (const std::uint32_t i : reach.switches)
            devices.insert(context_.compiled.switches[i].device);
        for (const std::uint32_t i : reach.impedances)
            devices.insert(context_.compiled.impedances[i].device);
        for (const std::uint32_t v : reach.variables)
            devices.insert(context_.compiled.variables[v].device);
        for (const std::uint32_t i : reach.sources)
            devices.insert(context_.compiled.sources[i].device);
    }

    // Cut out once, however many findings ask for it.
    PartPointer cut_out(const std::set<std::uint32_t> &devices, std::size_t most) {
        if (devices.size() > most || network_work() > end_of_work_)
            return nullptr;
        Circuit circuit;
        for (const std::uint32_t index : devices) {
            const Device &device = context_.circuit.devices()[index];
            std::vector<Connection> connections;
            for (const Device::Terminal &terminal : device.terminals)
                connections.push_back({terminal.name, context_.circuit.net_name(terminal.net)});
            circuit.add(device.designation, device.kind, connections, device.parameters);
        }
        for (const PartPointer &part : parts_)
            if (part->circuit == circuit)
                return part;
        Behaviour before = trial(circuit, true);
        parts_.push_front(std::make_shared<const Part>(std::move(circuit), std::move(before)));
        if (parts_.size() > most_parts)
            parts_.pop_back();
        return parts_.front();
    }

    Reach reach_of_load(std::uint32_t index) const {
        const LoadSeen &load = context_.compiled.loads[index];
        const Seeds seeds{.nets = {load.a, load.b}, .power = {}, .loads = context_.lookup.impedances_of[load.device]};
        return reach_of(context_.compiled, context_.relevance, seeds, Extent::feed);
    }

    void find_reaching() {
        if (!machines_reaching_.empty())
            return;
        machines_reaching_.resize(context_.compiled.net_count);
        loads_reaching_.resize(context_.compiled.net_count);
        for (const MachineSeen &machine : machines_)
            for (const std::uint32_t net : machine.reach.nets)
                machines_reaching_[net].push_back(machine.index);
        for (std::uint32_t i = 0; i < context_.compiled.loads.size(); ++i)
            for (const std::uint32_t net : reach_of_load(i).nets)
                loads_reaching_[net].push_back(i);
    }

    const Context &context_;
    const std::vector<MachineSeen> &machines_;
    Verdict &verdict_;
    std::set<FindingKey> known_findings_;
    std::set<std::string> machine_names_;
    std::deque<PartPointer> parts_;                                              ///< the newest first
    std::vector<std::vector<std::uint32_t>> machines_reaching_, loads_reaching_; ///< per net; made when first needed
    std::size_t end_of_work_ = network_work() + work_per_verdict;
};

} // namespace

void find_repairs(const Context &context, const std::vector<MachineSeen> &machines, Verdict &verdict) {
    Repairer(context, machines, verdict).run();
}

} // namespace stopspan
