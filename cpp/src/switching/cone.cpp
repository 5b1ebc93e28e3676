#include "switching/cone.hpp"

#include <algorithm>
#include <map>
#include <set>

namespace stopspan {
namespace {

using Members = std::set<std::uint32_t>;

std::vector<std::uint32_t> to_vector(const Members &set) {
    return {set.begin(), set.end()};
}

} // namespace

Reach reach_of(const Compiled &circuit, const Relevance &relevance, const Seeds &seeds, Extent extent) {
    thread_local Gathered found; // kept from call to call, as there are many small ones
    found.clear();
    return reach_of(circuit, relevance, seeds, extent, found);
}

Reach reach_of(const Compiled &circuit, const Relevance &relevance, const Seeds &seeds, Extent extent,
               Gathered &found) {
    const bool everything = extent >= Extent::everything;
    const Lookup &lookup = relevance.lookup();
    const auto &armature_of = lookup.armature_of;
    thread_local IndexSet variables, armatures, sources;
    for (IndexSet *each : {&variables, &armatures, &sources})
        each->clear();
    std::vector<std::uint32_t> expand = seeds.nets, power = seeds.power, trace, bridging;
    const auto need_armature = [&](std::uint32_t armature) {
        if (!armatures.insert(armature))
            return;
        const Armature &one = circuit.armatures[armature];
        for (const std::uint32_t variable : {one.variable, one.timed, one.memory})
            if (variable != none)
                variables.insert(variable);
        variables.insert(one.channels_in.begin(), one.channels_in.end());
        for_asking_nets(one, [&](std::uint32_t net) { expand.push_back(net); });
        for (const std::uint32_t other : one.interlocked)
            for_asking_nets(circuit.armatures[other], [&](std::uint32_t net) { expand.push_back(net); });
    };
    const auto need_loops = [&](std::uint32_t impedance) { // a drive asks its run and torque-off loops
        const std::uint32_t at = lookup.motor_of[circuit.impedances[impedance].device];
        if (at == none || circuit.motors[at].kind != DeviceKind::drive)
            return;
        const MotorSeen &drive = circuit.motors[at];
        if (drive.memory != none)
            variables.insert(drive.memory);
        for (const std::uint32_t net :
             {drive.run.first, drive.run.second, drive.torque_off.first, drive.torque_off.second})
            if (net != none && !found.nets.contains(net))
                expand.push_back(net);
    };
    for (const std::uint32_t contact : seeds.contacts) {
        found.switches.insert(contact);
        expand.insert(expand.end(), {circuit.switches[contact].a, circuit.switches[contact].b});
    }
    bool first = true;
    // What was found and not looked at yet begins at these.
    std::size_t next_switch = 0, next_impedance = 0, next_load = 0, next_net = 0, next_variable = 0;
    while (!expand.empty() || !power.empty() || !trace.empty()) {
        if (everything) {
            expand.insert(expand.end(), trace.begin(), trace.end());
            relevance.connected(expand, extent == Extent::past_lines || is_small(circuit), found);
            found.switches.insert(bridging.begin(), bridging.end());
        } else if (extent == Extent::any_way) {
            relevance.any_way(expand, trace, found);
        } else {
            relevance.around(expand, trace, power, found);
        }
        expand.clear();
        power.clear();
        trace.clear();
        bridging.clear();
        for (; next_switch < found.switches.size(); ++next_switch) {
            const std::uint32_t variable = circuit.switches[found.switches[next_switch]].variable;
            if (variable == none)
                continue;
            // Its other poles move with it: left outside they could seem to feed us while it is open.
            if ((variables.insert(variable) || armature_of[variable] != none) && !everything)
                for (const std::uint32_t pole : lookup.poles_of[variable])
                    if (found.switches.insert(pole))
                        for (const std::uint32_t net : {circuit.switches[pole].a, circuit.switches[pole].b})
                            trace.push_back(net);
            if (armature_of[variable] != none)
                need_armature(armature_of[variable]);
        }
        for (; next_impedance < found.impedances.size(); ++next_impedance)
            if (const std::uint32_t armature = circuit.impedances[found.impedances[next_impedance]].armature;
                armature != none)
                need_armature(armature);
        for (; next_net < found.nets.size(); ++next_net)
            for (const std::uint32_t s : lookup.sources_at[found.nets[next_net]])
                if (sources.insert(s)) {
                    variables.insert(circuit.sources[s].variable);
                    // What shorts it takes it from all it feeds, though nothing else joins the two.
                    if (everything)
                        for (const std::uint32_t i : relevance.shorting(s)) {
                            bridging.push_back(i);
                            expand.push_back(circuit.switches[i].a);
                            expand.push_back(circuit.switches[i].b);
                        }
                    if (circuit.sources[s].feed_a != none) {
                        found.impedances.insert(circuit.sources[s].feed_part);
                        trace.push_back(circuit.sources[s].feed_a);
                        trace.push_back(circuit.sources[s].feed_b);
                    }
                }
        if (first)
            std::for_each(seeds.loads.begin(), seeds.loads.end(), need_loops);
        first = false;
        for (; next_load < found.impedances.size(); ++next_load)
            need_loops(found.impedances[next_load]);
        // No search finds what stands between two poles: a contact there of something that moves here shorts a source.
        for (; next_variable < variables.size(); ++next_variable)
            for (const std::uint32_t i : relevance.between_poles(variables[next_variable]))
                if (found.switches.insert(i)) {
                    trace.push_back(circuit.switches[i].a);
                    trace.push_back(circuit.switches[i].b);
                }
    }
    found.impedances.insert(seeds.loads.begin(), seeds.loads.end());
    return {found.nets.sorted(), found.switches.sorted(), found.impedances.sorted(),
            variables.sorted(),  armatures.sorted(),      sources.sorted()};
}

namespace {

class Cutter {
public:
    Cutter(const Circuit &circuit, const Compiled &full, const Relevance &relevance, const Reach &reach,
           Simplify simplify, const std::vector<std::uint32_t> &standing)
        : circuit_(circuit), full_(full), relevance_(relevance), reach_(reach), simplify_(simplify),
          standing_(standing) {}

