#include "base/words.hpp"
#include "ratings/reliability.hpp"
#include "ratings/stop_reliability.hpp"
#include "stopspan/wiring.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

namespace stopspan::ratings {
namespace {

// Of the faults of one machine; what is not decided then counts as lost. A workshop's needs a hundredth.
constexpr std::size_t most_work = 200'000;

/// What zones say of a stop of a machine.
struct OfZones {
    std::optional<PerformanceLevel> required; ///< the highest
    CommonCause common_cause;                 ///< the least
};

/// Machines that a stop is worth the same for.
struct AlikeMachines {
    StopReliability reliability;
    std::optional<PerformanceLevel> required;
    std::vector<std::string> machines;
};

class StopSizing {
public:
    StopSizing(Ground &ground, const Context &context)
        : ground_(ground), functions_(stop_functions(context, most_work)), context_(context),
          lives_(ground, context, functions_) {
        read_zones();
    }

    void size() {
        std::map<std::uint32_t, std::vector<AlikeMachines>> of_stop;
        for (const StopFunction &function : functions_.all) {
            const std::string &machine = functions_.machines[function.machine];
            const OfZones zones = zones_of(context_.stops[function.stop].name, machine);
            add(of_stop[function.stop],
                {reliability_of(ground_, context_, function, lives_, zones.common_cause), zones.required, {machine}});
        }
        for (auto &[stop, groups] : of_stop) {
            std::stable_sort(groups.begin(), groups.end(), [](const AlikeMachines &a, const AlikeMachines &b) {
                return level_number(a.reliability) < level_number(b.reliability);
            });
            for (const AlikeMachines &group : groups)
                tell(context_.stops[stop].name, group);
        }
    }

private:
    static int level_number(const StopReliability &reliability) {
        return reliability.level ? static_cast<int>(*reliability.level) + 1 : 0;
    }

    void read_zones() {
        const Description &description = ground_.description;
        for (std::uint32_t i = 0; i < description.zones().size(); ++i) {
            const Zone &zone = description.zones()[i];
            for (const MachineId machine : description.span_of({i}))
                for (const StopId stop : zone.devices) {
                    OfZones &of = zones_[{description[stop].name, description[machine].name}];
                    of.required = std::max(of.required, zone.performance_level);
                    if (of.common_cause.said_of.empty() || !zone.common_cause_score ||
                        (of.common_cause.score && *zone.common_cause_score < *of.common_cause.score))
                        of.common_cause = {zone.common_cause_score, zone.name};
                }
        }
    }

    OfZones zones_of(const std::string &stop, const std::string &machine) const {
        const auto found = zones_.find({stop, machine});
        OfZones of = found == zones_.end() ? OfZones{{}, {{}, stop}} : found->second;
        if (!of.common_cause.score && ground_.options.common_cause_score)
            of.common_cause = {ground_.options.common_cause_score, "option"};
        return of;
    }

    static void add(std::vector<AlikeMachines> &groups, AlikeMachines one) {
        const auto key = [](const AlikeMachines &group) {
            const StopReliability &worth = group.reliability;
            return std::tie(worth.category, worth.level, worth.failures_per_h, worth.mttfd_years, worth.coverage,
                            worth.remarks, group.required);
        };
        const auto same = std::find_if(groups.begin(), groups.end(),
                                       [&](const AlikeMachines &group) { return key(group) == key(one); });
        if (same == groups.end())
            groups.push_back(std::move(one));
        else
            same->machines.push_back(one.machines[0]);
    }

