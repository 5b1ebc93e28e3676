#include "checks/plain_witness.hpp"

#include "checks/machine_check.hpp"

#include <algorithm>

namespace stopspan {
namespace {

constexpr std::string_view hold = "hold ", release = "free ", moved_slowly = " slow";
// None grows with the installation: positions of what is connected, added up, and evaluations in network_work().
constexpr std::size_t most_positions = 200'000, most_plain_work = 400'000;

std::string device_of(const std::string &act) {
    return act.substr(act.find(' ') + 1);
}

/// What a state amounts to for a finding.
struct SeenState {
    State state; ///< without the positions that do not count
    std::vector<std::uint8_t> shows;
    auto operator<=>(const SeenState &) const = default;
};

class PlainFinding {
public:
    PlainFinding(const Context &context, const MachineSeen *machine, WitnessRun &whole, Finding &finding)
        : context_(context), machine_(machine), whole_(whole), finding_(finding),
          ran_(whole.run(finding.witness.acts)) {
        for (const LoadSeen &load : whole_.cone().circuit.loads)
            if (is_subject(context_.compiled.device_names[load.device]))
                loads_.push_back(&load);
        static constexpr std::string_view before = "net ", after = " live";
        const std::string &told = finding_.witness.ends_in;
        if (told.starts_with(before) && told.ends_with(after))
            if (const auto net =
                    context_.circuit.find_net(told.substr(before.size(), told.size() - before.size() - after.size())))
                net_ = whole_.cone().net_of[net->value];
    }

    void tell() {
        for (std::size_t i = 0; i + 1 < finding_.witness.acts.size();)
            if (!tap(i) && !leave_out(i))
                ++i;
    }

private:
    bool is_subject(std::string_view name) const {
        return std::any_of(finding_.subjects.begin(), finding_.subjects.end(), [&](const std::string &subject) {
            return subject == name || subject.substr(0, subject.find(':')) == name;
        });
    }

    /// The act before the last that lets go what this one holds; none: it is held to the end; the last: it must be.
    std::size_t let_go(std::size_t i) const {
        const auto &acts = finding_.witness.acts;
        const auto found = std::find(acts.begin() + static_cast<std::ptrdiff_t>(i), acts.end(),
                                     std::string(release) + device_of(acts[i]));
        return found == acts.end() ? none : static_cast<std::size_t>(found - acts.begin());
    }

    bool tap(std::size_t i) {
        std::vector<std::string> acts = finding_.witness.acts;
        const std::size_t free = let_go(i);
        if (!acts[i].starts_with(hold) || acts[i].ends_with(moved_slowly) || is_subject(device_of(acts[i])) ||
            free + 1 == acts.size())
            return false;
        acts[i] = "tap " + device_of(acts[i]);
        if (free != none)
            acts.erase(acts.begin() + static_cast<std::ptrdiff_t>(free));
        return keep(std::move(acts), device_of(finding_.witness.acts[i]));
    }

    // Only what no other act speaks of.
    bool leave_out(std::size_t i) {
        std::vector<std::string> acts = finding_.witness.acts;
        const std::string device = device_of(acts[i]), whole = device.substr(0, device.find_first_of(": "));
        const auto others = std::count_if(acts.begin(), acts.end(), [&](const std::string &act) {
            const std::string other = device_of(act);
            return other.substr(0, other.find_first_of(": ;")) == whole;
        });
        if (others != 1 || is_subject(whole) || acts[i].find(';') != std::string::npos)
            return false;
        acts.erase(acts.begin() + static_cast<std::ptrdiff_t>(i));
        return keep(std::move(acts), whole);
    }

    bool keep(std::vector<std::string> acts, const std::string &device) {
        WitnessRun::Result now = whole_.run(acts);
        if (std::tuple(now.race, now.chatter, now.shorted, now.dwelling) !=
                std::tuple(ran_.race, ran_.chatter, ran_.shorted, ran_.dwelling) ||
            seen(now.before, device) != seen(ran_.before, device) ||
            seen(now.states, device) != seen(ran_.states, device) ||
            (finding_.rule == "interlock-holds" && seen(now.passed, device) != seen(ran_.passed, device)))
            return false;
        if (!finding_.witness.path.empty()) {
            auto path = path_now(now, device);
            if (path.empty())
                return false;
            finding_.witness.path = std::move(path);
        }
        finding_.witness.acts = std::move(acts);
        ran_ = std::move(now);
        return true;
    }

    // The way that holds in the state that stands for the one told of so far.
    std::vector<std::string> path_now(const WitnessRun::Result &now, const std::string &device) {
        if (!machine_)
            return {};
        const auto path = [&](const State &state) {
            return whole_.holding_path(state, machine_->power_armatures, machine_->motors[0]->nets[0]);
        };
        for (const State &old : ran_.states)
            if (path(old) == finding_.witness.path)
                for (const State &state : now.states)
                    if (seen({state}, device) == seen({old}, device))
                        return path(state);
        return {};
    }

