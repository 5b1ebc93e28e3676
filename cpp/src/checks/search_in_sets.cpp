#include "checks/search_in_sets.hpp"

#include "switching/settled_sets.hpp"

#include <algorithm>

namespace stopspan {
namespace {

using Set = SettledSets::Set;

constexpr std::size_t most_nodes = 500'000;
constexpr std::size_t most_pictures = 200; // of what feeds a machine
constexpr std::size_t nodes_a_picture = 4; // made in the time that a picture of one state takes

// Single states tell which way an overload's current takes, when a timer runs out, and when a command goes before the
// power.
bool suits(const MachineSearch &search) {
    const auto &armatures = search.cone().circuit.armatures;
    const auto &overloads = search.machine().overloads;
    const auto &stops = search.context().stops;
    return std::none_of(armatures.begin(), armatures.end(),
                        [](const Armature &armature) { return armature.timed != none; }) &&
           std::none_of(overloads.begin(), overloads.end(),
                        [&](std::uint32_t overload) { return search.seen().reaches(overload); }) &&
           std::all_of(stops.begin(), stops.end(), [](const StopSeen &stop) { return stop.category == 0; });
}

class Judge : SettledSets {
public:
    Judge(MachineSearch &search, Diagrams &sets, const ContactStates &states)
        : SettledSets(search.cone(), sets, states, search.exploration().acts()), search_(search),
          context_(search.context()), machine_(search.machine()) {}

    std::optional<SeenInSets> see() {
        if (!reach() || !look_at_machine())
            return std::nullopt;
        find_ends();
        for (std::uint32_t i = 0; i < acts_.size(); ++i) {
            judge_stop(i);
            judge_start(i);
            judge_start_at_stop(i);
            notice(acts_[i]);
        }
        SeenInSets seen{{}, noticed()};
        for (const auto &[key, broken] : broken_)
            if (const auto &[surely, perhaps] = broken; !surely.empty() || !perhaps.empty())
                seen.facts[key] = told(surely.empty() ? perhaps : surely);
        return seen;
    }

private:
    /// States from which an act breaks a claim.
    struct Broken {
        Set from;
        std::uint32_t act, member;
        bool surely;
        std::string_view ends_in; ///< empty: it runs on, or perhaps, or its terminals stay fed
        int way = 0;
        bool tells_mode = false;
    };

    // ---- what the machine does
    // Variables with a contact in what its windings and a drive's loops are connected to, up to the poles of the only
    // source that lives from no other: whole or lost, nothing comes through these.
    std::optional<std::vector<std::uint32_t>> around_machine() const {
        const Source *mains = nullptr;
        for (const Source &source : circuit_.sources)
            if (source.feed == Source::Feed::own && std::exchange(mains, &source))
                return std::nullopt;
        std::vector<std::uint8_t> ends(circuit_.net_count, 0), met(circuit_.net_count, 0);
        ends[circuit_.earth] = 1;
        if (mains)
            for (const Source::Pole &pole : mains->poles)
                ends[pole.net] = 1;
        std::vector<std::uint32_t> nets, variables;
        const auto arrive = [&](std::uint32_t net) {
            if (ends[net] == 0 && std::exchange(met[net], std::uint8_t{1}) == 0)
                nets.push_back(net);
        };
        for (const MotorSeen &motor : circuit_.motors)
            if (motor.machine == machine_.index) {
                std::for_each(motor.nets.begin(), motor.nets.end(), arrive);
                for (const auto &[from, to] : {motor.run, motor.torque_off})
                    for (const std::uint32_t net : {from, to})
                        if (net != none)
                            arrive(net);
                for (const MotorSeen::Winding &winding : motor.windings) {
                    arrive(winding.a);
                    arrive(winding.b);
                }
            }
        for (std::size_t k = 0; k < nets.size(); ++k) {
            const std::uint32_t net = nets[k];
            for (const Switch &contact : circuit_.switches)
                if (contact.closed_at != 0 && (contact.a == net || contact.b == net)) {
                    arrive(contact.a == net ? contact.b : contact.a);
                    if (contact.variable != none)
                        variables.push_back(contact.variable);
                }
            for (const Impedance &load : circuit_.impedances)
                if (load.a == net || load.b == net) {
                    arrive(load.a == net ? load.b : load.a);
                    if (load.armature != none)
                        variables.push_back(circuit_.armatures[load.armature].variable);
                }
            for (const auto &link : circuit_.unknown_links)
                if (std::find(link.begin(), link.end(), net) != link.end())
                    std::for_each(link.begin(), link.end(), arrive);
        }
        for (const Source &source : circuit_.sources) {
            if (&source != mains && std::any_of(source.poles.begin(), source.poles.end(),
                                                [&](const Source::Pole &pole) { return met[pole.net] != 0; }))
                return std::nullopt;
            variables.push_back(source.variable);
        }
        std::sort(variables.begin(), variables.end());
        variables.erase(std::unique(variables.begin(), variables.end()), variables.end());
        return variables;
    }

