#include "ratings/control_loops.hpp"

#include "ratings/control_supply.hpp"
#include "switching/explore.hpp"

#include <boost/pending/disjoint_sets.hpp>

#include <algorithm>

namespace stopspan::ratings {
namespace {

// Where nobody said: DESIGN 4.2, typical small contactors.
constexpr double usual_hold_va = 8, usual_inrush_va = 70, usual_hold_w = 3;
constexpr std::size_t most_armatures_searched = 16;

Coil coil_of(const Ground &ground, std::uint32_t armature, bool tripping) {
    const Armature &seen = ground.compiled.armatures[armature];
    const Device &device = ground.device(seen.device);
    Coil coil{.armature = armature,
              .tripping = tripping,
              .a = tripping ? seen.e1 : seen.a1,
              .b = tripping ? seen.e2 : seen.a2,
              .direct_current = seen.dc_coil,
              .rated_v = seen.rated_v,
              .sources = {},
              .fed_v = {},
              .loop = {}};
    const auto hold = device.number(coil.direct_current ? "hold_w" : "hold_va"), inrush = device.number("inrush_va");
    coil.hold_known = hold.has_value();
    coil.inrush_known = coil.direct_current ? coil.hold_known : inrush.has_value();
    coil.hold_va = hold.value_or(coil.direct_current ? usual_hold_w : usual_hold_va);
    coil.inrush_va = coil.direct_current ? coil.hold_va : std::max(coil.hold_va, inrush.value_or(usual_inrush_va));
    return coil;
}

// The voltage across it, where the poles it can be joined to leave no choice.
void find_feed(const Compiled &circuit, const Feeds &feeds, Coil &coil) {
    coil.sources = feeds.sources_between(coil.a, coil.b);
    std::optional<double> volts;
    bool direct = false, only_one = true;
    for (const auto &[source_a, pole_a] : feeds.poles_of(coil.a))
        for (const auto &[source_b, pole_b] : feeds.poles_of(coil.b)) {
            if (source_a != source_b)
                continue;
            const Source &source = circuit.sources[source_a];
            const Volts across = source.poles[pole_a].volts - source.poles[pole_b].volts;
            if (across.rms() < 1e-6)
                continue;
            only_one &= !volts || std::abs(*volts - across.rms()) < 0.01 * across.rms();
            volts = across.rms();
            direct = std::abs(across.dc) > 0.9 * across.rms();
        }
    if (volts && only_one) {
        coil.fed_v = volts;
        coil.fed_direct_current = direct;
    }
}

} // namespace

Feeds::Feeds(const Compiled &circuit) : piece_(circuit.net_count), poles_(circuit.net_count) {
    std::vector<std::uint8_t> pole(circuit.net_count, 0);
    for (const Source &source : circuit.sources)
        for (const Source::Pole &each : source.poles)
            pole[each.net] = 1;
    boost::disjoint_sets_with_storage<> joined(circuit.net_count);
    for (const Switch &contact : circuit.switches)
        if (contact.closed_at != 0 && !pole[contact.a] && !pole[contact.b])
            joined.union_set(contact.a, contact.b);
    for (std::uint32_t net = 0; net < circuit.net_count; ++net)
        piece_[net] = static_cast<std::uint32_t>(joined.find_set(net));
    std::vector<std::vector<std::pair<std::uint32_t, std::uint32_t>>> at(circuit.net_count);
    for (std::uint32_t s = 0; s < circuit.sources.size(); ++s)
        for (std::uint32_t p = 0; p < circuit.sources[s].poles.size(); ++p) {
            at[circuit.sources[s].poles[p].net].emplace_back(s, p);
            poles_[circuit.sources[s].poles[p].net].emplace_back(s, p);
        }
    for (const Switch &contact : circuit.switches)
        for (const auto &[near, far] : {std::pair{contact.a, contact.b}, {contact.b, contact.a}})
            if (contact.closed_at != 0 && pole[far] && !pole[near]) {
                auto &met = poles_[piece_[near]];
                for (const auto &each : at[far])
                    if (std::ranges::find(met, each) == met.end())
                        met.push_back(each);
            }
}

const std::vector<std::pair<std::uint32_t, std::uint32_t>> &Feeds::poles_of(std::uint32_t net) const {
    return poles_[piece_[net]];
}

std::vector<std::uint32_t> Feeds::sources_between(std::uint32_t a, std::uint32_t b) const {
    std::vector<std::uint32_t> found;
    for (const auto &[source, pole] : poles_of(a))
        for (const auto &[other, other_pole] : poles_of(b))
            if (source == other && pole != other_pole && std::ranges::find(found, source) == found.end())
                found.push_back(source);
    return found;
}

std::vector<Coil> coils_of(const Ground &ground) {
    const Feeds feeds(ground.compiled);
    const Ways ways(ground.compiled, ground.lookup);
    std::vector<Coil> coils;
    for (std::uint32_t i = 0; i < ground.compiled.armatures.size(); ++i) {
        const Armature &armature = ground.compiled.armatures[i];
        if (armature.kind == Armature::Kind::monitor || armature.rated_v <= 0)
            continue;
        coils.push_back(coil_of(ground, i, false));
        if (armature.e1 != none)
            coils.push_back(coil_of(ground, i, true));
    }
    for (Coil &coil : coils) {
        find_feed(ground.compiled, feeds, coil);
        const std::set<std::uint32_t> contacts = ways.from({coil.a, coil.b});
        coil.loop.assign(contacts.begin(), contacts.end());
    }
    return coils;
}

std::vector<SizeInput> coil_inputs(const Ground &ground, const Coil &coil, bool inrush) {
    const Device &device = ground.device(ground.compiled.armatures[coil.armature].device);
    const std::string hold = coil.direct_current ? "hold_w" : "hold_va", unit = coil.direct_current ? "W" : "VA";
    std::vector<SizeInput> inputs{from_device(device, "coil_voltage_v", "V")};
    if (!inrush || coil.direct_current)
        inputs.push_back(coil.hold_known ? from_device(device, hold, unit)
                                         : assumed(hold, coil.hold_va, unit, "typical small contactor"));
    else
        inputs.push_back(coil.inrush_known ? from_device(device, "inrush_va", unit)
                                           : assumed("inrush_va", coil.inrush_va, unit, "typical small contactor"));
    return inputs;
}

AtOnce most_at_once(const Ground &ground, const Relevance &relevance, const std::vector<const Coil *> &coils) {
    AtOnce all;
    for (const Coil *coil : coils) {
        all.sealed_va += coil->hold_va;
        all.then_inrush_va += coil->inrush_va;
    }
    Seeds seeds;
    for (const Coil *coil : coils)
        for_asking_nets(ground.compiled.armatures[coil->armature],
                        [&](std::uint32_t net) { seeds.nets.push_back(net); });
    const Reach reach = reach_of(ground.compiled, relevance, seeds, Extent::feed);
    if (reach.armatures.size() > most_armatures_searched)
        return all;
    const Cone cone = cut_cone(ground.plain, ground.compiled, relevance, reach, Simplify::and_rows);
    std::vector<std::pair<std::uint32_t, const Coil *>> watched; // variable of the cone
    for (const Coil *coil : coils) {
        const auto place = std::ranges::lower_bound(reach.armatures, coil->armature);
        if (place == reach.armatures.end() || *place != coil->armature)
            return all;
        watched.emplace_back(cone.circuit.armatures[static_cast<std::size_t>(place - reach.armatures.begin())].variable,
                             coil);
    }
    Exploration exploration(cone);
    AtOnce most;
    const auto sealed_in = [&](const State &state) {
        double sealed_va = 0;
        for (const auto &[variable, coil] : watched)
            sealed_va += state[variable] != 0 ? coil->hold_va : 0;
        return sealed_va;
    };
    const auto look = [&](const State *before, const State &after) {
        ControlLoad moment;
        for (const auto &[variable, coil] : watched)
            if (after[variable] != 0)
                (before && (*before)[variable] != 0 ? moment.sealed_va : moment.inrush_va) +=
                    before && (*before)[variable] != 0 ? coil->hold_va : coil->inrush_va;
        most.sealed_va = std::max(most.sealed_va, sealed_in(after));
        if (momentary_va(moment) > momentary_va({most.then_sealed_va, most.then_inrush_va, 0})) {
            most.then_sealed_va = moment.sealed_va;
            most.then_inrush_va = moment.inrush_va;
        }
    };
    const bool complete = exploration.run(ground.options.state_budget, [&](const Exploration::Transition &t) {
        const State before = exploration.nodes()[t.from].state;
        for (const std::uint32_t node : t.to)
            look(&before, exploration.nodes()[node].state);
        for (const State &passed : t.settled.passed)
            look(&before, passed);
    });
    for (const State &end : exploration.cold_start().ends)
        look(nullptr, end);
    if (!complete)
        return all;
    most.searched = true;
    most.states = exploration.nodes().size();
    return most;
}

} // namespace stopspan::ratings