    Cone cut() {
        for (const std::uint32_t net : reach_.nets)
            net_in_[net] = 1;
        find_unknown_links();
        number_nets();
        take_variables();
        take_parts();
        if (simplify_ == Simplify::and_rows)
            merge_rows();
        drop_unused_variables();
        for (std::uint32_t v = 0; v < cone_.circuit.variables.size(); ++v)
            cone_.actors.push_back(actor_info(cone_.circuit, v, circuit_.devices()[cone_.circuit.variables[v].device]));
        for (const auto &members : cone_.members) {
            const auto by_hand = [&](std::uint32_t v) {
                return full_.variables[v].kind == Variable::Kind::actuator &&
                       is_momentary(circuit_.devices()[full_.variables[v].device]);
            };
            cone_.held.push_back(std::all_of(members.begin(), members.end(), by_hand));
            cone_.held_unless_blown.push_back(std::any_of(members.begin(), members.end(), by_hand) &&
                                              std::all_of(members.begin(), members.end(), [&](std::uint32_t v) {
                                                  return full_.variables[v].kind == Variable::Kind::fuse || by_hand(v);
                                              }));
        }
        return std::move(cone_);
    }

private:
    // What is connected outside, piece by piece: the nets of ours it touches may be joined by it somehow.
    void find_unknown_links() {
        const Members ours(reach_.nets.begin(), reach_.nets.end());
        Members used_switches(reach_.switches.begin(), reach_.switches.end()),
            used_impedances(reach_.impedances.begin(), reach_.impedances.end());
        // The far ends of all parts at a net that are neither ours nor met before.
        const auto further = [&](std::uint32_t net) {
            std::vector<std::uint32_t> ends;
            for (const std::uint32_t i : relevance_.lookup().switches_at[net])
                if (used_switches.insert(i).second)
                    ends.push_back(full_.switches[i].a == net ? full_.switches[i].b : full_.switches[i].a);
            for (const std::uint32_t i : relevance_.lookup().impedances_at[net])
                if (used_impedances.insert(i).second)
                    ends.push_back(full_.impedances[i].a == net ? full_.impedances[i].b : full_.impedances[i].a);
            return ends;
        };
        for (const std::uint32_t start : reach_.nets) {
            if (relevance_.is_pole_net(start))
                continue;
            for (const std::uint32_t first : further(start)) {
                Members touched{start};
                std::vector<std::uint32_t> queue;
                Members seen;
                const auto arrive = [&](std::uint32_t net) {
                    if (relevance_.is_pole_net(net) || ours.contains(net))
                        touched.insert(net);
                    else if (seen.insert(net).second)
                        queue.push_back(net);
                };
                arrive(first);
                for (std::size_t k = 0; k < queue.size(); ++k)
                    for (const std::uint32_t next : further(queue[k]))
                        arrive(next);
                if (touched.size() >= 2)
                    links_.push_back(to_vector(touched));
            }
        }
        for (const auto &link : links_)
            for (const std::uint32_t net : link)
                net_in_[net] = 1;
        for (const auto &[net, unused] : net_in_)
            sources_.insert(relevance_.lookup().sources_at[net].begin(), relevance_.lookup().sources_at[net].end());
        for (const std::uint32_t s : sources_) {
            for (const Source::Pole &pole : full_.sources[s].poles)
                net_in_[pole.net] = 1;
            for (const std::uint32_t net : {full_.sources[s].feed_a, full_.sources[s].feed_b})
                if (net != none)
                    net_in_[net] = 1;
        }
        net_in_[full_.earth] = 1;
    }

