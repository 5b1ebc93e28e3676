#include "switching/relevance.hpp"

#include "circuit/graph.hpp"
#include "switching/dead_ends.hpp"
#include "switching/feeding_loads.hpp"
#include "switching/lost_lines.hpp"
#include "switching/motors_feed_back.hpp"

#include <algorithm>
#include <mutex>
#include <optional>

namespace stopspan {
namespace {

// A net from which this many contacts leave is a rail: many circuits hang on it.
constexpr std::size_t rail_contacts = 4;

// Per net: earth or a source stands on it.
std::vector<std::uint8_t> pole_nets(const Compiled &circuit) {
    std::vector<std::uint8_t> found(circuit.net_count, 0);
    found[circuit.earth] = 1;
    for (const Source &source : circuit.sources)
        for (const Source::Pole &pole : source.poles)
            found[pole.net] = 1;
    return found;
}

void sort_unique(std::vector<std::uint32_t> &values) {
    std::sort(values.begin(), values.end());
    values.erase(std::unique(values.begin(), values.end()), values.end());
}

} // namespace

struct Relevance::Implementation {
    explicit Implementation(const Compiled &compiled)
        : circuit(compiled), lookup(compiled), is_pole_net(pole_nets(compiled)), control_forest(compiled, false),
          between_poles(compiled.variables.size(),
                        [&](auto &&put) {
                            for (std::uint32_t i = 0; i < circuit.switches.size(); ++i)
                                if (const Switch &one = circuit.switches[i];
                                    one.variable != none && one.a != one.b && is_pole_net[one.a] && is_pole_net[one.b])
                                    put(one.variable, i);
                        }),
          distribution(compiled.net_count, 0) {
        for (const Switch &contact : circuit.switches)
            for (const std::uint32_t net : {contact.a, contact.b})
                distribution[net] |= contact.pole;
        has_pole = distribution;
        for (std::uint32_t net = 0; net < circuit.net_count; ++net)
            distribution[net] |= lookup.switches_at[net].size() >= rail_contacts;
        // Contacts between a net and the nearest source pole.
        steps.assign(circuit.net_count, none);
        std::vector<std::uint32_t> queue;
        for (std::uint32_t net = 0; net < circuit.net_count; ++net)
            if (is_pole_net[net]) {
                steps[net] = 0;
                queue.push_back(net);
            }
        for (std::size_t k = 0; k < queue.size(); ++k)
            for (const std::uint32_t i : lookup.switches_at[queue[k]]) {
                const std::uint32_t next = other_end(i, queue[k]);
                if (steps[next] == none) {
                    steps[next] = steps[queue[k]] + 1;
                    queue.push_back(next);
                }
            }
        find_feeding_loads();
    }

    std::uint32_t other_end(std::uint32_t contact, std::uint32_t net) const {
        const Switch &one = circuit.switches[contact];
        return one.a == net ? one.b : one.a;
    }

    // Contacts on the ways between two pole nets, each group with the ways that have contacts in common.
    void find_shorting(const std::vector<std::vector<std::uint32_t>> &groups) {
        shorting.resize(circuit.sources.size());
        for (const auto &group : groups) {
            std::vector<std::uint32_t> poles;
            for (const std::uint32_t i : group)
                for (const std::uint32_t net : {circuit.switches[i].a, circuit.switches[i].b})
                    if (is_pole_net[net])
                        poles.push_back(net);
            sort_unique(poles);
            if (poles.size() < 2)
                continue;
            std::vector<std::uint32_t> sources;
            for (const std::uint32_t net : poles)
                sources.insert(sources.end(), lookup.sources_at[net].begin(), lookup.sources_at[net].end());
            sort_unique(sources);
            for (const std::uint32_t s : sources)
                shorting[s].insert(shorting[s].end(), group.begin(), group.end());
        }
    }

    // Of all contacts, of power poles too.
    const BlockForest &forest() const {
        std::call_once(forest_found, [this] { whole_forest.emplace(circuit); });
        return *whole_forest;
    }

    void find_hanging() {
        const std::uint32_t pole = circuit.net_count; // all of them, and whatever asks for a net
        const auto vertex = [&](std::uint32_t net) { return is_pole_net[net] ? pole : net; };
        std::vector<std::pair<std::uint32_t, std::uint32_t>> edges;
        for (const Switch &one : circuit.switches)
            edges.emplace_back(vertex(one.a), vertex(one.b));
        for (const Impedance &one : circuit.impedances)
            edges.emplace_back(vertex(one.a), vertex(one.b));
        const auto ask = [&](std::uint32_t net) {
            if (net != none)
                edges.emplace_back(vertex(net), pole);
        };
        for (const Armature &armature : circuit.armatures)
            for_asking_nets(armature, ask);
        for (const MotorSeen &motor : circuit.motors)
            for (const auto &[from, to] : {motor.run, motor.torque_off}) {
                ask(from);
                ask(to);
            }
        std::erase_if(edges, [](const auto &edge) { return edge.first == edge.second; });
        hangs_on = without_dead_ends(pole + 1, edges, pole);
    }