    void tell(const std::string &stop, const AlikeMachines &group) {
        const StopReliability &worth = group.reliability;
        const std::string of = listed(group.machines);
        if (!worth.judged)
            return tell_level(stop, group, of);
        Size category{.subject = stop,
                      .quantity = "category",
                      .value = static_cast<double>(worth.category),
                      .choice = "category " + std::string(to_text(worth.category)) + " of stopping " + of,
                      .formula = "what single faults, and second ones after those that show nowhere, take away",
                      .inputs = worth.faults,
                      .source = "ISO 13849-1:2015 6.2; faults: ISO 13849-2:2012 annex D",
                      .rejected = worth.rejected};
        if (!functions_.left_out.empty())
            category.remark =
                "Without the faults that exclusions leave out on their conditions: " + listed(functions_.left_out) +
                ".";
        ground_.add(std::move(category));
        if (worth.mttfd_years)
            ground_.add({.subject = stop,
                         .quantity = "MTTFd of a channel",
                         .value = *worth.mttfd_years,
                         .unit = "years",
                         .choice = "of stopping " + of,
                         .formula = worth.coverage ? "1 / sum (1 / MTTFd), at most 100 (category 4: 2500), of two "
                                                     "channels 2/3 (A + B - 1 / (1/A + 1/B))"
                                                   : "1 / sum (1 / MTTFd) of all that must work, at most 100",
                         .inputs = worth.mttfd_inputs,
                         .source = "ISO 13849-1:2015 4.5.2, annex D"});
        if (worth.coverage)
            ground_.add({.subject = stop,
                         .quantity = "diagnostic coverage",
                         .value = *worth.coverage,
                         .choice = "of stopping " + of,
                         .formula = "sum (coverage / MTTFd) / sum (1 / MTTFd)",
                         .inputs = worth.coverage_inputs,
                         .source = "ISO 13849-1:2015 annex E; ISO/TR 24119:2015 table 1 (from memory)"});
        if (worth.failures_per_h)
            ground_.add(
                {.subject = stop,
                 .quantity = "dangerous failures",
                 .value = *worth.failures_per_h,
                 .unit = "1/h",
                 .choice = "of stopping " + of,
                 .formula = "sum over its parts, of each the worse of model and table",
                 .inputs = worth.rates,
                 .source = "ISO 13849-1:2015 table K.1 (mostly from memory) and a Markov model of its categories"});
        tell_level(stop, group, of);
    }

    void tell_level(const std::string &stop, const AlikeMachines &group, const std::string &of) {
        const StopReliability &worth = group.reliability;
        Size size{.subject = stop,
                  .quantity = "performance level",
                  .value = static_cast<double>(level_number(worth)),
                  .choice = (worth.level ? "PL " + std::string(to_text(*worth.level)) : "not determined") +
                            " of stopping " + of,
                  .formula =
                      "from the dangerous failures per hour, at most what the category allows; a to e are 1 to 5",
                  .source = "ISO 13849-1:2015 table 2, clause 6.2"};
        if (worth.judged)
            size.inputs.push_back(computed("category", static_cast<double>(worth.category), "", stop));
        else
            size.inputs = worth.faults;
        if (worth.failures_per_h)
            size.inputs.push_back(computed("dangerous failures", *worth.failures_per_h, "1/h", stop));
        for (const std::string &remark : worth.remarks)
            add_remark(size, remark);
        if (worth.mttfd_years)
            if (const auto coarse = coarse_level(worth.category, *worth.mttfd_years, worth.coverage.value_or(0));
                coarse && worth.level && *coarse != *worth.level)
                add_remark(size, "The simplified procedure gives " + std::string(to_text(*coarse)) + ".");
        if (group.required) {
            size.inputs.push_back({"required performance level", static_cast<double>(*group.required) + 1, "",
                                   Origin::plan, "PL " + std::string(to_text(*group.required))});
            size.fit = worth.level && *worth.level >= *group.required ? Fit::fits : Fit::does_not_fit;
        }
        ground_.add(std::move(size));
    }

    Ground &ground_;
    const StopFunctions functions_;
    const Context &context_;
    PartLives lives_;
    std::map<std::pair<std::string, std::string>, OfZones> zones_; ///< by stop and machine
};

} // namespace

void size_stop_functions(Ground &ground) {
    CheckOptions options;
    options.rules = {"single-fault"};
    options.state_budget = ground.options.state_budget;
    options.fault_exclusions = ground.options.fault_exclusions;
    options.fault_exclusions.insert(options.fault_exclusions.end(), ground.description.fault_exclusions().begin(),
                                    ground.description.fault_exclusions().end());
    if (!ground.description.asks_nothing())
        options.asked = asked_of(ground.description, ground.circuit);
    if (options.asked) { // what is not wired stops nothing, and the check says so
        const std::vector<std::string> machines = ground.circuit.machines();
        std::erase_if(*options.asked, [&](const AskedCell &cell) {
            return cell.asked != Asked::cut || !ground.circuit.find(cell.stop) ||
                   std::find(machines.begin(), machines.end(), cell.machine) == machines.end();
        });
    }
    const Context context(ground.circuit, options);
    StopSizing(ground, context).size();
}

} // namespace stopspan::ratings
