#include "checks/stop_functions.hpp"

#include "checks/floating_supplies.hpp"
#include "checks/hidden_fault.hpp"
#include "checks/left_out.hpp"
#include "circuit/kinds.hpp"

#include <algorithm>
#include <set>

namespace stopspan {
namespace {

// Of one machine: pairs grow with the square, and no workshop's stop acts through so many contactors.
constexpr std::size_t most_armatures = 24;

bool is_stop_loss(const Loss &loss) {
    return loss.rule == "stop-cuts" || loss.rule == "stop-beats-start";
}

/// A part with the fault that makes it fail to danger.
struct FailingPart {
    StopPart part;
    Fault fault;
};

/// Of one machine, which faults together take which stops away.
class LostStops {
public:
    LostStops(FaultJudge &judge, std::uint32_t machine) : judge_(judge), machine_(machine) {}

    /// What is not decided counts as lost.
    bool lost(const std::vector<const FailingPart *> &parts, const std::string &stop) {
        std::set<std::string> key;
        std::vector<Fault> faults;
        for (const FailingPart *each : parts) {
            key.insert(each->fault.text);
            faults.push_back(each->fault);
        }
        const auto [found, fresh] = known_.try_emplace(std::move(key));
        if (fresh) {
            const FaultEffect effect = judge_.lost(faults, machine_, FaultJudge::Of::stops);
            found->second.any = !effect.undecided.empty() || !effect.incomplete.empty();
            for (const Loss &loss : effect.losses)
                if (is_stop_loss(loss))
                    found->second.stops.insert(loss.subject);
        }
        return found->second.any || found->second.stops.contains(stop);
    }

private:
    struct Lost {
        std::set<std::string> stops;
        bool any = false; ///< perhaps any of them
    };
    FaultJudge &judge_;
    std::uint32_t machine_;
    std::map<std::set<std::string>, Lost> known_;
};

/// Finds the parts that a stop acts through: sets of faults that take it away and of which each is needed for that.
class PartsOfStop {
public:
    PartsOfStop(LostStops &lost, const std::string &stop, std::vector<const FailingPart *> candidates)
        : lost_(lost), stop_(stop), left_(std::move(candidates)) {}

    void find(std::vector<StopPart> &series, std::vector<RedundantParts> &redundant) {
        std::erase_if(left_, [&](const FailingPart *part) {
            if (!lost_.lost({part}, stop_))
                return false;
            series.push_back(part->part);
            return true;
        });
        find_pairs(redundant);
        while (left_.size() > 2 && lost_.lost(left_, stop_))
            find_larger(redundant);
    }

private:
    // Two that are lost together stand in different channels; what hangs together by such pairs is one structure.
    void find_pairs(std::vector<RedundantParts> &redundant) {
        std::vector<std::vector<std::size_t>> against(left_.size());
        for (std::size_t i = 0; i < left_.size(); ++i)
            for (std::size_t j = i + 1; j < left_.size(); ++j)
                if (lost_.lost({left_[i], left_[j]}, stop_)) {
                    against[i].push_back(j);
                    against[j].push_back(i);
                }
        std::vector<int> channel(left_.size(), -1);
        std::vector<const FailingPart *> without;
        for (std::size_t start = 0; start < left_.size(); ++start) {
            if (against[start].empty())
                without.push_back(left_[start]);
            if (against[start].empty() || channel[start] >= 0)
                continue;
            std::vector<std::size_t> members{start};
            channel[start] = 0;
            bool two = true;
            for (std::size_t k = 0; k < members.size(); ++k)
                for (const std::size_t other : against[members[k]]) {
                    if (channel[other] < 0) {
                        channel[other] = 1 - channel[members[k]];
                        members.push_back(other);
                    }
                    two &= channel[other] != channel[members[k]];
                }
            std::sort(members.begin(), members.end());
            // Of three of which any two are too many none belongs to one channel: each counts in both.
            RedundantParts parts{{{}, {}}};
            for (const std::size_t member : members)
                for (const int side : {0, 1})
                    if (!two || channel[member] == side)
                        parts.channels[static_cast<std::size_t>(side)].push_back(left_[member]->part);
            redundant.push_back(std::move(parts));
        }
        left_ = std::move(without);
    }

