#include "checks/stop_rows.hpp"

#include <algorithm>

namespace stopspan {
namespace {

// Nets at which two contacts meet and nothing else does.
std::vector<std::uint8_t> joining_nets(const Compiled &compiled, const Lookup &lookup) {
    std::vector<std::uint8_t> joins(compiled.net_count, 1);
    const auto look = [&](std::uint32_t net) {
        if (net != none)
            joins[net] = 0;
    };
    look(compiled.earth);
    for (const Source &source : compiled.sources) {
        for (const Source::Pole &pole : source.poles)
            look(pole.net);
        look(source.feed_a);
        look(source.feed_b);
    }
    for (const Impedance &one : compiled.impedances) {
        look(one.a);
        look(one.b);
    }
    for (const Armature &one : compiled.armatures)
        for_asking_nets(one, look);
    for (const MotorSeen &motor : compiled.motors) {
        std::for_each(motor.nets.begin(), motor.nets.end(), look);
        for (const std::uint32_t net :
             {motor.run.first, motor.run.second, motor.torque_off.first, motor.torque_off.second})
            look(net);
    }
    for (std::uint32_t net = 0; net < compiled.net_count; ++net)
        if (const auto at = lookup.switches_at[net]; at.size() != 2 || at[0] == at[1])
            joins[net] = 0;
    return joins;
}

} // namespace

StopRows::StopRows(const Context &context)
    : context_(context), row_(context.compiled.switches.size(), none),
      place_(context.compiled.net_count), first_contact_{0}, only_opens_(context.stops.size(), 1),
      first_alike_(context.stops.size()) {
    const auto &switches = context.compiled.switches;
    const std::vector<std::uint8_t> joins = joining_nets(context.compiled, context.lookup);
    for (std::uint32_t i = 0; i < switches.size(); ++i)
        for (const std::uint32_t end : {switches[i].a, switches[i].b})
            if (row_[i] == none && !joins[end])
                walk(i, end, joins);
    for (std::uint32_t i = 0; i < switches.size(); ++i)
        if (row_[i] == none) { // in a ring: no net of it parts the others
            walk(i, switches[i].a, joins);
            for (const std::uint32_t contact : contacts(row_[i]))
                place_[switches[contact].a] = place_[switches[contact].b] = {};
        }
    // A contact that stands in a row with its like opens it, alone or not.
    std::map<std::vector<std::uint32_t>, std::uint32_t> first_of;
    for (std::uint32_t stop = 0; stop < first_alike_.size(); ++stop) {
        first_alike_[stop] = stop;
        const std::uint32_t variable = context.stops[stop].variable;
        std::vector<std::uint32_t> opens;
        for (const std::uint32_t i : context.lookup.switches_of[variable]) {
            only_opens_[stop] &= switches[i].closed_at == 0b001;
            opens.push_back(row_[i]);
        }
        if (!only_opens_[stop])
            continue;
        std::sort(opens.begin(), opens.end());
        opens.erase(std::unique(opens.begin(), opens.end()), opens.end());
        const ActorInfo &actor = context.actors[variable];
        for (const int how :
             {static_cast<int>(actor.action), static_cast<int>(actor.role), context.stops[stop].category})
            opens.push_back(static_cast<std::uint32_t>(how));
        first_alike_[stop] = first_of.try_emplace(std::move(opens), stop).first->second;
    }
}

void StopRows::walk(std::uint32_t first, std::uint32_t from, const std::vector<std::uint8_t> &joins) {
    const auto row = static_cast<std::uint32_t>(first_contact_.size() - 1);
    const std::size_t start = contacts_.size();
    for (std::uint32_t contact = first; row_[contact] == none;) {
        row_[contact] = row;
        contacts_.push_back(contact);
        const Switch &one = context_.compiled.switches[contact];
        const std::uint32_t to = one.a == from ? one.b : one.a;
        if (!joins[to])
            break;
        place_[to] = {row, static_cast<std::uint32_t>(contacts_.size() - start)};
        const auto at = context_.lookup.switches_at[to];
        contact = at[0] == contact ? at[1] : at[0];
        from = to;
    }
    first_contact_.push_back(static_cast<std::uint32_t>(contacts_.size()));
}

bool StopRows::of_opening_stop(std::uint32_t contact) const {
    const std::uint32_t variable = context_.compiled.switches[contact].variable;
    return variable != none && context_.stop_of[variable] != none && only_opens_[context_.stop_of[variable]];
}

StopGroups::StopGroups(const StopRows &rows, const Context &context, const MachineSeen &machine,
                       std::span<const Fault> faults) {
    std::map<std::uint32_t, std::vector<std::uint32_t>> parted; // by row: after how many contacts
    std::set<std::uint32_t> at_fault;                           // stops
    const auto moves_along = [&](const Fault &fault, std::uint32_t net) {
        if (!joins_nets(fault) || fault.device != none)
            return false; // it is at one certain device
        const StopRows::Place &place = rows.place_of(net);
        return place.row != none && rows.of_opening_stop(rows.contacts(place.row)[place.after - 1]) &&
               rows.of_opening_stop(rows.contacts(place.row)[place.after]);
    };
    bool some_move = false;
    for (const Fault &fault : faults) {
        for (const std::uint32_t net : {fault.a, fault.b})
            if (net != none && rows.place_of(net).row != none) {
                parted[rows.place_of(net).row].push_back(rows.place_of(net).after);
                some_move |= moves_along(fault, net);
            }
        if (fault.device != none)
            if (const std::uint32_t variable = context.compiled.variable_of[fault.device];
                variable != none && context.stop_of[variable] != none)
                at_fault.insert(context.stop_of[variable]);
    }
    std::map<std::uint32_t, std::vector<std::uint32_t>> parts_of; // by stop: row and part
    for (auto &[row, places] : parted) {
        std::sort(places.begin(), places.end());
        places.erase(std::unique(places.begin(), places.end()), places.end());
        std::uint32_t part = 0;
        for (std::uint32_t k = 0; k < rows.contacts(row).size(); ++k) {
            part += part < places.size() && k == places[part];
            const std::uint32_t variable = context.compiled.switches[rows.contacts(row)[k]].variable;
            const std::uint32_t stop = variable == none ? none : context.stop_of[variable];
            if (stop == none)
                continue;
            some_move &= asked_of(machine.asked, stop) == Asked::cut;
            auto &parts = parts_of[stop];
            if (parts.size() < 2 || parts[parts.size() - 2] != row || parts.back() != part)
                parts.insert(parts.end(), {row, part});
        }
    }
    std::map<std::vector<std::uint32_t>, std::vector<std::uint32_t>> groups; // by what tells them, not as they come
    for (const auto &[stop, asked] : machine.asked) {
        if (asked != Asked::cut)
            continue;
        std::vector<std::uint32_t> told_by{rows.first_alike(stop)};
        if (const auto parts = parts_of.find(stop); parts != parts_of.end())
            told_by.insert(told_by.end(), parts->second.begin(), parts->second.end());
        if (at_fault.contains(stop))
            told_by.insert(told_by.end(), {none, stop});
        groups[std::move(told_by)].push_back(stop);
    }
    for (auto &[told_by, members] : groups) {
        for (const std::uint32_t stop : members)
            group_of[stop] = static_cast<std::uint32_t>(stops.size());
        stops.push_back(std::move(members));
    }
    if (!some_move)
        return;
    for (const Fault &fault : faults) {
        if (!joins_nets(fault) || fault.device != none) {
            faults_like_these += (fault.later ? "later " : "") + fault.text + '\n';
            continue;
        }
        std::vector<std::string> ends;
        for (const std::uint32_t net : {fault.a, fault.b}) {
            if (net == none || !moves_along(fault, net)) {
                ends.push_back(std::to_string(net));
                continue;
            }
            const auto &[row, after] = rows.place_of(net);
            const auto &places = parted.at(row);
            ends.push_back(std::to_string(row) + '.' +
                           std::to_string(std::lower_bound(places.begin(), places.end(), after) - places.begin()));
        }
        std::sort(ends.begin(), ends.end());
        faults_like_these += (fault.later ? "later " : "") + std::to_string(static_cast<int>(fault.kind)) + ' ' +
                             ends[0] + ' ' + ends[1] + '\n';
    }
    for (const auto &[told_by, unused] : groups) {
        for (const std::uint32_t each : told_by)
            faults_like_these += std::to_string(each) + ' ';
        faults_like_these += '\n';
    }
}

} // namespace stopspan
