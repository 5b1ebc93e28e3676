#include "checks/behind_isolator.hpp"
#include "checks/feeding.hpp"
#include "checks/losses.hpp"

#include <algorithm>

namespace stopspan {
namespace {

class Openings {
public:
    Openings(Tools &tools, const MachineSeen &machine)
        : tools_(tools), context_(tools.context), machine_(machine),
          far_(context_, tools.structure, machine.seeds, &machine) {}

    /// An isolator the machine does not stand behind.
    void ask(std::uint32_t isolator) {
        if (machine_.reached_by(isolator)) {
            if (!feeding_)
                feeding_.emplace(context_, machine_);
            if (!runs_without(context_, tools_.structure, machine_, *feeding_, isolator))
                asked_.insert(isolator);
        } else if (!far_.fed_by_contacts_only()) { // volts may come and go through other loads
            if (!connected_)
                connected_ = reach_of(context_.compiled, context_.relevance, machine_.seeds, Extent::everything);
            if (std::binary_search(connected_->variables.begin(), connected_->variables.end(), isolator)) {
                asked_.insert(isolator);
                whole_ = true;
            }
        }
    }

    void decide(std::map<std::uint32_t, std::vector<Finding>> &found) {
        if (asked_.empty())
            return;
        const Watched watched{
            .seeds = machine_.seeds,
            .look = [&](const Compiled &part, const State &state,
                        Network &network) { return observe_machine(part, machine_.index, state, network).runs; },
            .act = ActKind::open,
            .asked = [&](std::uint32_t variable) { return asked_.contains(variable); }};
        const Losses losses = find_losses(tools_, watched, whole_ ? *connected_ : machine_.reach);
        for (const std::uint32_t isolator : asked_) {
            const auto seen = losses.worst.find(isolator);
            if (seen == losses.worst.end() && losses.complete)
                continue;
            const std::string &name = context_.name(isolator);
            Finding finding{
                .rule = isolator_clears_rule, .status = Status::undecided, .subjects = {name, machine_.name}};
            if (seen == losses.worst.end()) {
                finding.text = "Not decided whether opening " + name + " stops " + machine_.name + " within " +
                               std::to_string(context_.options.state_budget) + " states.";
            } else {
                const bool surely = seen->second.status == Status::fails;
                finding.status = seen->second.status;
                finding.text = "Opening " + name + (surely ? " stops " : " may stop ") + machine_.name +
                               ", which does not stand behind it.";
                finding.witness = {seen->second.acts, {}, machine_.name + (surely ? " stopped" : " may have stopped")};
            }
            found[isolator].push_back(std::move(finding));
        }
    }

private:
    Tools &tools_;
    const Context &context_;
    const MachineSeen &machine_;
    FarReach far_;
    std::set<std::uint32_t> asked_;
    std::optional<Feeding> feeding_;
    std::optional<Reach> connected_;
    bool whole_ = false;
};

} // namespace

std::map<std::uint32_t, std::vector<Finding>>
decide_openings(Tools &tools, const std::vector<MachineSeen> &machines,
                const std::vector<std::pair<std::uint32_t, BehindIsolator>> &isolators) {
    std::map<std::uint32_t, std::vector<Finding>> found;
    for (const MachineSeen &machine : machines) {
        Openings openings(tools, machine);
        for (const auto &[isolator, behind] : isolators)
            if (!behind.holds_machine(machine))
                openings.ask(isolator);
        openings.decide(found);
    }
    return found;
}

} // namespace stopspan