    void find_larger(std::vector<RedundantParts> &redundant) {
        std::vector<const FailingPart *> needed = left_;
        for (std::size_t i = 0; i < needed.size();) {
            std::vector<const FailingPart *> fewer = needed;
            fewer.erase(fewer.begin() + static_cast<std::ptrdiff_t>(i));
            if (!fewer.empty() && lost_.lost(fewer, stop_))
                needed = std::move(fewer);
            else
                ++i;
        }
        RedundantParts parts;
        for (const FailingPart *part : needed) {
            parts.channels.push_back({part->part});
            std::erase(left_, part);
        }
        redundant.push_back(std::move(parts));
    }

    LostStops &lost_;
    const std::string &stop_;
    std::vector<const FailingPart *> left_;
};

class Functions {
public:
    Functions(const Context &context, std::size_t most_work)
        : context_(context), machines_(machines_of(context)), tools_(context), judge_(tools_, machines_, most_work),
          left_out_(context), rows_(context) {}

    StopFunctions find() {
        for (const MachineSeen &machine : machines_) {
            of_machine_.push_back(found_.all.size());
            found_.machines.push_back(machine.name);
            for (const auto &[stop, asked] : machine.asked)
                if (asked == Asked::cut)
                    found_.all.push_back({.stop = stop, .machine = machine.index});
        }
        of_machine_.push_back(found_.all.size());
        for (const auto &[one, effect] : judge_.singles())
            note_alone(one, effect);
        for (const auto &[exclusion, count] : judge_.left_out())
            found_.left_out.push_back(exclusion);
        for (const MachineSeen &machine : machines_)
            find_parts(machine);
        find_earth_faults();
        find_hidden();
        return std::move(found_);
    }

private:
    std::span<StopFunction> functions(std::uint32_t machine) {
        return {found_.all.data() + of_machine_[machine], found_.all.data() + of_machine_[machine + 1]};
    }
    const std::string &name(const StopFunction &function) const { return context_.stops[function.stop].name; }

    static void add_once(std::vector<std::string> &texts, const std::string &text) {
        if (std::find(texts.begin(), texts.end(), text) == texts.end())
            texts.push_back(text);
    }

    // A fault of which it is not known what it does may do that to any stop, unless it is another stop's own.
    void note_alone(const FaultCase &one, const FaultEffect &effect) {
        for (const Loss &loss : effect.losses)
            if (is_stop_loss(loss))
                for (StopFunction &function : functions(loss.machine))
                    if (name(function) == loss.subject)
                        add_once(function.alone, one.fault.text);
        const std::uint32_t variable =
            one.fault.device == none ? none : context_.compiled.variable_of[one.fault.device];
        const std::uint32_t own =
            variable == none || joins_nets(one.fault) || only_parts(one.fault) ? none : context_.stop_of[variable];
        for (const auto *machines : {&effect.undecided, &effect.incomplete})
            for (const std::uint32_t machine : *machines)
                for (StopFunction &function : functions(machine))
                    if (own == none || own == function.stop)
                        add_once(function.alone, one.fault.text);
    }

    std::vector<FailingPart> armatures_of(const MachineSeen &machine) {
        std::vector<FailingPart> parts;
        for (const std::uint32_t variable : machine.reach.variables) {
            const Variable &one = context_.compiled.variables[variable];
            if (one.kind != Variable::Kind::armature ||
                context_.circuit.devices()[one.device].kind == DeviceKind::insulation_monitor)
                continue;
            Fault fault{Fault::Kind::weld, one.device, none, none, {}, "weld " + context_.name(variable)};
            const bool shows = judge_.shows(fault, machine.index);
            parts.push_back({{one.device, {}, shows ? StopPart::Shows::itself : StopPart::Shows::nowhere}, fault});
        }
        return parts;
    }