    void number_nets() {
        // Joined for good: one net, unless a fault may part them.
        const Members standing(standing_.begin(), standing_.end());
        std::map<std::uint32_t, std::uint32_t> parent;
        const auto root = [&](std::uint32_t net) {
            for (auto above = parent.find(net); above != parent.end(); above = parent.find(net))
                net = above->second;
            return net;
        };
        if (simplify_ != Simplify::no)
            for (const std::uint32_t i : reach_.switches)
                if (const Switch &one = full_.switches[i]; one.variable == none && one.closed_at == 0xff &&
                                                           !standing.contains(one.a) && !standing.contains(one.b))
                    if (const std::uint32_t a = root(one.a), b = root(one.b); a != b)
                        parent[a] = b;
        std::map<std::uint32_t, std::uint32_t> number;
        for (const auto &[net, in] : net_in_) {
            const auto [entry, fresh] = number.try_emplace(root(net), cone_.circuit.net_count);
            if (fresh) {
                ++cone_.circuit.net_count;
                cone_.circuit.net_names.push_back(full_.net_names[net]);
            }
            cone_.net_of.add(net, entry->second);
        }
        cone_.circuit.earth = cone_.net_of[full_.earth];
        cone_.circuit.device_names = full_.device_names;
        cone_.circuit.machines = full_.machines;
        for (const auto &link : links_) {
            std::vector<std::uint32_t> nets;
            for (const std::uint32_t net : link)
                nets.push_back(cone_.net_of[net]);
            std::sort(nets.begin(), nets.end());
            nets.erase(std::unique(nets.begin(), nets.end()), nets.end());
            if (nets.size() >= 2)
                cone_.circuit.unknown_links.push_back(std::move(nets));
        }
        // Neighbours that hang alike join the same nets; whose link it is does not matter.
        auto &links = cone_.circuit.unknown_links;
        std::sort(links.begin(), links.end());
        links.erase(std::unique(links.begin(), links.end()), links.end());
        cone_.exact = cone_.circuit.unknown_links.empty();
    }

    void take_variables() {
        Members wanted(reach_.variables.begin(), reach_.variables.end());
        for (const std::uint32_t s : sources_)
            wanted.insert(full_.sources[s].variable);
        for (const std::uint32_t v : wanted) {
            variable_.add(v, static_cast<std::uint32_t>(cone_.circuit.variables.size()));
            cone_.circuit.variables.push_back(full_.variables[v]);
            cone_.circuit.fuse_rating_a.push_back(full_.fuse_rating_a[v]);
            cone_.members.push_back({v});
        }
    }

    std::uint32_t net(std::uint32_t full_net) const { return full_net == none ? none : cone_.net_of[full_net]; }
    std::uint32_t variable(std::uint32_t v) const { return v == none ? none : variable_[v]; }
    template <class Pair>
    Pair pair(Pair nets) const {
        return {net(nets.first), net(nets.second)};
    }

