#include "switching/relevance.hpp"

#include "circuit/graph.hpp"

#include <algorithm>

namespace stopspan {
namespace {

// A net from which this many contacts leave is a rail: many circuits hang on it.
constexpr std::size_t rail_contacts = 4;

void sort_unique(std::vector<std::uint32_t> &values) {
    std::sort(values.begin(), values.end());
    values.erase(std::unique(values.begin(), values.end()), values.end());
}

} // namespace

struct Relevance::Implementation {
    explicit Implementation(const Compiled &compiled) : circuit(compiled), forest(compiled) {
        switches_at.resize(circuit.net_count);
        impedances_at.resize(circuit.net_count);
        distribution.assign(circuit.net_count, 0);
        poles_of.resize(circuit.variables.size());
        for (std::uint32_t i = 0; i < circuit.switches.size(); ++i)
            if (circuit.switches[i].pole && circuit.switches[i].variable != none)
                poles_of[circuit.switches[i].variable].push_back(i);
        for (std::uint32_t i = 0; i < circuit.switches.size(); ++i)
            for (const std::uint32_t net : {circuit.switches[i].a, circuit.switches[i].b}) {
                switches_at[net].push_back(i);
                distribution[net] |= circuit.switches[i].pole;
            }
        for (std::uint32_t i = 0; i < circuit.impedances.size(); ++i)
            for (const std::uint32_t net : {circuit.impedances[i].a, circuit.impedances[i].b})
                impedances_at[net].push_back(i);
        for (std::uint32_t net = 0; net < circuit.net_count; ++net)
            distribution[net] |= switches_at[net].size() >= rail_contacts;
        net_of_vertex.resize(boost::num_vertices(forest.graph()), none);
        for (std::uint32_t net = 0; net < circuit.net_count; ++net)
            net_of_vertex[forest.vertex(net)] = net;
    }

    const Compiled &circuit;
    BlockForest forest;
    std::vector<std::vector<std::uint32_t>> switches_at, impedances_at, poles_of;
    std::vector<std::uint8_t> distribution;
    std::vector<std::uint32_t> net_of_vertex;
};

Relevance::Relevance(const Compiled &circuit) : self_(std::make_unique<Implementation>(circuit)) {}
Relevance::~Relevance() = default;

bool Relevance::is_pole_net(std::uint32_t net) const {
    return self_->forest.is_pole_net(net);
}

const std::vector<std::uint32_t> &Relevance::poles_of(std::uint32_t variable) const {
    return self_->poles_of[variable];
}

Relevant Relevance::around(const std::vector<std::uint32_t> &expand, const std::vector<std::uint32_t> &trace) const {
    const Implementation &self = *self_;
    Relevant found;
    std::vector<std::uint32_t> queue = expand, upward = trace;
    sort_unique(queue);
    const std::size_t seeds = queue.size();
    const auto push = [&](std::uint32_t net) {
        if (std::find(queue.begin(), queue.end(), net) == queue.end())
            queue.push_back(net);
    };
    for (std::size_t k = 0; k < queue.size(); ++k) {
        const std::uint32_t net = queue[k];
        upward.push_back(net);
        if (self.forest.is_pole_net(net) || (k >= seeds && self.distribution[net]))
            continue;
        for (const std::uint32_t i : self.switches_at[net]) {
            const Switch &contact = self.circuit.switches[i];
            if (contact.pole)
                continue; // on the way up, or the feed of something else
            found.switches.push_back(i);
            push(contact.a == net ? contact.b : contact.a);
        }
        for (const std::uint32_t i : self.impedances_at[net]) {
            found.impedances.push_back(i);
            push(self.circuit.impedances[i].a == net ? self.circuit.impedances[i].b : self.circuit.impedances[i].a);
        }
    }
    std::vector<std::uint8_t> taken(self.forest.blocks().size(), 0);
    for (const std::uint32_t net : upward) {
        std::uint32_t vertex = self.forest.vertex(net);
        for (;;) {
            const std::uint32_t block = self.forest.block_above(vertex);
            if (block == none || taken[block])
                break;
            taken[block] = 1;
            const auto &contacts = self.forest.blocks()[block].switches;
            found.switches.insert(found.switches.end(), contacts.begin(), contacts.end());
            vertex = self.forest.blocks()[block].toward_root;
        }
    }
    found.nets = std::move(upward);
    for (const std::uint32_t i : found.switches) {
        found.nets.push_back(self.circuit.switches[i].a);
        found.nets.push_back(self.circuit.switches[i].b);
    }
    sort_unique(found.nets);
    sort_unique(found.switches);
    sort_unique(found.impedances);
    return found;
}

Relevant Relevance::connected(const std::vector<std::uint32_t> &seeds) const {
    const Implementation &self = *self_;
    Relevant found;
    std::vector<std::uint8_t> seen(self.circuit.net_count, 0);
    std::vector<std::uint32_t> queue;
    const auto push = [&](std::uint32_t net) {
        if (!seen[net]) {
            seen[net] = 1;
            queue.push_back(net);
        }
    };
    for (const std::uint32_t seed : seeds)
        push(seed);
    for (std::size_t k = 0; k < queue.size(); ++k) {
        const std::uint32_t net = queue[k];
        if (self.forest.is_pole_net(net))
            continue;
        for (const std::uint32_t i : self.switches_at[net]) {
            found.switches.push_back(i);
            push(self.circuit.switches[i].a == net ? self.circuit.switches[i].b : self.circuit.switches[i].a);
        }
        for (const std::uint32_t i : self.impedances_at[net]) {
            found.impedances.push_back(i);
            push(self.circuit.impedances[i].a == net ? self.circuit.impedances[i].b : self.circuit.impedances[i].a);
        }
    }
    found.nets = std::move(queue);
    sort_unique(found.nets);
    sort_unique(found.switches);
    sort_unique(found.impedances);
    return found;
}

std::vector<std::uint32_t> asking_nets(const Armature &armature) {
    std::vector<std::uint32_t> nets;
    const auto add = [&](std::uint32_t net) {
        if (net != none)
            nets.push_back(net);
    };
    for (const std::uint32_t net : {armature.a1, armature.a2, armature.e1, armature.e2, armature.reset.first,
                                    armature.reset.second, armature.feedback.first, armature.feedback.second})
        add(net);
    for (const auto &[a, b] : armature.inputs) {
        add(a);
        add(b);
    }
    return nets;
}

std::vector<std::vector<std::uint32_t>> armature_influence(const Compiled &circuit) {
    std::vector<std::uint32_t> armature_of(circuit.variables.size(), none);
    for (std::uint32_t i = 0; i < circuit.armatures.size(); ++i) {
        armature_of[circuit.armatures[i].variable] = i;
        if (circuit.armatures[i].timed != none)
            armature_of[circuit.armatures[i].timed] = i;
    }
    const Relevance relevance(circuit);
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
