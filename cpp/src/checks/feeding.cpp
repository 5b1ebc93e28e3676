#include "checks/feeding.hpp"

#include "checks/proofs.hpp"

#include <algorithm>
#include <functional>

namespace stopspan {
namespace {

using Pole = std::pair<std::uint32_t, std::size_t>; // source, index of its pole

// The poles of sources a net stands on, itself or through the poles of isolators without which the machine cannot run
// or a load is dead.
class StandsOn {
public:
    /// @param needed  is what is asked about dead with this variable acted
    StandsOn(const Context &context, Structure &structure, std::function<bool(std::uint32_t)> needed,
             std::uint32_t isolator)
        : context_(context), structure_(structure), is_needed_(std::move(needed)), isolator_(isolator) {}

    std::set<Pole> poles(std::uint32_t from, const Impedance *load = nullptr) {
        std::set<Pole> found;
        std::vector<std::uint32_t> queue{from};
        std::set<std::uint32_t> seen{from};
        for (std::size_t k = 0; k < queue.size(); ++k) {
            const std::uint32_t net = queue[k];
            for (const std::uint32_t s : context_.lookup.sources_at[net]) {
                const auto &all = context_.compiled.sources[s].poles;
                for (std::size_t pole = 0; pole < all.size(); ++pole)
                    if (all[pole].net == net)
                        found.insert({s, pole});
            }
            if (context_.relevance.is_pole_net(net))
                continue;
            for (const std::uint32_t i : context_.lookup.switches_at[net]) {
                const Switch &contact = context_.compiled.switches[i];
                const std::uint32_t next = contact.a == net ? contact.b : contact.a;
                if (contact.pole && contact.variable != none && stands_closed(contact.variable, load) &&
                    seen.insert(next).second)
                    queue.push_back(next);
            }
        }
        return found;
    }

private:
    bool stands_closed(std::uint32_t variable, const Impedance *load) {
        if (variable == isolator_ || context_.compiled.variables[variable].kind != Variable::Kind::isolator)
            return false;
        if (load && structure_.nothing_between_with(variable, load->a, load->b))
            return true;
        const auto [entry, fresh] = needed_.try_emplace(variable, false);
        if (fresh)
            entry->second = is_needed_(variable);
        return entry->second;
    }

    const Context &context_;
    Structure &structure_;
    std::function<bool(std::uint32_t)> is_needed_;
    std::uint32_t isolator_;
    std::map<std::uint32_t, bool> needed_;
};

// Loads that return straight to one and the same pole of their source: what feeds them has that source's full volts or
// none.
class Returns {
public:
    Returns(StandsOn &stands_on, const Context &context) : stands_on_(stands_on), context_(context) {}

    bool returns(std::uint32_t net, const Impedance *load = nullptr) {
        const std::set<Pole> poles = stands_on_.poles(net, load);
        if (poles.size() != 1)
            return false;
        const auto [source, pole] = *poles.begin();
        const std::size_t earthed = context_.compiled.sources[source].earthed;
        return earthed == none ? return_of_.try_emplace(source, pole).first->second == pole : pole == earthed;
    }
    bool straight(std::uint32_t impedance) {
        const Impedance &load = context_.compiled.impedances[impedance];
        return returns(load.a, &load) || returns(load.b, &load);
    }

private:
    StandsOn &stands_on_;
    const Context &context_;
    std::map<std::uint32_t, std::size_t> return_of_; // floating source -> pole
};

// What hangs on the nets of a reach outside it.
class HangingPiece {
public:
    HangingPiece(const Context &context, const Reach &reach, Returns &returns)
        : context_(context), returns_(returns), ours_(reach.nets.begin(), reach.nets.end()),
          switches_(reach.switches.begin(), reach.switches.end()),
          impedances_(reach.impedances.begin(), reach.impedances.end()) {}

    /// It can take volts from these nets but give them none: whatever hangs on one of them leads from there to returns
    /// only. A net a power pole ends on has its feed there.
    bool only_takes() {
        return std::all_of(ours_.begin(), ours_.end(), [&](std::uint32_t net) {
            if (context_.relevance.is_pole_net(net))
                return true;
            if (has_pole(net))
                return std::all_of(
                    context_.lookup.impedances_at[net].begin(), context_.lookup.impedances_at[net].end(),
                    [&](std::uint32_t i) { return impedances_.contains(i) || is_motor(i) || returns_.straight(i); });
            return leads_to_returns_only(net);
        });
    }

private:
    bool has_pole(std::uint32_t net) const {
        const auto &contacts = context_.lookup.switches_at[net];
        return std::any_of(contacts.begin(), contacts.end(),
                           [&](std::uint32_t i) { return context_.compiled.switches[i].pole; });
    }
    bool is_motor(std::uint32_t impedance) const {
        return context_.lookup.motor_of[context_.compiled.impedances[impedance].device] != none;
    }