    bool look_at_machine() {
        const auto around = around_machine();
        if (!around)
            return false;
        Set left = reached();
        for (std::size_t count = 0; left != Diagrams::nothing; ++count) {
            if (count == most_pictures)
                return false;
            const State state = states_.state_of(sets_.one_of(left, states_.levels()));
            Set alike = reached();
            for (const std::uint32_t v : *around)
                alike = sets_.both(alike, states_.at(v, state[v]));
            left = sets_.without(left, alike);
            const Glimpse seen = search_.glimpse(state);
            Set &does = seen.runs == Tri::on ? on_ : seen.runs == Tri::off ? off_ : perhaps_;
            does = sets_.either(does, alike);
            if (seen.fed == StillFed::through_contactor)
                fed_ = sets_.either(fed_, alike);
        }
        return true;
    }

    void find_ends() {
        to_on_ = may_end_in(on_);
        to_off_ = may_end_in(off_);
        to_perhaps_ = may_end_in(perhaps_);
        to_fed_ = may_end_in(fed_);
        to_dead_ = may_end_in(sets_.without(off_, fed_));
        // Where nothing comes to rest it may come to do something else with no act at all.
        const Set drifts = sets_.either(sets_.without(to_on_, on_), sets_.either(sets_.without(to_off_, off_),
                                                                                 sets_.without(to_perhaps_, perhaps_)));
        drifts_ = search_.exact() ? drifts : sets_.without(drifts, healthy());
        for (std::uint32_t v = 0; v < circuit_.variables.size(); ++v)
            if (circuit_.variables[v].kind == Variable::Kind::fault)
                faulty_ = sets_.either(faulty_, states_.at(v, 1));
    }
    Set to_running() { return sets_.either(to_on_, to_perhaps_); }

    // ---- what is held
    Set held(std::uint32_t except, bool stops_too) {
        Set held = Diagrams::nothing;
        for (std::uint32_t v = 0; v < circuit_.variables.size(); ++v) {
            const bool by_hand = search_.exploration().is_momentary_variable(v);
            if (v == except || !search_.cone().held_unless_blown[v] ||
                (!stops_too && search_.cone().actors[v].role == Role::stop))
                continue;
            Set one = states_.at(v, 1);
            if (!by_hand)
                one = sets_.without(one, healthy());
            for (const FaultSeen &fault : circuit_.faults) // what is jammed takes no hand
                if (fault.frozen == v)
                    one = sets_.both(one, states_.at(fault.variable, 0));
            held = sets_.either(held, one);
        }
        return held;
    }

    // ---- rules, as their judges of single transitions have them
    void put(const std::string &rule, const std::string &subject, Set after, const Broken &one) {
        if (after == Diagrams::nothing)
            return;
        auto &[surely, perhaps] = broken_[{rule, subject}];
        (one.surely ? surely : perhaps).push_back(one);
        (one.surely ? surely : perhaps).back().from = sets_.both(undone(acts_[one.act], after), reached());
    }