    // No contact of a control circuit leads through these.
    bool is_root(std::uint32_t net) const { return control_forest.is_pole_net(net); }

    void find_feeding_loads() {
        std::vector<Place> places(circuit.net_count, Place::inner);
        for (std::uint32_t net = 0; net < circuit.net_count; ++net)
            if (is_root(net))
                places[net] = Place::root;
            else if (has_feed(net))
                places[net] = Place::rail;
        feeding = feeding_loads(circuit, places);
        if (!feeding.nets.empty())
            fed_forest.emplace(circuit, false, feeding.nets);
    }

    // A distribution net that no contact leads to a source from is fed through loads: they count as any other.
    bool has_feed(std::uint32_t net) const { return distribution[net] && steps[net] != none; }

    // Everything that conducts around the nets, up to distribution nets. What `found.pocket` has is not looked at
    // again.
    // @param past_rails  up to those only that a power pole ends on
    void pocket(const std::vector<std::uint32_t> &expand, Gathered &found, bool past_rails = false) const {
        IndexSet &seen = found.pocket;
        const std::size_t start = seen.size();
        seen.insert(expand.begin(), expand.end());
        const std::size_t seeds = seen.size();
        for (std::size_t k = start; k < seen.size(); ++k) {
            const std::uint32_t net = seen[k];
            found.met.insert(net);
            if (is_pole_net[net] || (has_feed(net) && (has_pole[net] || (k >= seeds && !past_rails))))
                continue;
            for (const std::uint32_t i : lookup.switches_at[net]) {
                if (circuit.switches[i].pole)
                    continue; // its feed, or the feed of something else
                found.switches.insert(i);
                seen.insert(other_end(i, net));
            }
            for (const std::uint32_t i : lookup.impedances_at[net]) {
                found.impedances.insert(i);
                seen.insert(far_end(i, net));
            }
        }
    }

    // Contacts of all blocks between the nets and the roots of their trees, and the nets these join. What
    // `found.blocks` has is not looked at again.
    // @param start  the first of the nets that was not climbed from yet
    void climb(const BlockForest &trees, Gathered &found, std::size_t start) const {
        IndexSet &nets = found.met, &taken = found.blocks;
        const std::size_t end = nets.size();
        for (std::size_t k = start; k < end; ++k) {
            std::uint32_t vertex = trees.vertex(nets[k]);
            for (;;) {
                const std::uint32_t block = trees.block_above(vertex);
                if (block == none || !taken.insert(block))
                    break;
                for (const std::uint32_t i : trees.switches(block)) {
                    found.switches.insert(i);
                    nets.insert(circuit.switches[i].a);
                    nets.insert(circuit.switches[i].b);
                }
                vertex = trees.toward_root(block);
            }
        }
    }

    // The contacts on any way to a root, and the loads that may feed what is met there.
    void climb_to_feed(Gathered &found, std::size_t start) const {
        if (!fed_forest) {
            climb(control_forest, found, start);
            return;
        }
        IndexSet &nets = found.met;
        std::vector<std::uint32_t> expand;
        for (std::size_t climbed = start, looked = start; climbed < nets.size();) {
            climb(*fed_forest, found, std::exchange(climbed, nets.size()));
            expand.clear();
            for (; looked < nets.size(); ++looked) {
                const std::uint32_t net = nets[looked];
                if (is_root(net))
                    continue;
                if (feeding.in_pocket[net])
                    expand.push_back(net);
                for (const std::uint32_t i : lookup.impedances_at[net])
                    if (feeding.feeds[i] && found.impedances.insert(i))
                        nets.insert(far_end(i, net));
            }
            if (!expand.empty())
                pocket(expand, found);
        }
    }

    // Do loads around the seeds feed a rail themselves?
    bool feeds_rails(const std::vector<std::uint32_t> &seeds, const IndexSet &searched) const {
        const auto feeding_load = [&](std::uint32_t load) { return feeding.feeds[load] != 0; };
        for (std::size_t k = 0; k < searched.size(); ++k)
            if (feeding.in_pocket[searched[k]])
                return true;
        return std::any_of(seeds.begin(), seeds.end(), [&](std::uint32_t net) {
            const auto loads = lookup.impedances_at[net];
            return !is_root(net) && std::any_of(loads.begin(), loads.end(), feeding_load);
        });
    }

    std::uint32_t far_end(std::uint32_t impedance, std::uint32_t net) const {
        const Impedance &load = circuit.impedances[impedance];
        return load.a == net ? load.b : load.a;
    }