    bool leads_to_returns_only(std::uint32_t start) {
        std::vector<std::uint32_t> queue{start};
        const auto arrive = [&](std::uint32_t net) {
            if (net == start || seen_.contains(net))
                return true;
            if (context_.relevance.is_pole_net(net) || has_pole(net) || ours_.contains(net))
                return returns_.returns(net);
            seen_.insert(net);
            queue.push_back(net);
            return true;
        };
        for (std::size_t k = 0; k < queue.size(); ++k) {
            for (const std::uint32_t i : context_.lookup.switches_at[queue[k]]) {
                const Switch &contact = context_.compiled.switches[i];
                if (!contact.pole && switches_.insert(i).second &&
                    !arrive(contact.a == queue[k] ? contact.b : contact.a))
                    return false;
            }
            for (const std::uint32_t i : context_.lookup.impedances_at[queue[k]]) {
                const Impedance &load = context_.compiled.impedances[i];
                if (!is_motor(i) && impedances_.insert(i).second && !arrive(load.a == queue[k] ? load.b : load.a))
                    return false;
            }
        }
        return true;
    }

    const Context &context_;
    Returns &returns_;
    std::set<std::uint32_t> ours_, switches_, impedances_, seen_;
};

} // namespace

Feeding::Feeding(const Context &context, const MachineSeen &machine) {
    Gathered found;
    gather_feeding(context, machine.seeds, found);
    nets = found.nets.sorted();
    switches = found.switches.sorted();
    IndexSet moving;
    for (const std::uint32_t i : switches)
        if (const std::uint32_t variable = context.compiled.switches[i].variable; variable != none)
            moving.insert(variable);
    variables = moving.sorted();
}

bool runs_without(const Context &context, Structure &structure, const MachineSeen &machine, const Feeding &ways,
                  std::uint32_t isolator) {
    const auto within = [](const std::vector<std::uint32_t> &all, std::uint32_t one) {
        return std::binary_search(all.begin(), all.end(), one);
    };
    if (within(ways.variables, isolator))
        return false;
    StandsOn stands_on(
        context, structure, [&](std::uint32_t variable) { return proves_cut(structure, context, machine, variable); },
        isolator);
    // Power poles may feed a net by other ways, too: it must stand on its source for good, or all of them be known.
    for (const std::uint32_t net : ways.nets)
        for (const std::uint32_t i : context.lookup.switches_at[net])
            if (context.compiled.switches[i].pole && !within(ways.switches, i) && stands_on.poles(net).size() != 1)
                return false;
    Returns returns(stands_on, context);
    return std::all_of(machine.reach.impedances.begin(), machine.reach.impedances.end(), [&](std::uint32_t i) {
        const std::uint32_t motor = context.lookup.motor_of[context.compiled.impedances[i].device];
        return (motor != none && context.compiled.motors[motor].machine == machine.index) || returns.straight(i);
    });
}

void FarReach::look() {
    if (reach_)
        return;
    reach_ = reach_of(context_.compiled, context_.relevance, seeds_, Extent::any_way);
    const auto needed = [&](std::uint32_t variable) {
        if (machine_)
            return proves_cut(structure_, context_, *machine_, variable);
        return structure_.nothing_between_with(variable, seeds_.nets[0], seeds_.nets[1]);
    };
    StandsOn stands_on(context_, structure_, needed, none);
    Returns returns(stands_on, context_);
    // Nothing is fed through itself, and motors hang on poles.
    const auto fine = [&](std::uint32_t i) {
        return std::find(seeds_.loads.begin(), seeds_.loads.end(), i) != seeds_.loads.end() ||
               context_.lookup.motor_of[context_.compiled.impedances[i].device] != none || returns.straight(i);
    };
    contacts_only_ = std::all_of(reach_->impedances.begin(), reach_->impedances.end(), fine) &&
                     !context_.relevance.fed_by_motors(reach_->nets) &&
                     HangingPiece(context_, *reach_, returns).only_takes();
}

bool FarReach::fed_by_contacts_only() {
    look();
    return contacts_only_;
}

bool FarReach::untouched_by(std::uint32_t variable) {
    look();
    return contacts_only_ && !std::binary_search(reach_->variables.begin(), reach_->variables.end(), variable);
}

} // namespace stopspan