    void judge_stop(std::uint32_t index) {
        const Act &act = acts_[index];
        if (act.kind != ActKind::press || !search_.is_stop(act.variable))
            return;
        const Set from = sets_.without(sets_.either(on_, perhaps_), held(act.variable, false));
        const Set to = done(act, from);
        const Set bad = sets_.both(to, sets_.either(to_running(), to_fed_));
        const Set good = sets_.either(to_dead_, to_perhaps_);
        for (const std::uint32_t member : search_.members(act)) {
            const std::uint32_t stop = context_.stop_of[member];
            if (stop == none || asked_of(machine_.asked, stop) != Asked::cut)
                continue;
            put("stop-cuts", context_.stops[stop].name, sets_.without(bad, good),
                {{}, index, member, true, {}, 0, true});
            put("stop-cuts", context_.stops[stop].name, sets_.both(bad, good), {{}, index, member, false, {}, 0, true});
        }
    }

    void judge_start(std::uint32_t index) {
        const Act &act = acts_[index];
        const Set to = done(act, sets_.without(off_, held(act.variable, true)));
        const Set not_on = sets_.either(to_off_, to_perhaps_);
        const Set surely = sets_.without(to, not_on);
        const Set perhaps = sets_.both(sets_.both(to, to_running()), not_on);
        const auto judge = [&](std::uint32_t member, const std::string &subject) {
            if (member != none && machine_.is_own_start(member))
                return;
            const std::string rule(start_rule_of(search_, act, member));
            put(rule, subject, surely, {{}, index, member, true, " runs"});
            put(rule, subject, not_drifting(act, perhaps), {{}, index, member, false, " may run"});
        };
        if (act.variable == none)
            judge(none, std::string(all_sources));
        else if (act.kind == ActKind::fail)
            judge(none, act.text);
        else if (circuit_.variables[act.variable].kind == Variable::Kind::source)
            judge(search_.members(act)[0], act.text.substr(act.text.find(' ') + 1));
        else
            for (const std::uint32_t member : search_.members(act))
                judge(member, context_.name(member));
    }

    Set not_drifting(const Act &act, Set after) {
        return sets_.without(after, done(act, sets_.both(drifts_, reached())));
    }

    void judge_start_at_stop(std::uint32_t index) {
        const Act &act = acts_[index];
        if ((act.kind != ActKind::press && act.kind != ActKind::release) ||
            circuit_.variables[act.variable].kind != Variable::Kind::actuator ||
            search_.cone().actors[act.variable].role == Role::stop)
            return;
        const Set not_on = sets_.either(to_off_, to_perhaps_), not_off = to_running();
        for (std::uint32_t v = 0; v < circuit_.variables.size(); ++v) {
            if (circuit_.variables[v].kind != Variable::Kind::actuator || !search_.is_stop(v, true))
                continue;
            const Set acted = sets_.both(reached(), states_.at(v, 1));
            const Set off = done(act, sets_.both(acted, off_)), on = done(act, sets_.both(acted, on_)),
                      perhaps = done(act, sets_.both(acted, perhaps_));
            const bool let_go =
                act.kind == ActKind::release && search_.exploration().is_momentary_variable(act.variable);
            for (const std::uint32_t member : search_.cone().members[v]) {
                const std::uint32_t stop = context_.stop_of[member];
                if (stop == none || asked_of(machine_.asked, stop) != Asked::cut)
                    continue;
                const auto judge = [&](Set after, bool surely, std::string_view ends_in, int way) {
                    put("stop-beats-start", context_.stops[stop].name, surely ? after : not_drifting(act, after),
                        {{}, index, member, surely, ends_in, way});
                };
                judge(sets_.without(off, not_on), true, " runs", 0);
                judge(sets_.both(sets_.both(off, not_off), not_on), false, " may run", 0);
                if (!let_go)
                    continue;
                judge(sets_.without(on, not_off), true, " ran until the device was let go", 1);
                judge(sets_.either(sets_.both(sets_.both(on, not_off), not_on),
                                   sets_.both(perhaps, sets_.either(to_on_, to_off_))),
                      false, " may have run because the device was held", 1);
            }
        }
    }

