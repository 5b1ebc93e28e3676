#include "checks/stop_time.hpp"

#include "base/number_text.hpp"
#include "base/words.hpp"
#include "stopspan/description.hpp"

#include <algorithm>
#include <optional>
#include <unordered_map>

namespace stopspan {
namespace {

const std::string stop_time_rule = "stop-time";

std::string seconds(double value) {
    return format_fixed(value, 1) + " s";
}

/// What a stop does to the supply of a machine that brakes by its drive.
enum class Supply { stays, goes_at_once, goes_later };

class StopTime {
public:
    StopTime(Tools &tools, const MachineSeen &seen, const Machine &described, Decided &decided)
        : tools_(tools), context_(tools.context), seen_(seen), described_(described), decided_(decided),
          longest_s_(context_.limit("run_down_longest_s")) {}

    void decide() {
        if (described_.run_down_s) {
            if (*described_.run_down_s <= longest_s_)
                decided_.count(stop_time_rule, "holds");
            else
                add(Status::fails, {described_.name},
                    described_.name + " runs down in " + seconds(*described_.run_down_s) + " with brake and supply; " +
                        seconds(longest_s_) + " is allowed.");
        }
        const bool brakes_itself =
            std::ranges::any_of(seen_.motors, [](const MotorSeen *motor) { return motor->kind == DeviceKind::drive; });
        if (brakes_itself && described_.run_down_s)
            for (const auto &[stop, asked] : seen_.asked)
                if (asked == Asked::cut)
                    decide_starving(context_.stops[stop]);
        if (described_.run_down_without_supply_s && *described_.run_down_without_supply_s > longest_s_)
            add(Status::note, {described_.name},
                "When its supply fails, or its isolator is opened while it runs, " + described_.name +
                    " runs down in " + seconds(*described_.run_down_without_supply_s) + "; " + seconds(longest_s_) +
                    " is allowed.");
    }

private:
    void decide_starving(const StopSeen &stop) {
        const std::optional<double> delay_s = delay();
        const Supply supply = after(stop);
        if (supply == Supply::stays)
            return decided_.count(stop_time_rule, "holds");
        if (supply == Supply::goes_later && !delay_s)
            return add(Status::undecided, {stop.name, described_.name},
                       "Not decided how long after " + stop.name + " the drive of " + described_.name +
                           " keeps its supply: an off-delay timer has no delay_s.");
        if (supply == Supply::goes_later && *delay_s >= *described_.run_down_s)
            return decided_.count(stop_time_rule, "holds");
        const std::string starves =
            stop.name + " takes the supply off the drive of " + described_.name +
            (supply == Supply::goes_later
                 ? " after " + seconds(*delay_s) + ", before it stands (" + seconds(*described_.run_down_s) + ")"
                 : " at once, so that it cannot brake");
        if (!described_.run_down_without_supply_s)
            return add(Status::undecided, {stop.name, described_.name},
                       starves + "; how long it runs down then is not known: give run_down_without_supply_s.");
        if (*described_.run_down_without_supply_s <= longest_s_)
            return decided_.count(stop_time_rule, "holds");
        add(Status::fails, {stop.name, described_.name},
            starves + ": it runs down in " + seconds(*described_.run_down_without_supply_s) + "; " +
                seconds(longest_s_) + " is allowed.");
    }

    // The shortest off-delay timer that acts on it, if it has a delay.
    std::optional<double> delay() const {
        std::optional<double> shortest;
        for (const std::uint32_t i : seen_.reach.armatures) {
            const Armature &armature = context_.compiled.armatures[i];
            if (!armature.off_delay)
                continue;
            const auto delay_s = context_.circuit.devices()[armature.device].number("delay_s");
            if (!delay_s)
                return std::nullopt;
            shortest = std::min(shortest.value_or(*delay_s), *delay_s);
        }
        return shortest;
    }

    // Everything else free, no way may be left to the drive; with timers that run out later taken as out, later.
    Supply after(const StopSeen &stop) {
        if (!fed(stop, false))
            return Supply::goes_at_once;
        return fed(stop, true) ? Supply::stays : Supply::goes_later;
    }

    bool fed(const StopSeen &stop, bool timers_out) {
        Structure &structure = tools_.structure;
        structure.assume(stop.variable, Structure::acted);
        if (timers_out)
            for (const std::uint32_t i : seen_.reach.armatures)
                if (const Armature &armature = context_.compiled.armatures[i]; armature.off_delay)
                    structure.assume(armature.timed, Structure::rest);
        structure.let_fall(seen_.reach.armatures);
        const bool fed = std::ranges::any_of(seen_.motors, [&](const MotorSeen *motor) {
            return motor->kind == DeviceKind::drive && structure.potentials(motor->nets) > 1;
        });
        structure.forget();
        return fed;
    }

    void add(Status status, std::vector<std::string> subjects, std::string text) {
        decided_.add(
            {.rule = stop_time_rule, .status = status, .subjects = std::move(subjects), .text = std::move(text)});
    }

    Tools &tools_;
    const Context &context_;
    const MachineSeen &seen_;
    const Machine &described_;
    Decided &decided_;
    double longest_s_;
};

} // namespace

Decided decide_stop_time(Tools &tools, const std::vector<MachineSeen> &machines) {
    Decided decided;
    std::unordered_map<std::string_view, const Machine *> described;
    if (tools.context.options.plan)
        for (const Machine &machine : tools.context.options.plan->machines())
            described.emplace(machine.name, &machine);
    std::vector<std::string> silent;
    for (const MachineSeen &seen : machines) {
        const auto found = described.find(seen.name);
        decided.device = seen.motors[0]->device;
        if (found != described.end() && (found->second->run_down_s || found->second->run_down_without_supply_s))
            StopTime(tools, seen, *found->second, decided).decide();
        else
            silent.push_back(seen.name);
    }
    if (silent.size() == machines.size())
        decided.not_checked.push_back("rule " + stop_time_rule + ": no run-down time is known");
    else if (!silent.empty())
        decided.not_checked.push_back("stop-time: no run-down time is known of " + listed_in_short(silent));
    return decided;
}

} // namespace stopspan
