#include "checks/losses.hpp"

#include <algorithm>
#include <optional>

namespace stopspan {
namespace {

Losses losses_in(const Context &context, const Watched &watched, const Reach &reach) {
    Losses result;
    const Cone cone = cut_cone(context.circuit, context.compiled, context.relevance, reach);
    result.exact = cone.exact;
    Exploration exploration(cone);
    const auto look_at = [&](State state) {
        Network &network = exploration.settler().network();
        network.evaluate(state);
        return watched.look(cone.circuit, state, network);
    };
    std::vector<std::optional<Tri>> seen;
    const auto look = [&](std::uint32_t node) {
        if (seen.size() <= node)
            seen.resize(exploration.nodes().size());
        if (!seen[node])
            seen[node] = look_at(exploration.nodes()[node].state);
        return *seen[node];
    };
    result.complete = exploration.run(context.options.state_budget, [&](const Exploration::Transition &t) {
        const Act &act = exploration.acts()[t.act];
        if (act.kind != watched.act)
            return;
        const auto &members = cone.members[act.variable];
        if (std::none_of(members.begin(), members.end(), watched.asked) ||
            !supply_healthy(cone.circuit, exploration.nodes()[t.from].state))
            return;
        if (look(t.from) != Tri::on) {
            result.doubt |= !cone.exact && look(t.from) == Tri::maybe; // all that is connected may have it on
            return;
        }
        std::size_t off = 0, uncertain = 0;
        for (const std::uint32_t end : t.to) {
            off += look(end) == Tri::off;
            uncertain += look(end) == Tri::maybe;
        }
        if (off + uncertain == 0)
            return;
        // What may stop with nobody doing anything is not stopped by this; in a part it may only seem so.
        if (off != t.to.size() && cone.exact) {
            const Settled &alone = exploration.settler().settle(exploration.nodes()[t.from].state);
            if (std::any_of(alone.ends.begin(), alone.ends.end(),
                            [&](const State &end) { return look_at(end) != Tri::on; }))
                return;
        }
        const Status status = off == t.to.size() ? Status::fails : Status::maybe;
        for (const std::uint32_t member : members) {
            if (!watched.asked(member))
                continue;
            Losses::Seen &one = result.worst[member];
            if (one.acts.empty() || severity(status) > severity(one.status)) {
                one = {status, exploration.acts_to(t.from)};
                one.acts.push_back(act_text(context.actors[member], context.compiled.variables[member].kind, true));
            }
        }
    });
    return result;
}

// Does everything connected show what the search of a part found? Only what is sure there is: the part may have missed
// a worse way of what is not.
bool confirm(WitnessRun &witness, const Watched &watched, Losses &losses) {
    bool all = true;
    for (auto entry = losses.worst.begin(); entry != losses.worst.end();) {
        Losses::Seen &seen = entry->second;
        const WitnessRun::Result end = witness.run(seen.acts);
        const auto look_at = [&](State state) {
            witness.settler().network().evaluate(state);
            return watched.look(witness.cone().circuit, state, witness.settler().network());
        };
        const auto count = [&](const std::vector<State> &states, Tri what) {
            return static_cast<std::size_t>(
                std::count_if(states.begin(), states.end(), [&](const State &each) { return look_at(each) == what; }));
        };
        const std::size_t off = count(end.states, Tri::off), on = count(end.states, Tri::on);
        const bool none_lost = on == end.states.size() || count(end.before, Tri::on) == 0;
        seen.status = off == end.states.size() ? Status::fails : Status::maybe;
        all &= seen.status == Status::fails && !none_lost;
        entry = none_lost ? losses.worst.erase(entry) : std::next(entry);
    }
    return all;
}

} // namespace

Losses find_losses(Tools &tools, const Watched &watched, const Reach &reach) {
    const Context &context = tools.context;
    Losses part = losses_in(context, watched, reach);
    if (part.exact || (confirm(tools.witness_run(watched.seeds), watched, part) && part.complete && !part.doubt))
        return part;
    Losses all =
        losses_in(context, watched, reach_of(context.compiled, context.relevance, watched.seeds, Extent::everything));
    if (!all.complete)
        for (auto &[variable, seen] : part.worst)
            if (Losses::Seen &one = all.worst[variable];
                one.acts.empty() || severity(seen.status) > severity(one.status))
                one = std::move(seen);
    return all;
}

} // namespace stopspan