    // Its mechanics and its only block take it away alone, unless an exclusion leaves that out; of several blocks each
    // counts.
    std::vector<FailingPart> blocks_of(const StopFunction &function, std::vector<StopPart> &series) {
        const std::uint32_t variable = context_.stops[function.stop].variable;
        const std::uint32_t device = context_.compiled.variables[variable].device;
        const auto stays = [&](const Fault &fault) { return left_out_.by(fault).empty(); };
        const auto contacts = context_.lookup.switches_of[variable];
        const auto whole = [&](Fault::Kind kind) {
            return Fault{kind, device, none,
                         none, {},     (kind == Fault::Kind::jam ? "jam " : "detach ") + name(function)};
        };
        if (stays(whole(Fault::Kind::jam)) || (contacts.size() == 1 && stays(whole(Fault::Kind::detach)))) {
            series.push_back({device});
            return {};
        }
        std::vector<FailingPart> parts;
        if (contacts.size() == 1)
            return parts;
        for (const std::uint32_t i : contacts) {
            const Switch &contact = context_.compiled.switches[i];
            const std::string first = contact_at(context_.circuit.devices()[device], contact.terminal)->first;
            const bool closed = contact.closed_at & 1;
            const Fault fault{closed ? Fault::Kind::stays_closed : Fault::Kind::stays_open,
                              device,
                              contact.a,
                              contact.b,
                              closed ? std::string() : first,
                              "detach " + name(function) + ":" + first};
            if (contact.a == contact.b || !stays(fault))
                continue;
            const auto shows = judge_.shows(fault, function.machine) ? StopPart::Shows::itself
                               : closed && judge_.shows_once_used(fault, function.machine, function.stop)
                                   ? StopPart::Shows::once_used
                                   : StopPart::Shows::nowhere;
            parts.push_back({{device, first, shows}, fault});
        }
        return parts;
    }

    void find_parts(const MachineSeen &machine) {
        if (functions(machine.index).empty())
            return;
        const std::vector<FailingPart> armatures = armatures_of(machine);
        LostStops lost(judge_, machine.index);
        for (StopFunction &function : functions(machine.index)) {
            function.works = judge_.surely_stops(function.stop, machine.index);
            if (!function.works || armatures.size() > most_armatures)
                continue;
            const std::vector<FailingPart> blocks = blocks_of(function, function.series);
            std::vector<const FailingPart *> candidates;
            for (const auto *parts : {&blocks, &armatures})
                for (const FailingPart &part : *parts)
                    candidates.push_back(&part);
            PartsOfStop(lost, name(function), std::move(candidates)).find(function.series, function.redundant);
            for (const MotorSeen *motor :
                 machine.motors) // what a drive does with its safe-torque-off inputs is its own
                if (motor->torque_off.first != none)
                    function.series.push_back({motor->device});
            function.known = true;
            count_shared_rows(function);
            for (const StopPart &part : function.series)
                note_moved_by(part);
            for (const RedundantParts &parts : function.redundant)
                for (const auto &channel : parts.channels)
                    for (const StopPart &part : channel)
                        note_moved_by(part);
        }
    }

    void count_shared_rows(StopFunction &function) const {
        const std::uint32_t variable = context_.stops[function.stop].variable;
        std::set<std::uint32_t> others;
        for (const std::uint32_t i : context_.lookup.switches_of[variable]) {
            const Switch &contact = context_.compiled.switches[i];
            for (const std::uint32_t net : {contact.a, contact.b})
                if (const auto place = rows_.place_of(net); place.row != none)
                    for (const std::uint32_t other : rows_.contacts(place.row)) {
                        const std::uint32_t moves = context_.compiled.switches[other].variable;
                        if (moves != none && moves != variable && context_.stop_of[moves] != none)
                            others.insert(context_.stop_of[moves]);
                    }
        }
        function.rows_shared_with.assign(others.begin(), others.end());
    }

