#include "checks/machine_check.hpp"

#include <algorithm>

namespace stopspan {
namespace {

std::string text_of(const Exploration &exploration, std::uint32_t node, std::vector<std::string> &acts) {
    std::vector<std::uint32_t> way;
    for (; exploration.nodes()[node].parent != none; node = exploration.nodes()[node].parent)
        way.push_back(exploration.nodes()[node].act);
    for (auto each = way.rbegin(); each != way.rend(); ++each)
        acts.push_back(exploration.acts()[*each].text);
    return acts.empty() ? "" : acts.back();
}

} // namespace

// stop-spares for loads: a stop that can act on one must not put it off in any reachable state.
Decided decide_loads(Tools &tools) {
    const Context &context = tools.context;
    Decided decided;
    if (!context.wants("stop-spares"))
        return decided;
    for (const LoadSeen &load : context.compiled.loads) {
        const std::string &name = context.compiled.device_names[load.device];
        std::vector<const StopSeen *> asked;
        for (const StopSeen &stop : context.stops)
            if (load.kept || context.asked.contains({stop.name, name}))
                asked.push_back(&stop);
        if (asked.empty())
            continue;
        const Reach reach = reach_of(context.compiled, context.relevance, {load.a, load.b}, false);
        const auto reached = [&](const StopSeen &stop) {
            return std::binary_search(reach.variables.begin(), reach.variables.end(), stop.variable);
        };
        const bool any_reached =
            std::any_of(asked.begin(), asked.end(), [&](const StopSeen *stop) { return reached(*stop); });
        struct Seen {
            Status status = Status::note;
            std::vector<std::string> acts;
        };
        std::map<std::string, Seen> worst;
        bool complete = true;
        if (any_reached) {
            const Cone cone = cut_cone(context.circuit, context.compiled, context.relevance, reach);
            Exploration exploration(cone);
            std::vector<std::optional<Tri>> seen;
            const LoadSeen *inside = nullptr;
            for (const LoadSeen &each : cone.circuit.loads)
                if (each.device == load.device)
                    inside = &each;
            const auto look = [&](std::uint32_t node) {
                if (seen.size() <= node)
                    seen.resize(exploration.nodes().size());
                if (!seen[node]) {
                    State state = exploration.nodes()[node].state;
                    exploration.settler().network().evaluate(state);
                    seen[node] = observe(*inside, exploration.settler().network());
                }
                return *seen[node];
            };
            complete = exploration.run(context.options.state_budget, [&](const Exploration::Transition &t) {
                const Act &act = exploration.acts()[t.act];
                if (act.kind != ActKind::press || look(t.from) != Tri::on)
                    return;
                std::size_t off = 0, uncertain = 0;
                for (const std::uint32_t end : t.to) {
                    off += look(end) == Tri::off;
                    uncertain += look(end) == Tri::maybe;
                }
                if (off + uncertain == 0)
                    return;
                const Status status = off == t.to.size() ? Status::fails : Status::maybe;
                for (const std::uint32_t member : cone.members[act.variable]) {
                    if (context.stop_of[member] == none)
                        continue;
                    Seen &one = worst[context.name(member)];
                    if (!one.acts.empty() && severity(one.status) >= severity(status))
                        continue;
                    one = {status, {}};
                    text_of(exploration, t.from, one.acts);
                    one.acts.push_back(act_text(context.actors[member], Variable::Kind::actuator, true));
                }
            });
        }
        for (const StopSeen *stop : asked) {
            const Asked wanted =
                context.asked.contains({stop->name, name}) ? context.asked_of(stop->name, name) : Asked::keep;
            const auto found = worst.find(stop->name);
            const bool cuts = found != worst.end() && found->second.status == Status::fails;
            const Found seen = found == worst.end() ? Found::spares : cuts ? Found::cuts : Found::maybe;
            decided.cells.push_back({stop->name, name, wanted, seen, {{"on", seen}}});
            if (wanted != Asked::keep) {
                if (wanted == Asked::cut && seen != Found::cuts)
                    decided.add({.rule = "stop-cuts",
                                 .status = Status::fails,
                                 .subjects = {stop->name, name},
                                 .text = stop->name + " does not cut the load " + name + ".",
                                 .witness = {},
                                 .repair = {},
                                 .source = source_of("stop-cuts")});
                continue;
            }
            if (found == worst.end()) {
                if (complete || !reached(*stop))
                    decided.count("stop-spares", "holds");
                else
                    decided.add({.rule = "stop-spares",
                                 .status = Status::undecided,
                                 .subjects = {stop->name, name},
                                 .text = "not decided whether " + stop->name + " cuts " + name + " within " +
                                         std::to_string(context.options.state_budget) + " states.",
                                 .witness = {},
                                 .repair = {},
                                 .source = source_of("stop-spares")});
                continue;
            }
            Finding finding{.rule = "stop-spares",
                            .status = found->second.status,
                            .subjects = {stop->name, name},
                            .text = stop->name + (cuts ? " cuts " : " may cut ") + name + ", a load that must be kept.",
                            .witness = {},
                            .repair = {},
                            .source = source_of("stop-spares")};
            finding.witness.acts = found->second.acts;
            finding.witness.ends_in = name + (cuts ? " off" : " may be off");
            decided.add(std::move(finding));
        }
    }
    return decided;
}

} // namespace stopspan
