#include "stopspan/wiring.hpp"

#include "stopspan/error.hpp"
#include "wiring/zones.hpp"

#include <algorithm>

namespace stopspan {
namespace wiring {
namespace {

bool one_phase(const Machine &machine) {
    return machine.starter == Starter::one_phase_in_line || machine.starter == Starter::one_phase_one_pole ||
           machine.starter == Starter::one_phase_two_pole;
}

// Stop devices stand there even when nothing uses them: a matrix asks about all.
void add_stops(Site &site) {
    for (std::uint32_t i = 0; i < site.description.stops().size(); ++i) {
        const StopDevice &stop = site.description.stops()[i];
        if (site.draft.has(stop.name))
            continue;
        Parameters parameters{{"role", std::string("stop")}, {"height_m", stop.height_m}};
        if (stop.machine)
            parameters.emplace("machine", site.description[*stop.machine].name);
        site.draft.add("stop device " + stop.name, stop.name, stop.kind, {}, parameters);
    }
}

void check_blocks(const Site &site) {
    for (const StopDevice &stop : site.description.stops()) {
        const auto needed = static_cast<int>(site.draft.contacts(stop.name, ContactSense::break_));
        if (stop.contact_blocks && *stop.contact_blocks < needed)
            throw Error(ErrorCode::contradiction, "stop device " + stop.name + ": the wiring needs " +
                                                      std::to_string(needed) + " break blocks, it has " +
                                                      std::to_string(*stop.contact_blocks) +
                                                      "; give it more, or link its zone by a zone relay");
    }
}

Bench bench_of(Site &site, Zones &zones, MachineId id) {
    const Machine &machine = site.description[id];
    const std::string owner = "machine " + machine.name;
    const std::string prefix = machine.motors.front().name;
    Feed power = site.feeds.at(owner, machine.area, machine.board);
    std::optional<Feed> rail;
    // An in-line starter has no control circuit apart from its power: a chain acts on it block by block.
    const bool in_line = machine.starter == Starter::one_phase_in_line;
    for (const ZoneId zone : site.plan.zones_of[id.value]) {
        if (site.description[zone].link == ZoneLink::zone_contactor)
            power = zones.behind_contactor(zone, power);
        if (site.description[zone].link == ZoneLink::series_chain && !rail && !in_line)
            rail = zones.rail(zone);
    }
    if (rail && site.description.supply_of(rail->board) != site.description.supply_of(power.board))
        throw Error(ErrorCode::contradiction,
                    owner + ": its power and the control rail of its zone come from different supplies, so it would "
                            "start again when its power alone returns; name a board of the same supply for the zone");
    if (one_phase(machine) && power.three_phase()) // with the rail's line lost, power and control are lost together
        power = rail ? power.one_line(0) : site.feeds.next_line(power);
    if (!machine.isolator.empty()) {
        std::vector<std::string> behind;
        for (std::size_t i = 0; i < power.lines.size(); ++i)
            behind.push_back(site.draft.free_net(prefix + "." + line_name(power, i)));
        behind.push_back(site.draft.free_net(prefix + ".N"));
        power = behind_isolator(site.draft, owner, machine.isolator, power, behind);
    }
    Bench bench{site,           machine,       id, Names(site.draft, owner, stem_of(prefix, prefix), prefix), power,
                power.lines[0], power.neutral, {}};
    if (rail) {
        bench.control = rail->lines[0];
        bench.control_back = rail->neutral;
        for (const std::string &isolator : power.isolators)
            if (std::find(rail->isolators.begin(), rail->isolators.end(), isolator) == rail->isolators.end())
                bench.auxiliaries.push_back(isolator);
    }
    return bench;
}

void wire_machine(Bench &bench) {
    switch (bench.machine.starter) {
    case Starter::one_phase_in_line:
        return wire_in_line(bench);
    case Starter::one_phase_one_pole:
    case Starter::one_phase_two_pole:
        return wire_one_phase(bench);
    case Starter::direct:
        return wire_direct(bench);
    case Starter::reversing:
    case Starter::two_speed:
        return wire_change_over(bench);
    case Starter::star_delta:
        return wire_star_delta(bench);
    case Starter::drive:
        return wire_drive(bench);
    case Starter::as_found:
        return;
    }
}

// Where a stop also brakes a drive, it is declared so.
void declare_categories(Site &site) {
    for (std::uint32_t i = 0; i < site.description.machines().size(); ++i)
        if (site.description.machines()[i].stop_category == 1)
            for (const StopId stop : stops_for(site.plan, {i}))
                site.draft.set_missing(site.description[stop].name, "stop_category", 1.0);
}

void reserve_designations(const Description &description, Draft &draft) {
    for (const Supply &each : description.supplies())
        draft.reserve(each.name);
    for (const Board &each : description.boards())
        draft.reserve(each.isolator);
    for (const Area &each : description.areas())
        draft.reserve(each.isolator);
    for (const Machine &each : description.machines()) {
        draft.reserve(each.isolator);
        for (const Motor &motor : each.motors)
            draft.reserve(motor.name);
    }
    for (const KeptLoad &each : description.loads())
        draft.reserve(each.name);
    for (const StopDevice &each : description.stops())
        draft.reserve(each.name);
    for (const Zone &each : description.zones())
        draft.reserve(each.reset);
}

} // namespace

std::string through_zones(Bench &bench, std::string from) {
    bool series = bench.machine.starter == Starter::one_phase_in_line;
    for (const ZoneId zone : bench.site.plan.zones_of[bench.id.value]) {
        from = bench.site.zones->through(zone, bench.names, from, series);
        series |= bench.site.description[zone].link == ZoneLink::series_chain;
    }
    return from;
}

} // namespace wiring

Circuit wire(const Description &description, const Circuit &recorded) {
    using namespace wiring;
    Draft draft(recorded);
    reserve_designations(description, draft);
    const Plan plan = make_plan(description);
    Feeds feeds(description, draft);
    Site site{description, plan, draft, feeds, nullptr};
    Zones zones(site);
    site.zones = &zones;
    add_loads(description, draft, feeds);
    add_stops(site);
    for (std::uint32_t i = 0; i < description.machines().size(); ++i) {
        if (description.machines()[i].starter == Starter::as_found)
            continue;
        Bench bench = bench_of(site, zones, {i});
        wire_machine(bench);
    }
    zones.finish();
    declare_categories(site);
    check_blocks(site);
    return draft.build();
}

} // namespace stopspan
