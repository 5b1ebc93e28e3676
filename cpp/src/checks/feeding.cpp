#include "checks/feeding.hpp"

#include "checks/proofs.hpp"

#include <algorithm>

namespace stopspan {
namespace {

using Pole = std::pair<std::uint32_t, std::size_t>; // source, index of its pole

// The poles of sources a net stands on, itself or through the poles of isolators without which the machine cannot run
// or a load is dead.
class StandsOn {
public:
    StandsOn(const Context &context, Structure &structure, const MachineSeen &machine, std::uint32_t isolator)
        : context_(context), structure_(structure), machine_(machine), isolator_(isolator) {}

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
        const auto [entry, fresh] = needed_.try_emplace(variable, false);
        if (fresh)
            entry->second = proves_cut(structure_, machine_, variable);
        if (entry->second || !load)
            return entry->second;
        structure_.assume(variable, Structure::acted);
        const bool dead = structure_.nothing_between(load->a, load->b);
        structure_.forget();
        return dead;
    }

    const Context &context_;
    Structure &structure_;
    const MachineSeen &machine_;
    std::uint32_t isolator_;
    std::map<std::uint32_t, bool> needed_;
};

// Where every load returns straight to one and the same pole of a source, a net has that source's full volts or none.
// Motors are left out: those of `machine`, or with none all.
bool loads_return(StandsOn &stands_on, const Context &context, const std::vector<std::uint32_t> &loads,
                  std::uint32_t machine) {
    std::map<std::uint32_t, std::size_t> return_of; // source -> pole
    return std::all_of(loads.begin(), loads.end(), [&](std::uint32_t i) {
        const Impedance &load = context.compiled.impedances[i];
        const std::uint32_t motor = context.lookup.motor_of[load.device];
        if (motor != none && (machine == none || context.compiled.motors[motor].machine == machine))
            return true;
        for (const std::uint32_t end : {load.a, load.b}) {
            const std::set<Pole> poles = stands_on.poles(end, &load);
            if (poles.size() != 1)
                continue;
            const auto [source, pole] = *poles.begin();
            const std::size_t earthed = context.compiled.sources[source].earthed;
            if (earthed == none ? return_of.try_emplace(source, pole).first->second == pole : pole == earthed)
                return true;
        }
        return false;
    });
}

} // namespace

bool runs_without(const Context &context, Structure &structure, const MachineSeen &machine, std::uint32_t isolator) {
    const Feeding &ways = machine.feeding;
    if (ways.variables.contains(isolator))
        return false;
    StandsOn stands_on(context, structure, machine, isolator);
    // Power poles may feed a net by other ways, too: it must stand on its source for good, or all of them be known.
    for (const std::uint32_t net : ways.nets)
        for (const std::uint32_t i : context.lookup.switches_at[net])
            if (context.compiled.switches[i].pole && !ways.switches.contains(i) && stands_on.poles(net).size() != 1)
                return false;
    return loads_return(stands_on, context, machine.reach.impedances, machine.index);
}

bool fed_by_contacts_only(const Context &context, Structure &structure, const MachineSeen &machine,
                          const Reach &reach) {
    StandsOn stands_on(context, structure, machine, none);
    std::vector<std::uint32_t> loads = reach.impedances;
    for (const std::uint32_t net : reach.nets)
        if (!context.relevance.is_pole_net(net))
            loads.insert(loads.end(), context.lookup.impedances_at[net].begin(),
                         context.lookup.impedances_at[net].end());
    return loads_return(stands_on, context, loads, none);
}

} // namespace stopspan