    void note_moved_by(const StopPart &part) {
        const std::uint32_t variable = context_.compiled.variable_of[part.device];
        if (variable == none || context_.compiled.variables[variable].kind != Variable::Kind::armature)
            return;
        const auto [found, fresh] = found_.moved_by.try_emplace(part.device);
        if (!fresh)
            return;
        Seeds seeds;
        for (const Armature &armature : context_.compiled.armatures)
            if (armature.variable == variable)
                for_asking_nets(armature, [&](std::uint32_t net) { seeds.nets.push_back(net); });
        const Reach reach = reach_of(context_.compiled, context_.relevance, seeds, Extent::feed);
        const auto acts = [&](std::uint32_t one) {
            return std::binary_search(reach.variables.begin(), reach.variables.end(), one);
        };
        for (const MachineSeen &machine : machines_)
            if (std::any_of(machine.own_starts.begin(), machine.own_starts.end(), acts))
                found->second.starts_of.push_back(machine.index);
        for (std::uint32_t stop = 0; stop < context_.stops.size(); ++stop)
            if (acts(context_.stops[stop].variable))
                found->second.stops.push_back(stop);
    }

    /// Machines with a stop that no fault takes away alone.
    bool has_redundant(std::uint32_t machine) {
        const auto those = functions(machine);
        return std::any_of(those.begin(), those.end(),
                           [](const StopFunction &one) { return one.works && one.known && one.alone.empty(); });
    }

    void find_earth_faults() {
        const FaultList earths = earth_faults(context_, machines_);
        for (const auto &[exclusion, count] : earths.left_out)
            found_.left_out.push_back(exclusion);
        for (const FaultCase &one : earths.cases)
            if (std::any_of(one.machines.begin(), one.machines.end(),
                            [&](std::uint32_t machine) { return has_redundant(machine); }))
                note_alone(one, judge_.effect_of(one));
    }

    // Then it need not show before. What another device in the row can hide does not count.
    bool seen_at_next_use(const Fault &fault, const StopFunction &function) {
        return function.rows_shared_with.empty() && joins_nets(fault) &&
               judge_.shows_once_used(fault, function.machine, function.stop);
    }

    void find_hidden() {
        std::vector<std::uint8_t> wanted(machines_.size());
        for (std::uint32_t machine = 0; machine < machines_.size(); ++machine)
            wanted[machine] = has_redundant(machine);
        if (std::find(wanted.begin(), wanted.end(), 1) == wanted.end())
            return;
        // Of two earth faults on a floating supply without a monitor the first shows nowhere.
        const std::vector<FloatingSupply> floating = floating_supplies(context_);
        const auto floats = [&](std::uint32_t machine) {
            return std::any_of(floating.begin(), floating.end(), [&](const FloatingSupply &supply) {
                return !supply.monitored && std::any_of(supply.nets.begin(), supply.nets.end(), [&](std::uint32_t net) {
                    const auto &nets = machines_[machine].reach.nets;
                    return std::binary_search(nets.begin(), nets.end(), net);
                });
            });
        };
        const HiddenPairs pairs =
            hidden_pairs(judge_, FaultJudge::Of::stops, [&](std::uint32_t machine) { return wanted[machine] != 0; });
        for (std::uint32_t machine = 0; machine < machines_.size(); ++machine)
            if (wanted[machine])
                for (StopFunction &function : functions(machine))
                    function.hidden_decided = pairs.left[machine] == 0 && !floats(machine);
        const auto &singles = judge_.singles();
        for (const auto &[pair, effect] : pairs.lost) {
            const Fault &first = singles[pair.first].first.fault;
            const std::pair texts{first.text, singles[pair.second].first.fault.text};
            for (const Loss &loss : effect.losses)
                if (is_stop_loss(loss))
                    for (StopFunction &function : functions(loss.machine))
                        if (name(function) == loss.subject &&
                            (function.hidden.empty() || function.hidden.back() != texts) &&
                            !seen_at_next_use(first, function))
                            function.hidden.push_back(texts);
            for (const auto *machines : {&effect.undecided, &effect.incomplete})
                for (const std::uint32_t machine : *machines)
                    for (StopFunction &function : functions(machine))
                        function.hidden_decided = false;
        }
    }

    const Context &context_;
    const std::vector<MachineSeen> machines_;
    Tools tools_;
    FaultJudge judge_;
    LeftOut left_out_;
    StopRows rows_;
    StopFunctions found_;
    std::vector<std::size_t> of_machine_; ///< per machine: its first function; and one past the last
};

} // namespace

StopFunctions stop_functions(const Context &context, std::size_t most_work) {
    return Functions(context, most_work).find();
}

} // namespace stopspan