    // ---- how it shows
    void notice(const Act &act) {
        if (act.kind != ActKind::fail) {
            starts_again_ |= sets_.both(done(act, sets_.both(off_, faulty_)), to_running()) != Diagrams::nothing;
            return;
        }
        const Set running = done(act, sets_.both(on_, healthy()));
        runs_ |= running != Diagrams::nothing;
        goes_on_ |= sets_.both(running, to_running()) != Diagrams::nothing;
        const Set at_rest = done(act, sets_.without(sets_.both(off_, healthy()), held(none, false)));
        starts_ |= sets_.without(at_rest, sets_.either(to_off_, to_perhaps_)) != Diagrams::nothing;
    }

    Noticed noticed() const {
        if (starts_)
            return {Noticed::How::starts, machine_.name};
        if (!starts_again_)
            return {Noticed::How::starts_no_more, machine_.name};
        if (runs_ && !goes_on_)
            return {Noticed::How::stops, machine_.name};
        return {};
    }

    // ---- what is told
    Fact told(const std::vector<Broken> &broken) {
        Set places = Diagrams::nothing;
        for (const Broken &one : broken)
            places = sets_.either(places, one.from);
        auto [way, state] = way_to(places);
        const Set here = states_.only(state);
        const auto found = std::find_if(broken.begin(), broken.end(), [&](const Broken &one) {
            return sets_.both(one.from, here) != Diagrams::nothing;
        });
        const Act &act = acts_[found->act];
        int how = found->way;
        std::string ends_in = machine_.name;
        if (found->ends_in.empty()) {
            how = sets_.both(done(act, here), to_running()) == Diagrams::nothing ? 1 : 0; // torque off, power on
            ends_in += how == 1 ? " stopped, its terminals still fed" : found->surely ? " runs" : " may run";
        } else {
            ends_in += found->ends_in;
        }
        std::vector<std::uint32_t> acts(way.begin(), way.end());
        acts.push_back(found->act);
        return {found->surely ? Status::fails : Status::maybe,
                search_.told(acts, 1, found->member),
                std::move(ends_in),
                found->tells_mode ? mode_text(search_.glimpse(state).mode) : std::string(),
                how,
                false};
    }

    MachineSearch &search_;
    const Context &context_;
    const MachineSeen &machine_;
    Set on_ = Diagrams::nothing, perhaps_ = Diagrams::nothing, off_ = Diagrams::nothing;
    Set fed_ = Diagrams::nothing; ///< off, and its terminals fed through a contactor
    Set to_on_ = Diagrams::nothing, to_perhaps_ = Diagrams::nothing, to_off_ = Diagrams::nothing;
    Set to_fed_ = Diagrams::nothing, to_dead_ = Diagrams::nothing;
    Set drifts_ = Diagrams::nothing, faulty_ = Diagrams::nothing;
    bool starts_ = false, starts_again_ = false, runs_ = false, goes_on_ = false;
    std::map<std::pair<std::string, std::string>, std::pair<std::vector<Broken>, std::vector<Broken>>> broken_;
};

} // namespace

std::optional<SeenInSets> search_in_sets(MachineSearch &search) {
    if (!suits(search))
        return std::nullopt;
    search.prepare();
    Diagrams diagrams(most_nodes);
    std::optional<SeenInSets> seen;
    try {
        if (const auto states = ContactStates::of(search.cone(), diagrams))
            seen = Judge(search, diagrams, *states).see();
    } catch (const Diagrams::TooLarge &) {
        seen.reset();
    }
    add_network_work(diagrams.nodes() / nodes_a_picture);
    return seen;
}

} // namespace stopspan
