#include "checks/stop_time.hpp"

#include "base/add_unique.hpp"
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

/// What a stop does to the supply of a machine that brakes by its drive, or by what is fed with it.
enum class Supply { stays, goes_at_once, goes_later };

class StopTime {
public:
    StopTime(Tools &tools, const MachineSeen &seen, const Machine &described, Decided &decided)
        : tools_(tools), context_(tools.context), seen_(seen), described_(described), decided_(decided),
          longest_s_(context_.limit("run_down_longest_s")),
          brakes_by_drive_(std::ranges::any_of(
              seen_.motors, [](const MotorSeen *motor) { return motor->kind == DeviceKind::drive; })) {
        if (brakes_by_drive_)
            for (const MotorSeen *motor : seen_.motors) {
                if (motor->kind == DeviceKind::drive)
                    braked_from_.push_back(motor->nets);
            }
        else
            braked_from_.push_back(feed_of_starter());
    }

    void decide() {
        if (described_.run_down_s) {
            if (*described_.run_down_s <= longest_s_)
                decided_.count(stop_time_rule, "holds");
            else
                add(Status::fails, {described_.name},
                    described_.name + " runs down in " + seconds(*described_.run_down_s) + " with brake and supply; " +
                        seconds(longest_s_) + " is allowed.");
        }
        const bool by_supply = described_.run_down_s && described_.run_down_without_supply_s &&
                               *described_.run_down_without_supply_s > *described_.run_down_s;
        if ((brakes_by_drive_ && described_.run_down_s) || by_supply)
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
                       "Not decided how long after " + stop.name + " " + braked_by() +
                           " keeps its supply: an off-delay timer has no delay_s.");
        if (supply == Supply::goes_later && *delay_s >= *described_.run_down_s)
            return decided_.count(stop_time_rule, "holds");
        const std::string starves =
            stop.name + " takes the supply off " + braked_by() +
            (supply == Supply::goes_later
                 ? " after " + seconds(*delay_s) + ", before it stands (" + seconds(*described_.run_down_s) + ")"
                 : " at once, so that " + std::string(brakes_by_drive_ ? "it" : "a brake fed from there") +
                       " cannot brake");
        if (!described_.run_down_without_supply_s)
            return add(Status::undecided, {stop.name, described_.name},
                       starves + "; how long it runs down then is not known: give run_down_without_supply_s.");
        if (*described_.run_down_without_supply_s <= longest_s_)
            return decided_.count(stop_time_rule, "holds");
        add(brakes_by_drive_ ? Status::fails : Status::maybe, {stop.name, described_.name},
            starves + ": " + (brakes_by_drive_ ? "it" : described_.name) + " runs down in " +
                seconds(*described_.run_down_without_supply_s) + "; " + seconds(longest_s_) + " is allowed.");
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
        const bool fed = std::ranges::any_of(
            braked_from_, [&](const std::vector<std::uint32_t> &nets) { return structure.potentials(nets) > 1; });
        structure.forget();
        return fed;
    }

    std::string braked_by() const { return (brakes_by_drive_ ? "the drive of " : "the starter of ") + described_.name; }

    // The far side of the contactor poles nearest to the motors. Where nobody says from where a brake is fed it may be
    // from there: what stops by the starter alone leaves it its supply.
    std::vector<std::uint32_t> feed_of_starter() const {
        const Compiled &compiled = context_.compiled;
        std::vector<std::uint32_t> near, far;
        for (const MotorSeen *motor : seen_.motors)
            near.insert(near.end(), motor->nets.begin(), motor->nets.end());
        bool contactors = false;
        for (std::size_t k = 0; k < near.size(); ++k)
            for (const std::uint32_t i : seen_.power_switches) {
                const Switch &one = compiled.switches[i];
                if (one.a != near[k] && one.b != near[k])
                    continue;
                const std::uint32_t other = one.a == near[k] ? one.b : one.a;
                const bool contactor = one.variable != none && context_.lookup.armature_of[one.variable] != none;
                contactors |= contactor;
                add_unique(contactor ? far : near, other);
            }
        return contactors ? far : near; // an in-line starter is fed as its motor is
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
    bool brakes_by_drive_;
    std::vector<std::vector<std::uint32_t>> braked_from_; ///< nets, per drive or of the starter
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
