#include "stopspan/wiring.hpp"

#include "stopspan/error.hpp"
#include "wiring/zones.hpp"

#include <algorithm>

namespace stopspan {
namespace wiring {

bool one_phase(const Machine &machine) {
    return machine.starter == Starter::one_phase_in_line || machine.starter == Starter::one_phase_one_pole ||
           machine.starter == Starter::one_phase_two_pole;
}

namespace {

// Stop devices stand there even when nothing uses them: a matrix asks about all.
void add_stops(Site &site) {
    for (std::uint32_t i = 0; i < site.description.stops().size(); ++i) {
        const StopDevice &stop = site.description.stops()[i];
        if (site.draft.has(stop.name))
            continue;
        Parameters parameters{{"role", std::string("stop")}};
        if (stop.height_m)
            parameters.emplace("height_m", *stop.height_m);
        if (stop.operations_per_year)
            parameters.emplace("operations_per_year", *stop.operations_per_year);
        if (stop.b10d_cycles)
            parameters.emplace("b10d_cycles", *stop.b10d_cycles);
        if (stop.well_tried)
            parameters.emplace("well_tried", true);
        if (stop.machine)
            parameters.emplace("machine", site.description[*stop.machine].name);
        site.draft.add("stop device " + stop.name, stop.name, stop.kind, {}, parameters);
    }
}

// One that nothing uses keeps a block on nets of its own: the matrix then shows that it cuts nothing.
void show_unused_stops(Site &site) {
    for (const StopDevice &stop : site.description.stops())
        if (!site.draft.is_recorded(stop.name) && site.draft.contacts(stop.name, ContactSense::break_) == 0)
            site.draft.contact(stop.name, ContactSense::break_, site.draft.free_net(stop.name + ".1"),
                               site.draft.free_net(stop.name + ".2"));
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

// Stop devices stand on their machines; what is recorded stands where the description knows it.
void place_what_is_described(Site &site) {
    const Description &description = site.description;
    Draft &draft = site.draft;
    const auto put = [&](const std::string &designation, const std::string &place) {
        if (!designation.empty() && draft.has(designation))
            draft.stands(designation, place);
    };
    for (const Supply &supply : description.supplies())
        put(supply.name, "supply " + supply.name);
    for (const Board &board : description.boards())
        put(board.isolator, "board " + board.name);
    for (const Area &area : description.areas())
        put(area.isolator, "area " + area.name);
    std::unordered_map<std::string, std::string> places;
    for (const Machine &machine : description.machines())
        places.emplace(machine.name, "machine " + machine.name);
    draft.stand_recorded(places);
    for (const Machine &machine : description.machines()) {
        put(machine.isolator, "machine " + machine.name);
        for (const Motor &motor : machine.motors)
            put(motor.name, "machine " + machine.name);
    }
    for (const KeptLoad &load : description.loads())
        put(load.name, "kept load " + load.name);
    for (const StopDevice &stop : description.stops())
        put(stop.name, stop.machine ? "machine " + description[*stop.machine].name : "stop device " + stop.name);
}

// Power of a machine behind the contactors of its zones.
Feed feed_of(Site &site, Zones &zones, MachineId id) {
    const Machine &machine = site.description[id];
    Feed power = site.feeds.at("machine " + machine.name, machine.area, machine.board);
    for (const ZoneId zone : site.plan.zones_of[id.value]) {
        if (!acts_on_power(site.description[zone].link))
            continue;
        if (machine.stop_category == 1)
            throw Error(ErrorCode::contradiction,
                        "machine " + machine.name +
                            ": it brakes before power is taken off (stop_category 1), but the "
                            "contactors of zone " +
                            site.description[zone].name +
                            " take its power at once; link the zone by zone-relay or contact-blocks, or give "
                            "stop_category 0");
        power = zones.behind_contactor(zone, power);
    }
    return power;
}

Bench bench_of(Site &site, Zones &zones, MachineId id) {
    const Machine &machine = site.description[id];
    const std::string owner = "machine " + machine.name;
    const std::string prefix = machine.motors.front().name;
    Feed power = feed_of(site, zones, id);
    std::optional<Feed> rail;
    for (const ZoneId zone : site.plan.zones_of[id.value])
        if (site.description[zone].link == ZoneLink::series_chain && !rail && !has_own_line(machine))
            rail = zones.rail(zone);
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
        // Held in by the rail while a zone contactor is out, the machine would start with the reset of that zone.
        bench.auxiliaries.insert(bench.auxiliaries.end(), power.contactors.begin(), power.contactors.end());
    }
    return bench;
}

// A machine as found takes part where its recorded circuit names the nets made for that: power "X:feed:L1" ..., and a
// gap in its control line from "X:stops:1" to "X:stops:2" for zone contacts and stop devices.
void join_as_found(Site &site, Zones &zones, MachineId id) {
    const Machine &machine = site.description[id];
    const std::string owner = "machine " + machine.name;
    Draft &draft = site.draft;
    bool has_motor = draft.has_motor_of(machine.name);
    for (const Motor &motor : machine.motors)
        if (draft.has(motor.name)) {
            draft.set_missing(motor.name, "machine", machine.name);
            has_motor = true;
        }
    if (!has_motor)
        throw Error(ErrorCode::unknown_name, owner +
                                                 ": it is described as found, but no motor or drive of it is in "
                                                 "the recorded circuit; record one of the designation of its "
                                                 "motor, or with machine=" +
                                                 machine.name);
    const std::string feed = machine.name + ":feed:", stops = machine.name + ":stops:";
    const auto named = [&](const std::string &pole) { return draft.recorded_net(feed + pole); };
    if (named("L1") || named("L2") || named("L3") || named("L")) {
        Feed power = feed_of(site, zones, id);
        std::vector<std::string> behind;
        for (std::size_t i = 0; i < power.lines.size(); ++i)
            behind.push_back(feed + line_name(power, i));
        behind.push_back(feed + "N");
        if (!machine.isolator.empty() && !draft.has(machine.isolator))
            power = behind_isolator(draft, owner, machine.isolator, power, behind);
        for (std::size_t i = 0; i < power.lines.size(); ++i)
            draft.alias(behind[i], power.lines[i]);
        draft.alias(behind.back(), power.neutral);
    }
    if (!draft.recorded_net(stops + "1") || !draft.recorded_net(stops + "2"))
        return;
    Bench bench{site, machine, id, Names(draft, owner, stem_of(machine.name, machine.name), machine.name),
                {},   {},      {}, {}};
    const std::string last = through_stop_devices(bench, through_zones(bench, stops + "1"));
    draft.alias(stops + "2", last);
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

// In-line starters have no control circuit apart from their power, category 1 drives need theirs while they brake, and
// machines as found keep what they have: a chain stands in their own line, not they on its rail.
bool has_own_line(const Machine &machine) {
    return machine.starter == Starter::one_phase_in_line || machine.starter == Starter::as_found ||
           machine.stop_category == 1;
}

std::string through_zones(Bench &bench, std::string from) {
    bool series = has_own_line(bench.machine);
    for (const ZoneId zone : bench.site.plan.zones_of[bench.id.value]) {
        from = bench.site.zones->through(zone, bench.names, from, series);
        series |= bench.site.description[zone].link == ZoneLink::series_chain;
    }
    return from;
}

} // namespace wiring

Circuit wire(const Description &description, const Circuit &recorded) {
    return wire_in_places(description, recorded).circuit;
}

Wired wire_in_places(const Description &description, const Circuit &recorded) {
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
        if (description.machines()[i].starter == Starter::as_found) {
            join_as_found(site, zones, {i});
            continue;
        }
        Bench bench = bench_of(site, zones, {i});
        wire_machine(bench);
    }
    zones.finish();
    declare_categories(site);
    check_blocks(site);
    show_unused_stops(site);
    place_what_is_described(site);
    return draft.build();
}

} // namespace stopspan
