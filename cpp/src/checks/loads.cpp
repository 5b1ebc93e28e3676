#include "checks/feeding.hpp"
#include "checks/losses.hpp"

#include <algorithm>

namespace stopspan {
namespace {

class LoadDecision {
public:
    LoadDecision(Tools &tools, const LoadSeen &load, Decided &decided)
        : tools_(tools), context_(tools.context), load_(load), decided_(decided),
          name_(context_.compiled.device_names[load.device]), wanted_(context_.asked_of(name_)) {}

    void decide() {
        std::vector<std::uint32_t> asked;
        for (std::uint32_t i = 0; i < context_.stops.size(); ++i)
            if (load_.kept || find_asked(wanted_, i))
                asked.push_back(i);
        if (asked.empty())
            return;
        const Seeds seeds{
            .nets = {load_.a, load_.b}, .power = {}, .loads = context_.lookup.impedances_of[load_.device]};
        reach_ = reach_of(context_.compiled, context_.relevance, seeds, Extent::feed);
        const auto reaches = [&](std::uint32_t stop) { return reached(context_.stops[stop]); };
        if (!std::all_of(asked.begin(), asked.end(), reaches) && acted_on_from_afar(asked, seeds))
            reach_ = reach_of(context_.compiled, context_.relevance, seeds, Extent::everything);
        if (std::any_of(asked.begin(), asked.end(), reaches)) {
            const Watched watched{
                .seeds = seeds,
                .look = [&](const Compiled &part, const State &, Network &network) { return look(part, network); },
                .act = ActKind::press,
                .asked = [&](std::uint32_t v) { return context_.stop_of[v] != none; }};
            losses_ = find_losses(tools_, watched, reach_);
        }
        for (const std::uint32_t stop : asked)
            report(stop);
    }

private:
    Tri look(const Compiled &part, Network &network) const {
        const auto inside = std::find_if(part.loads.begin(), part.loads.end(),
                                         [&](const LoadSeen &each) { return each.device == load_.device; });
        return inside == part.loads.end() ? Tri::on : observe(*inside, network);
    }

    bool reached(const StopSeen &stop) const {
        return std::binary_search(reach_.variables.begin(), reach_.variables.end(), stop.variable);
    }

    // Stops that are in no circuit of its nearest feed may stand in a longer way, or act through other loads.
    bool acted_on_from_afar(const std::vector<std::uint32_t> &asked, const Seeds &seeds) const {
        if (!FarReach(context_, tools_.structure, seeds).fed_by_contacts_only())
            return true;
        const auto ways = context_.relevance.in_any_way(seeds.nets);
        return std::any_of(asked.begin(), asked.end(), [&](std::uint32_t i) {
            const StopSeen &stop = context_.stops[i];
            return !reached(stop) && std::binary_search(ways.begin(), ways.end(), stop.variable);
        });
    }

    void report(std::uint32_t index) {
        const StopSeen &stop = context_.stops[index];
        const Asked *asked = find_asked(wanted_, index);
        const Asked wanted = asked ? *asked : Asked::keep;
        const auto seen = losses_.worst.find(stop.variable);
        const bool cuts = seen != losses_.worst.end() && seen->second.status == Status::fails;
        const Found found = seen == losses_.worst.end() ? Found::spares : cuts ? Found::cuts : Found::maybe;
        decided_.cells.push_back({stop.name, name_, wanted, found, {{"on", found}}});
        const auto add = [&](const std::string &rule, Status status, const std::string &text) -> Finding & {
            decided_.add({.rule = rule, .status = status, .subjects = {stop.name, name_}, .text = text});
            return decided_.findings.back();
        };
        const bool undecided = reached(stop) && !losses_.complete && !cuts;
        if (wanted == Asked::cut && found != Found::cuts)
            add("stop-cuts", undecided ? Status::undecided : Status::fails,
                stop.name + " does not surely cut the load " + name_ + ".");
        if (wanted != Asked::keep)
            return;
        if (undecided) {
            add("stop-spares", Status::undecided,
                "Not decided whether " + stop.name + " cuts " + name_ + " within " +
                    std::to_string(context_.options.state_budget) + " states.");
        } else if (seen == losses_.worst.end()) {
            decided_.count("stop-spares", "holds");
        } else {
            Finding &finding = add("stop-spares", seen->second.status,
                                   stop.name + (cuts ? " cuts " : " may cut ") + name_ + ", a load that must be kept.");
            finding.witness.acts = seen->second.acts;
            finding.witness.ends_in = name_ + (cuts ? " off" : " may be off");
        }
    }

    Tools &tools_;
    const Context &context_;
    const LoadSeen &load_;
    Decided &decided_;
    std::string name_;
    const AskedOfStops &wanted_;
    Reach reach_;
    Losses losses_;
};

} // namespace

// A stop that can act on it must not put it off in any reachable state.
Decided decide_load(Tools &tools, const LoadSeen &load) {
    Decided decided;
    if (tools.context.wants("stop-spares"))
        LoadDecision(tools, load, decided).decide();
    return decided;
}

} // namespace stopspan