    void take_parts() {
        Compiled &out = cone_.circuit;
        std::vector<std::uint32_t> armature(full_.armatures.size(), none);
        for (const std::uint32_t i : reach_.armatures) {
            armature[i] = static_cast<std::uint32_t>(out.armatures.size());
            out.armatures.push_back(full_.armatures[i]);
        }
        for (Armature &one : out.armatures) {
            one.variable = variable(one.variable);
            one.timed = variable(one.timed);
            one.memory = variable(one.memory);
            for (std::uint32_t &channel : one.channels_in)
                channel = variable(channel);
            for (std::uint32_t *at : {&one.a1, &one.a2, &one.e1, &one.e2})
                *at = net(*at);
            for (auto &loop : one.inputs)
                loop = pair(loop);
            one.reset = pair(one.reset);
            one.feedback = pair(one.feedback);
            for (std::uint32_t &other : one.interlocked)
                other = armature[other];
            std::erase(one.interlocked, none);
        }
        for (const std::uint32_t i : reach_.switches) {
            Switch one = full_.switches[i];
            if (one.variable == none && one.closed_at == 0)
                continue; // broken off
            one.a = net(one.a);
            one.b = net(one.b);
            one.variable = variable(one.variable);
            if (one.a != one.b) // else joined for good
                out.switches.push_back(one);
        }
        Members kept_impedances(reach_.impedances.begin(), reach_.impedances.end());
        for (const std::uint32_t i : reach_.impedances) {
            Impedance one = full_.impedances[i];
            one.a = net(one.a);
            one.b = net(one.b);
            one.armature = one.armature == none ? none : armature[one.armature];
            out.impedances.push_back(one);
        }
        for (const std::uint32_t s : sources_) {
            Source one = full_.sources[s];
            one.variable = variable(one.variable);
            for (Source::Pole &pole : one.poles)
                pole.net = net(pole.net);
            one.feed_a = net(one.feed_a);
            one.feed_b = net(one.feed_b);
            one.feed_part = none; // known by its nets here
            out.sources.push_back(std::move(one));
        }
        Members devices;
        for (const std::uint32_t i : reach_.impedances)
            devices.insert(full_.impedances[i].device);
        for (const std::uint32_t device : devices) {
            const std::uint32_t at_motor = relevance_.lookup().motor_of[device];
            if (at_motor == none)
                continue;
            MotorSeen one = full_.motors[at_motor];
            if (std::any_of(one.nets.begin(), one.nets.end(), [&](std::uint32_t at) { return net(at) == none; }))
                continue; // only some of it stands here: nothing can be said of it
            for (std::uint32_t &at : one.nets)
                at = net(at);
            for (MotorSeen::Winding &winding : one.windings) {
                winding.a = net(winding.a);
                winding.b = net(winding.b);
            }
            one.memory = variable(one.memory);
            one.run = pair(one.run);
            one.torque_off = pair(one.torque_off);
            out.motors.push_back(std::move(one));
        }
        for (const std::uint32_t device : devices)
            if (const std::uint32_t at_load = relevance_.lookup().load_of[device]; at_load != none) {
                LoadSeen one = full_.loads[at_load];
                one.a = net(one.a);
                one.b = net(one.b);
                out.loads.push_back(one);
            }
    }

    // Which variables are nothing but contacts that are closed at rest and open their rows when something stops?
    bool opens_a_row(std::uint32_t v) const {
        if (v == none)
            return false;
        const Variable &one = cone_.circuit.variables[v];
        switch (one.kind) {
        case Variable::Kind::overload:
        case Variable::Kind::fuse:
            break;
        case Variable::Kind::actuator:
            if (role_of(circuit_.devices()[one.device]) != Role::stop)
                return false;
            break;
        default:
            return false;
        }
        const auto contacts = contacts_of_variable(v);
        return !contacts.empty() && std::all_of(contacts.begin(), contacts.end(), [&](std::size_t i) {
            return cone_.circuit.switches[i].closed_at == 0b001;
        });
    }

    std::vector<std::size_t> contacts_of_variable(std::uint32_t v) const {
        std::vector<std::size_t> found;
        for (std::size_t i = 0; i < cone_.circuit.switches.size(); ++i)
            if (cone_.circuit.switches[i].variable == v)
                found.push_back(i);
        return found;
    }

    using Switches = std::vector<std::vector<std::size_t>>; ///< per net