    std::vector<SeenState> seen(const std::vector<State> &states, const std::string &device) {
        std::vector<SeenState> all;
        for (const State &state : states)
            all.push_back(seen(state, device));
        std::sort(all.begin(), all.end());
        all.erase(std::unique(all.begin(), all.end()), all.end());
        return all;
    }

    SeenState seen(State state, const std::string &device) {
        const Cone &cone = whole_.cone();
        Network &network = whole_.settler().network();
        network.evaluate(state);
        SeenState one{state, {}};
        const auto add = [&](auto value) { one.shows.push_back(static_cast<std::uint8_t>(value)); };
        if (machine_) {
            const MotorState runs = observe_machine(cone.circuit, machine_->index, state, network);
            add(runs.runs);
            add(runs.mode);
            for (const MotorSeen &motor : cone.circuit.motors)
                if (motor.machine == machine_->index)
                    add(still_fed(cone.circuit, motor, state, network));
        }
        for (const LoadSeen *load : loads_)
            add(observe(*load, network));
        if (net_ != none)
            add(network.live(net_));
        for (std::uint32_t v = 0; v < cone.actors.size(); ++v)
            if (cone.actors[v].designation == device)
                one.state[v] = 0;
        return one;
    }

    const Context &context_;
    const MachineSeen *machine_;
    WitnessRun &whole_;
    Finding &finding_;
    WitnessRun::Result ran_;
    std::vector<const LoadSeen *> loads_;
    std::uint32_t net_ = none;
};

Seeds seeds_of(const Context &context, const Finding &finding) {
    Seeds seeds;
    for (const std::string &subject : finding.subjects)
        if (const auto net = context.circuit.find_net(subject))
            seeds.nets.push_back(net->value);
        else if (const auto id = context.circuit.find(subject.substr(0, subject.find(':'))))
            for (const Device::Terminal &terminal : context.circuit.device(*id).terminals)
                seeds.nets.push_back(terminal.net.value);
    return seeds;
}

// Before the last act. A search finds the shortest acts, so where nobody holds anything nothing is to be left out.
bool holds(const std::vector<std::string> &acts) {
    return !acts.empty() &&
           std::any_of(acts.begin(), acts.end() - 1, [](const std::string &act) { return act.starts_with(hold); });
}

} // namespace

bool PlainWork::within_bounds() const {
    return positions <= most_positions && work <= most_plain_work;
}

std::vector<PlainWork> tell_plainly(const Context &context, const std::vector<MachineSeen> &machines,
                                    Verdict &verdict) {
    std::vector<PlainWork> took(verdict.findings.size());
    struct Told {
        std::size_t machine;
        std::string_view about; ///< of those that name no machine
        Finding *finding;
    };
    std::vector<Told> told; // those of one machine one after the other
    for (Finding &finding : verdict.findings)
        if ((finding.status == Status::fails || finding.status == Status::maybe) && !is_fault_rule(finding.rule) &&
            holds(finding.witness.acts))
            told.push_back({machines.size(), {}, &finding});
    if (told.empty())
        return took;
    std::map<std::string_view, const MachineSeen *> named;
    for (const MachineSeen &machine : machines)
        named.emplace(machine.name, &machine);
    for (auto &[index, about, finding] : told) {
        for (const std::string &subject : finding->subjects)
            if (const auto machine = named.find(subject); machine != named.end())
                index = machine->second->index;
        if (index == machines.size() && !finding->subjects.empty())
            about = finding->subjects.front();
    }
    std::stable_sort(told.begin(), told.end(), [](const Told &a, const Told &b) { return a.machine < b.machine; });
    Tools tools(context);
    PlainWork all;
    for (std::size_t i = 0; i < told.size() && all.within_bounds(); ++i) {
        const auto &[index, about, finding] = told[i];
        // What one takes does not depend on what others took.
        if (i > 0 && (told[i - 1].machine != index || told[i - 1].about != about))
            tools.forget_witness_run();
        const MachineSeen *machine = index == machines.size() ? nullptr : &machines[index];
        const std::size_t work = network_work();
        WitnessRun &whole = tools.witness_run(machine ? machine->seeds : seeds_of(context, *finding));
        PlainFinding(context, machine, whole, *finding).tell();
        const PlainWork took_now{whole.reach().variables.size(), network_work() - work};
        took[static_cast<std::size_t>(finding - verdict.findings.data())] = took_now;
        all += took_now;
    }
    return took;
}

} // namespace stopspan