    const Compiled &circuit;
    Lookup lookup;
    std::vector<std::uint8_t> is_pole_net; ///< per net
    BlockForest control_forest;
    std::optional<BlockForest> fed_forest; ///< control_forest with the loads that feed as ways; where there are some
    FeedingLoads feeding;
    IndexLists between_poles; ///< per variable
    std::vector<std::uint8_t> distribution, has_pole;
    std::vector<std::uint32_t> steps;
    // Found when first asked for.
    mutable std::optional<BlockForest> whole_forest;
    std::vector<std::uint32_t> hangs_on;              ///< per net; see without_dead_ends()
    std::vector<std::vector<std::uint32_t>> shorting; ///< per source
    std::vector<std::uint8_t> fed_when_lost;          ///< per net
    std::vector<std::uint8_t> fed_by_motors;          ///< likewise
    mutable std::once_flag forest_found;
    std::once_flag shorting_found, fed_when_lost_found, fed_by_motors_found, hanging_found;
};

Relevance::Relevance(const Compiled &circuit) : self_(std::make_unique<Implementation>(circuit)) {}
Relevance::~Relevance() = default;

IndexLists::List Relevance::between_poles(std::uint32_t variable) const {
    return self_->between_poles[variable];
}

bool Relevance::is_pole_net(std::uint32_t net) const {
    return self_->is_pole_net[net] != 0;
}

std::uint32_t Relevance::steps(std::uint32_t net) const {
    return self_->steps[net];
}

bool Relevance::leads_nowhere(std::uint32_t contact) const {
    if (!self_->fed_forest)
        return false; // searches then keep to the ways to a pole anyway
    std::call_once(self_->hanging_found, [this] { self_->find_hanging(); });
    const Switch &one = self_->circuit.switches[contact];
    return !is_pole_net(one.a) && !is_pole_net(one.b) && self_->hangs_on[one.a] == self_->hangs_on[one.b];
}

const std::vector<std::uint32_t> &Relevance::shorting(std::uint32_t source) const {
    std::call_once(self_->shorting_found, [this] { self_->find_shorting(bridges()); });
    return self_->shorting[source];
}

const Lookup &Relevance::lookup() const {
    return self_->lookup;
}

namespace {

Relevant sorted(const Gathered &found) {
    return {found.nets.sorted(), found.switches.sorted(), found.impedances.sorted()};
}

} // namespace

Relevant Relevance::around(const std::vector<std::uint32_t> &expand, const std::vector<std::uint32_t> &trace,
                           const std::vector<std::uint32_t> &power) const {
    Gathered found;
    around(expand, trace, power, found);
    return sorted(found);
}

void Relevance::around(const std::vector<std::uint32_t> &expand, const std::vector<std::uint32_t> &trace,
                       const std::vector<std::uint32_t> &power, Gathered &found) const {
    const Implementation &self = *self_;
    std::vector<std::uint32_t> all_of = expand;
    std::copy_if(trace.begin(), trace.end(), std::back_inserter(all_of),
                 [&](std::uint32_t net) { return self.steps[net] == none; });
    IndexSet &met = found.met;
    const std::size_t start = met.size();
    met.insert(trace.begin(), trace.end());
    found.pocket.clear();
    if (!all_of.empty())
        self.pocket(all_of, found);
    if (self.fed_forest && self.feeds_rails(all_of, found.pocket)) {
        found.pocket.clear();
        self.pocket(all_of, found, true);
    }
    // A machine's own power circuit: never nearer to a source, so never into what feeds it.
    IndexSet &own = found.own;
    const std::size_t first_own = own.size();
    own.insert(power.begin(), power.end());
    for (std::size_t k = first_own; k < own.size(); ++k) {
        const std::uint32_t net = own[k];
        met.insert(net);
        if (self.is_pole_net[net])
            continue;
        for (const std::uint32_t i : self.lookup.switches_at[net]) {
            const std::uint32_t next = self.other_end(i, net);
            if (self.steps[next] < self.steps[net])
                continue;
            found.switches.insert(i);
            own.insert(next);
        }
    }
    self.climb_to_feed(found, start);
    // Their feed: every step leads nearer to a source.
    IndexSet &nets = found.nets;
    std::size_t next = nets.size();
    nets.insert(met.begin() + static_cast<std::ptrdiff_t>(start), met.end());
    for (; next < nets.size(); ++next) {
        const std::uint32_t net = nets[next];
        if (self.steps[net] == none || self.steps[net] == 0)
            continue;
        for (const std::uint32_t i : self.lookup.switches_at[net]) {
            const std::uint32_t nearer = self.other_end(i, net);
            if (self.steps[nearer] >= self.steps[net])
                continue;
            found.switches.insert(i);
            nets.insert(nearer);
        }
    }
}

Relevant Relevance::any_way(const std::vector<std::uint32_t> &expand, const std::vector<std::uint32_t> &trace) const {
    Gathered found;
    any_way(expand, trace, found);
    return sorted(found);
}

void Relevance::any_way(const std::vector<std::uint32_t> &expand, const std::vector<std::uint32_t> &trace,
                        Gathered &found) const {
    const std::size_t start = found.met.size();
    found.met.insert(trace.begin(), trace.end());
    found.pocket.clear();
    self_->pocket(expand, found);
    self_->climb(self_->forest(), found, start);
    found.nets.insert(found.met.begin() + static_cast<std::ptrdiff_t>(start), found.met.end());
}

bool Relevance::fed_when_lost(std::uint32_t net) const {
    std::call_once(self_->fed_when_lost_found,
                   [this] { self_->fed_when_lost = stopspan::fed_when_lost(self_->circuit); });
    return self_->fed_when_lost[net] != 0;
}

bool Relevance::fed_by_motors(const std::vector<std::uint32_t> &nets) const {
    std::call_once(self_->fed_by_motors_found,
                   [this] { self_->fed_by_motors = stopspan::fed_by_motors(self_->circuit); });
    return std::any_of(nets.begin(), nets.end(), [&](std::uint32_t net) { return self_->fed_by_motors[net] != 0; });
}

std::vector<std::uint32_t> Relevance::in_any_way(const std::vector<std::uint32_t> &nets) const {
    std::vector<std::uint32_t> variables;
    for (const std::uint32_t i : any_way({}, nets).switches)
        if (const std::uint32_t variable = self_->circuit.switches[i].variable; variable != none)
            variables.push_back(variable);
    sort_unique(variables);
    return variables;
}

void Relevance::connected(const std::vector<std::uint32_t> &seeds, bool past_lines, Gathered &found) const {
    const Implementation &self = *self_;
    IndexSet &seen = found.nets;
    const std::size_t start = seen.size();
    seen.insert(seeds.begin(), seeds.end());
    for (std::size_t k = start; k < seen.size(); ++k) {
        const std::uint32_t net = seen[k];
        if (self.is_pole_net[net] && !(past_lines && fed_when_lost(net)))
            continue;
        for (const std::uint32_t i : self.lookup.switches_at[net]) {
            found.switches.insert(i);
            seen.insert(self.other_end(i, net));
        }
        for (const std::uint32_t i : self.lookup.impedances_at[net]) {
            found.impedances.insert(i);
            seen.insert(self.circuit.impedances[i].a == net ? self.circuit.impedances[i].b
                                                            : self.circuit.impedances[i].a);
        }
    }
}

std::vector<std::vector<std::uint32_t>> Relevance::bridges() const {
    const Implementation &self = *self_;
    std::vector<std::vector<std::uint32_t>> groups;
    for (std::uint32_t i = 0; i < self.circuit.switches.size(); ++i) {
        const Switch &contact = self.circuit.switches[i];
        const auto ends_here = [&](std::uint32_t net) {
            return contact.pole ? self.is_pole_net[net] : self.is_root(net);
        };
        if (contact.a != contact.b && ends_here(contact.a) && ends_here(contact.b))
            groups.push_back({i});
    }
    for (std::uint32_t block = 0; block < self.control_forest.blocks(); ++block) {
        const auto contacts = self.control_forest.switches(block);
        std::vector<std::uint32_t> ends;
        for (const std::uint32_t i : contacts)
            for (const std::uint32_t net : {self.circuit.switches[i].a, self.circuit.switches[i].b})
                if (self.control_forest.is_pole_net(net) && std::find(ends.begin(), ends.end(), net) == ends.end())
                    ends.push_back(net);
        if (ends.size() >= 2)
            groups.emplace_back(contacts.begin(), contacts.end());
    }
    return groups;
}

std::vector<std::uint32_t> asking_nets(const Armature &armature) {
    std::vector<std::uint32_t> nets;
    for_asking_nets(armature, [&](std::uint32_t net) { nets.push_back(net); });
    return nets;
}

std::vector<std::vector<std::uint32_t>> armature_influence(const Compiled &circuit) {
    const Relevance relevance(circuit);
    const auto &armature_of = relevance.lookup().armature_of;
    std::vector<std::vector<std::uint32_t>> influence(circuit.armatures.size());
    for (std::uint32_t i = 0; i < circuit.armatures.size(); ++i) {
        for (const std::uint32_t contact : relevance.around(asking_nets(circuit.armatures[i]), {}).switches) {
            const std::uint32_t variable = circuit.switches[contact].variable;
            if (variable != none && armature_of[variable] != none)
                influence[i].push_back(armature_of[variable]);
        }
        sort_unique(influence[i]);
    }
    return influence;
}

} // namespace stopspan