    Switches switches_at_nets() const {
        Switches at(cone_.circuit.net_count);
        for (std::size_t i = 0; i < cone_.circuit.switches.size(); ++i) {
            at[cone_.circuit.switches[i].a].push_back(i);
            at[cone_.circuit.switches[i].b].push_back(i);
        }
        return at;
    }

    // Poles that closed contacts may join to a net, other than through one variable's.
    Members poles_behind(std::uint32_t start, std::uint32_t without, const Switches &at, const Members &poles) const {
        Members seen{start}, found;
        std::vector<std::uint32_t> queue{start};
        const auto arrive = [&](std::uint32_t net) {
            if (seen.insert(net).second)
                queue.push_back(net);
        };
        for (std::size_t k = 0; k < queue.size(); ++k) {
            if (poles.contains(queue[k]))
                found.insert(queue[k]);
            for (const std::size_t i : at[queue[k]])
                if (const Switch &one = cone_.circuit.switches[i]; one.variable != without)
                    arrive(one.a == queue[k] ? one.b : one.a);
            for (const auto &link : cone_.circuit.unknown_links)
                if (std::find(link.begin(), link.end(), queue[k]) != link.end())
                    std::for_each(link.begin(), link.end(), arrive);
        }
        return found;
    }

    // Fuses that closed contacts could put between two poles: a short opens them while the rest of their row stays
    // shut.
    Members fuses_that_may_blow() const {
        const Switches at = switches_at_nets();
        Members poles{cone_.circuit.earth}, blowing;
        for (const Source &source : cone_.circuit.sources)
            for (const Source::Pole &pole : source.poles)
                poles.insert(pole.net);
        for (const Switch &one : cone_.circuit.switches) {
            if (one.variable == none || cone_.circuit.variables[one.variable].kind != Variable::Kind::fuse)
                continue;
            if (!standing_.empty()) { // a fault may short any of them
                blowing.insert(one.variable);
                continue;
            }
            const Members here = poles_behind(one.a, one.variable, at, poles);
            if (here.empty())
                continue;
            const Members there = poles_behind(one.b, one.variable, at, poles);
            if (!there.empty() && (here.size() > 1 || here != there))
                blowing.insert(one.variable);
        }
        return blowing;
    }

    int rank(std::uint32_t v) const { // who stands for the row
        switch (cone_.circuit.variables[v].kind) {
        case Variable::Kind::actuator:
            return 0;
        case Variable::Kind::overload:
            return 1;
        default:
            return 2;
        }
    }

    void merge_rows() {
        Compiled &out = cone_.circuit;
        std::vector<std::uint8_t> fixed(out.net_count, 0); // nets something else looks at
        const auto fix = [&](std::uint32_t at) {
            if (at != none)
                fixed[at] = 1;
        };
        fix(out.earth);
        for (const std::uint32_t at : standing_)
            fix(net(at));
        for (const Impedance &one : out.impedances) {
            fix(one.a);
            fix(one.b);
        }
        for (const Source &source : out.sources) {
            for (const Source::Pole &pole : source.poles)
                fix(pole.net);
            fix(source.feed_a);
            fix(source.feed_b);
        }
        for (const Armature &one : out.armatures)
            for (const std::uint32_t at : asking_nets(one))
                fix(at);
        for (const MotorSeen &motor : out.motors)
            for (const std::uint32_t at :
                 {motor.run.first, motor.run.second, motor.torque_off.first, motor.torque_off.second})
                fix(at);
        for (const auto &link : out.unknown_links)
            for (const std::uint32_t at : link)
                fix(at);
        const Members blowing = fuses_that_may_blow();
        for (bool again = true; again;) {
            again = false;
            const Switches at = switches_at_nets();
            for (std::uint32_t middle = 0; middle < out.net_count && !again; ++middle) {
                if (fixed[middle] || at[middle].size() != 2 || at[middle][0] == at[middle][1])
                    continue;
                std::uint32_t kept = out.switches[at[middle][0]].variable, gone = out.switches[at[middle][1]].variable;
                if (kept == gone || !opens_a_row(kept) || !opens_a_row(gone) || blowing.contains(kept) ||
                    blowing.contains(gone))
                    continue;
                if (rank(gone) < rank(kept))
                    std::swap(kept, gone);
                const auto neighbours = side_by_side(kept, gone, at, fixed);
                if (neighbours.empty())
                    continue;
                std::vector<std::size_t> left_out;
                for (const Neighbours &pair : neighbours) {
                    const Switch &other = out.switches[pair.gone];
                    Switch &one = out.switches[pair.kept];
                    (one.a == pair.middle ? one.a : one.b) = other.a == pair.middle ? other.b : other.a;
                    left_out.push_back(pair.gone);
                }
                auto &members = cone_.members[kept];
                members.insert(members.end(), cone_.members[gone].begin(), cone_.members[gone].end());
                double &rating = out.fuse_rating_a[kept];
                const double second = out.fuse_rating_a[gone];
                if (second > 0)
                    rating = rating > 0 ? std::min(rating, second) : second;
                cone_.members[gone].clear();
                std::sort(left_out.rbegin(), left_out.rend());
                for (const std::size_t i : left_out)
                    out.switches.erase(out.switches.begin() + static_cast<std::ptrdiff_t>(i));
                again = true;
            }
        }
    }

