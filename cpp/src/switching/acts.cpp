#include "switching/acts.hpp"

#include <algorithm>

namespace stopspan {
namespace {

void merge(Settled &into, const Settled &from) {
    into.race |= from.race;
    into.chatter |= from.chatter;
    into.unknown |= from.unknown;
    into.race_unknown |= from.race_unknown;
    into.shorted |= from.shorted;
    into.shorted_jointly |= from.shorted_jointly;
    into.ends.insert(into.ends.end(), from.ends.begin(), from.ends.end());
    into.passed.insert(into.passed.end(), from.passed.begin(), from.passed.end());
    into.passed_jointly.insert(into.passed_jointly.end(), from.passed_jointly.begin(), from.passed_jointly.end());
    into.moved.insert(into.moved.end(), from.moved.begin(), from.moved.end());
    into.notes.insert(into.notes.end(), from.notes.begin(), from.notes.end());
}

void sort_unique(std::vector<State> &states) {
    std::sort(states.begin(), states.end());
    states.erase(std::unique(states.begin(), states.end()), states.end());
}

bool is_line_pole(const Source &source, std::size_t pole) {
    return pole != source.earthed;
}

} // namespace

std::uint8_t lost_mask(const Source &source) {
    std::uint8_t mask = 0;
    for (std::size_t p = 0; p < source.poles.size(); ++p)
        if (is_line_pole(source, p))
            mask = static_cast<std::uint8_t>(mask | 1U << p);
    return mask;
}

ActorInfo actor_info(const Compiled &circuit, std::uint32_t variable, const Device &device) {
    ActorInfo info{.designation = device.designation};
    bool breaks = false, makes = false;
    for (const Switch &contact : circuit.switches)
        if (contact.variable == variable) {
            breaks |= contact.closed_at == 0b001;
            makes |= contact.closed_at == 0b010;
            info.early_make |= device.kind == DeviceKind::isolator && contact.closed_at == 0b001;
        }
    if (is_actuator(device.kind)) {
        info.action = action_of(device);
        info.role = role_of(device);
        info.changes_over = breaks && makes;
    }
    info.automatic = device.word("reset") == "automatic";
    return info;
}

std::vector<Act> possible_acts(const Compiled &circuit, const std::vector<ActorInfo> &actors) {
    std::vector<Act> acts;
    const auto put = [&](ActKind kind, std::uint32_t variable, std::uint8_t from, std::vector<std::uint8_t> to,
                         std::string text, bool slow = false) {
        acts.push_back({kind, variable, from, std::move(to), slow, std::move(text)});
    };
    for (std::uint32_t v = 0; v < circuit.variables.size(); ++v) {
        const ActorInfo &actor = actors[v];
        const std::string &name = actor.designation;
        switch (circuit.variables[v].kind) {
        case Variable::Kind::actuator: {
            const bool momentary = actor.action == Action::momentary || actor.action == Action::spring_return;
            const bool latching = actor.action == Action::latching;
            const std::string on = momentary ? "hold " + name : latching ? "latch " + name : "turn " + name + " on";
            const std::string off = momentary ? "free " + name : latching ? "unlatch " + name : "turn " + name + " off";
            put(ActKind::press, v, 0, {1}, on);
            put(ActKind::release, v, 1, {0}, off);
            if (actor.changes_over) {
                put(ActKind::press, v, 0, {2, 1}, on + " slow", true);
                put(ActKind::release, v, 1, {2, 0}, off + " slow", true);
            }
            break;
        }
        case Variable::Kind::isolator:
            put(ActKind::open, v, 0, actor.early_make ? std::vector<std::uint8_t>{2, 1} : std::vector<std::uint8_t>{1},
                "open " + name);
            put(ActKind::close, v, 1, {0}, "close " + name);
            break;
        case Variable::Kind::overload:
            put(ActKind::trip, v, 0, {1}, "trip " + name);
            if (actor.automatic)
                put(ActKind::cool, v, 1, {0}, "cool " + name);
            put(ActKind::reset, v, 1, {0}, "reset " + name);
            break;
        case Variable::Kind::fuse:
            put(ActKind::blow, v, 0, {1}, "blow " + name);
            put(ActKind::replace, v, 1, {0}, "replace " + name);
            break;
        case Variable::Kind::source: {
            const auto source = std::find_if(circuit.sources.begin(), circuit.sources.end(),
                                             [&](const Source &each) { return each.variable == v; });
            const std::uint8_t whole = lost_mask(*source);
            put(ActKind::lose, v, 0, {whole}, "lose " + name);
            put(ActKind::restore, v, whole, {0}, "restore " + name);
            if ((whole & (whole - 1)) != 0 && source->feed == Source::Feed::own)
                for (std::size_t p = 0; p < source->poles.size(); ++p)
                    if (is_line_pole(*source, p)) {
                        const auto bit = static_cast<std::uint8_t>(1U << p);
                        put(ActKind::lose, v, 0, {bit}, "lose " + name + ":" + source->poles[p].name);
                        put(ActKind::restore, v, bit, {0}, "restore " + name + ":" + source->poles[p].name);
                    }
            break;
        }
        case Variable::Kind::timed:
            put(ActKind::elapse, v, 0, {}, "elapse " + name);
            break;
        case Variable::Kind::fault:
            put(ActKind::fail, v, 0, {1}, name);
            if (std::any_of(circuit.faults.begin(), circuit.faults.end(),
                            [&](const FaultSeen &fault) { return fault.variable == v && fault.comes_and_goes; }))
                put(ActKind::fail, v, 1, {0}, name);
            break;
        case Variable::Kind::armature:
        case Variable::Kind::memory:
            break;
        }
    }
    // Hands and time before failures, trips and isolators: of witnesses of one length the first found is told.
    const auto by_hand = [](const Act &act) {
        return act.kind == ActKind::press || act.kind == ActKind::release || act.kind == ActKind::elapse;
    };
    std::stable_partition(acts.begin(), acts.end(), by_hand);
    // All mains together: one failure ahead of the site.
    std::size_t own = 0;
    std::string all_lost, all_back;
    for (const Source &source : circuit.sources)
        if (source.feed == Source::Feed::own) {
            ++own;
            all_lost += (all_lost.empty() ? "lose " : "; lose ") + actors[source.variable].designation;
            all_back += (all_back.empty() ? "restore " : "; restore ") + actors[source.variable].designation;
        }
    if (own >= 2) {
        put(ActKind::lose, none, 0, {}, all_lost);
        put(ActKind::restore, none, 1, {}, all_back);
    }
    return acts;
}

bool supply_healthy(const Compiled &circuit, const State &state) {
    for (std::size_t v = 0; v < state.size(); ++v)
        if (state[v] != 0 &&
            (circuit.variables[v].kind == Variable::Kind::source || circuit.variables[v].kind == Variable::Kind::fuse))
            return false;
    return true;
}

bool short_of_a_line(const Compiled &circuit, const State &state) {
    for (std::size_t v = 0; v < state.size(); ++v)
        if (state[v] != 0 && circuit.variables[v].kind == Variable::Kind::fuse)
            return true;
    return std::any_of(circuit.sources.begin(), circuit.sources.end(), [&](const Source &source) {
        return state[source.variable] != 0 && state[source.variable] != lost_mask(source);
    });
}

bool takes_one_pole(const Act &act, const Compiled &circuit) {
    return act.kind == ActKind::lose && act.variable != none &&
           std::any_of(circuit.sources.begin(), circuit.sources.end(), [&](const Source &source) {
               return source.variable == act.variable && act.to.front() != lost_mask(source);
           });
}

bool allowed(const Act &act, const Compiled &circuit, const State &state) {
    for (const FaultSeen &fault : circuit.faults) {
        if (act.variable == fault.variable && fault.frozen != none && state[fault.frozen] == 0)
            return false; // only what is actuated stays so
        if (act.variable == fault.variable && fault.after != none && state[fault.after] == 0)
            return false;
        if (act.variable != none && act.variable == fault.frozen && state[fault.variable] != 0)
            return false;
    }
    if (act.kind == ActKind::lose || act.kind == ActKind::blow)
        return supply_healthy(circuit, state);
    if (act.variable == none) { // all sources back
        for (const Source &source : circuit.sources)
            if (source.feed == Source::Feed::own && state[source.variable] != lost_mask(source))
                return false;
        return true;
    }
    if (act.kind == ActKind::elapse) {
        for (const Armature &armature : circuit.armatures)
            if (armature.timed == act.variable)
                return (state[armature.variable] == 0) == (state[armature.timed] == 1) ? true : false;
        return false;
    }
    if (act.kind == ActKind::restore) {
        std::size_t lost = 0;
        for (const Source &source : circuit.sources)
            lost += state[source.variable] != 0;
        if (lost > 1)
            return false; // what went together comes back together
    }
    return state[act.variable] == act.from;
}

Settled perform(Settler &settler, const State &state, const Act &act) {
    const Compiled &circuit = settler.circuit();
    Settled result;
    if (act.variable == none) {
        State changed = state;
        for (const Source &source : circuit.sources)
            if (source.feed == Source::Feed::own)
                changed[source.variable] = act.kind == ActKind::lose ? lost_mask(source) : std::uint8_t{0};
        return settler.settle(changed);
    }
    if (act.kind == ActKind::elapse) {
        State changed = state;
        changed[act.variable] = !changed[act.variable];
        return settler.settle(changed);
    }
    if (act.to.size() == 1) {
        State changed = state;
        changed[act.variable] = act.to[0];
        return settler.settle(changed);
    }
    result.ends = result.sure = {state};
    for (const std::uint8_t position : act.to) {
        const std::vector<State> from = std::move(result.ends), surely_from = std::move(result.sure);
        result.ends.clear();
        result.sure.clear();
        for (const State &each : from) {
            State changed = each;
            changed[act.variable] = position;
            const Settled &settled = settler.settle(changed);
            merge(result, settled);
            if (std::binary_search(surely_from.begin(), surely_from.end(), each))
                result.sure.insert(result.sure.end(), settled.sure.begin(), settled.sure.end());
        }
        sort_unique(result.ends);
        sort_unique(result.sure);
    }
    return result;
}

bool dwelling_matters(const std::vector<State> &fast, const std::vector<State> &slow) {
    return fast != slow && !fast.empty() && !slow.empty();
}

} // namespace stopspan