    /// Two contacts with nothing but each other at the net between them.
    struct Neighbours {
        std::size_t kept, gone;
        std::uint32_t middle;
    };
    // Every contact of the one beside one of the other: then it is the same which of the two opens its rows. Empty: not
    // so.
    std::vector<Neighbours> side_by_side(std::uint32_t kept, std::uint32_t gone, const Switches &at,
                                         const std::vector<std::uint8_t> &fixed) const {
        const auto of_kept = contacts_of_variable(kept);
        std::vector<std::size_t> of_gone = contacts_of_variable(gone);
        if (of_kept.size() != of_gone.size())
            return {};
        std::vector<Neighbours> found;
        for (const std::size_t i : of_kept)
            for (const std::uint32_t net : {cone_.circuit.switches[i].a, cone_.circuit.switches[i].b}) {
                if (fixed[net] || at[net].size() != 2 || at[net][0] == at[net][1])
                    continue;
                const std::size_t other = at[net][0] == i ? at[net][1] : at[net][0];
                if (std::erase(of_gone, other) == 1) {
                    found.push_back({i, other, net});
                    break;
                }
            }
        return of_gone.empty() ? found : std::vector<Neighbours>{};
    }

    void drop_unused_variables() {
        Compiled &out = cone_.circuit;
        std::vector<std::uint32_t> moved(out.variables.size(), none);
        std::vector<Variable> variables;
        std::vector<double> ratings;
        std::vector<std::vector<std::uint32_t>> members;
        for (std::uint32_t v = 0; v < out.variables.size(); ++v) {
            if (cone_.members[v].empty())
                continue;
            moved[v] = static_cast<std::uint32_t>(variables.size());
            variables.push_back(out.variables[v]);
            ratings.push_back(out.fuse_rating_a[v]);
            members.push_back(std::move(cone_.members[v]));
        }
        const auto move = [&](std::uint32_t &v) {
            if (v != none)
                v = moved[v];
        };
        for (Switch &one : out.switches)
            move(one.variable);
        for (Armature &one : out.armatures) {
            for (std::uint32_t *v : {&one.variable, &one.timed, &one.memory})
                move(*v);
            std::for_each(one.channels_in.begin(), one.channels_in.end(), move);
        }
        for (Source &one : out.sources)
            move(one.variable);
        for (MotorSeen &one : out.motors)
            move(one.memory);
        out.variables = std::move(variables);
        out.fuse_rating_a = std::move(ratings);
        cone_.members = std::move(members);
    }

    const Circuit &circuit_;
    const Compiled &full_;
    const Relevance &relevance_;
    const Reach &reach_;
    Simplify simplify_;
    const std::vector<std::uint32_t> &standing_;
    std::map<std::uint32_t, std::uint8_t> net_in_;
    Members sources_;
    std::vector<std::vector<std::uint32_t>> links_;
    Renumbering variable_;
    Cone cone_;
};

} // namespace

Cone cut_cone(const Circuit &circuit, const Compiled &compiled, const Relevance &relevance, const Reach &reach,
              Simplify simplify, const std::vector<std::uint32_t> &standing) {
    return Cutter(circuit, compiled, relevance, reach, simplify, standing).cut();
}

} // namespace stopspan
